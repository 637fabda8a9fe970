// @ts-check
// Measures a profile anew while its pitches are changed: the server computes, the page shows.
// Without script the button does the same.

/**
 * The figure in a box, as the address takes it; null for none or one that is not changed.
 * @param {string} typed
 * @param {string | undefined} shown
 * @returns {string | null}
 */
export function changedPercent(typed, shown) {
  const text = typed.trim();
  if (text === "" || text === shown || !Number.isFinite(Number(text))) return null;
  return text;
}

/**
 * The range of a slider about a figure, so that one step of it is a tenth of a percent.
 * @param {number} percent
 * @returns {{min: number, max: number}}
 */
export function sliderRange(percent) {
  const middle = Math.round(percent);
  return { min: Math.max(-100, middle - 15), max: Math.min(100, middle + 15) };
}

/**
 * Only the last of several questions counts: an older answer that comes late is left out.
 * @param {(address: string) => Promise<any>} ask
 * @param {(answer: any) => void} show
 * @returns {(address: string) => Promise<void>}
 */
export function lastOnly(ask, show) {
  let latest = 0;
  return async (address) => {
    latest += 1;
    const mine = latest;
    const answer = await ask(address);
    if (mine === latest) show(answer);
  };
}

/** @param {HTMLFormElement} form */
function start(form) {
  /** @template {Element} T @param {string} selector @returns {T} */
  const part = (selector) => /** @type {T} */ (document.querySelector(selector));
  const state = /** @type {HTMLElement} */ (part("[data-state]"));
  const slider = /** @type {HTMLElement} */ (part("[data-slider]"));
  const range = /** @type {HTMLInputElement} */ (slider.querySelector("input"));
  /** @type {HTMLInputElement | null} */
  let chosen = null;

  /** @param {string} address */
  const ask = async (address) => {
    state.textContent = "Measuring…";
    try {
      const response = await fetch(address, { headers: { Accept: "application/json" }, cache: "no-store" });
      if (response.redirected) return { error: "Log in again: the login has ended. Nothing was measured." };
      return await response.json();
    } catch (error) {
      console.info("The profile could not be measured.", error);
      return { error: "No connection: these figures are of the profile before." };
    }
  };

  /** @param {any} answer */
  const show = (answer) => {
    if (answer.error) {
      state.textContent = answer.error;
      return;
    }
    for (const [name, markup] of Object.entries(answer.parts)) {
      const parsed = new DOMParser().parseFromString(markup, "text/html");
      const place = part(`[data-part="${name}"]`);
      const box = place.querySelector(".profile-box");
      const left = box ? box.scrollLeft : 0;
      place.replaceChildren(...parsed.body.childNodes);
      const anew = place.querySelector(".profile-box");
      if (anew) anew.scrollLeft = left;
    }
    for (const row of form.querySelectorAll("[data-rod]")) {
      const figures = answer.rods[Number(/** @type {HTMLElement} */ (row).dataset.rod)];
      for (const cell of row.querySelectorAll("[data-cell]")) {
        cell.textContent = figures[/** @type {HTMLElement} */ (cell).dataset.cell ?? ""];
      }
      const box = /** @type {HTMLInputElement | null} */ (row.querySelector("input"));
      // A rod in the ground has none.
      if (!box) continue;
      box.dataset.shown = figures.percent;
      box.value = figures.percent;
    }
    for (const one of document.querySelectorAll("[data-edits]")) {
      /** @type {HTMLInputElement} */ (one).value = answer.edits;
    }
    for (const [name, address] of Object.entries(answer.links)) {
      const link = /** @type {HTMLAnchorElement} */ (part(`[data-link="${name}"]`));
      link.href = address;
      if (name !== "compare") link.hidden = answer.changes === 0;
    }
    const count = answer.changes;
    const made = count ? `${count} change${count === 1 ? "" : "s"} by hand` : "No change by hand yet";
    state.textContent = `${made}: ${answer.brief}`;
    if (chosen) choose(chosen);
    history.replaceState(null, "", answer.address);
  };

  const measure = lastOnly(ask, show);

  /** @param {URLSearchParams} query */
  const address = (query) => `${form.dataset.figures}?${query}`;

  /** @param {HTMLInputElement} box */
  const change = (box) => {
    const percent = changedPercent(box.value, box.dataset.shown);
    if (percent === null) return;
    const sent = new FormData(form);
    const query = new URLSearchParams({ plan: String(sent.get("plan")), edits: String(sent.get("edits")) });
    query.set("rod", box.id.replace("pitch-", ""));
    query.set("percent", percent);
    measure(address(query));
  };

  /** @param {HTMLInputElement} box */
  const choose = (box) => {
    chosen = box;
    const { min, max } = sliderRange(Number(box.value));
    if (document.activeElement !== range) {
      range.min = String(min);
      range.max = String(max);
    }
    range.value = box.value;
    const number = box.id.replace("pitch-", "");
    part("[data-slider-label]").textContent = number === "0" ? "Entry" : `Rod ${number}`;
    part("[data-slider-value]").textContent = `${box.value} %`;
    slider.hidden = false;
  };

  /** @type {HTMLElement} */ (part("[data-send]")).hidden = true;
  form.addEventListener("change", (event) => {
    const box = /** @type {HTMLInputElement} */ (event.target);
    if (box === range && chosen) {
      chosen.value = range.value;
      change(chosen);
    } else if (box.matches("input.pitch")) {
      change(box);
    }
  });
  form.addEventListener("input", (event) => {
    if (event.target === range) part("[data-slider-value]").textContent = `${range.value} %`;
  });
  form.addEventListener("focusin", (event) => {
    const box = /** @type {HTMLElement} */ (event.target);
    if (box.matches("input.pitch")) choose(/** @type {HTMLInputElement} */ (box));
  });
  form.addEventListener("submit", (event) => {
    const box = /** @type {HTMLElement | null} */ (document.activeElement);
    if (box?.matches("input.pitch")) {
      // Enter in a box has told of its change already.
      event.preventDefault();
      change(/** @type {HTMLInputElement} */ (box));
    }
  });
  for (const name of ["undo", "undo_all"]) {
    const link = /** @type {HTMLAnchorElement} */ (part(`[data-link="${name}"]`));
    link.addEventListener("click", (event) => {
      event.preventDefault();
      measure(address(new URL(link.href).searchParams));
    });
  }
}

if (typeof document !== "undefined") {
  const form = /** @type {HTMLFormElement | null} */ (document.querySelector("form.pitches"));
  if (form) start(form);
}
