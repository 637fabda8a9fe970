// @ts-check
// Lines of a table of stations or of rods: more of them, and one fewer, without asking the server.

const SPARE = 3;

/** @param {HTMLElement} table */
function start(table) {
  const body = /** @type {HTMLElement} */ (table.querySelector("tbody"));
  // What is wrong with a line stands in a row of its own below it, which is no line.
  const rows = () => /** @type {HTMLElement[]} */ ([...body.querySelectorAll(":scope > tr:not(.row-errors)")]);
  const errorsOf = (/** @type {Element} */ row) =>
    row.nextElementSibling?.matches(".row-errors") ? row.nextElementSibling : null;
  const number = () => {
    for (const [place, row] of rows().entries()) {
      const words = String(place + 1);
      const head = row.querySelector("th");
      if (head) head.textContent = words;
      for (const input of row.querySelectorAll("input")) {
        input.name = input.name.replace(/-\d+-(?=[a-z]+$)/, `-${place}-`);
      }
      for (const named of row.querySelectorAll("[aria-label]")) {
        named.setAttribute("aria-label", (named.getAttribute("aria-label") ?? "").replace(/\d+$/, words));
      }
    }
  };
  const add = () => {
    const made = /** @type {HTMLElement} */ (rows().at(-1)?.cloneNode(true));
    for (const input of made.querySelectorAll("input")) {
      input.value = "";
      input.removeAttribute("aria-invalid");
      input.removeAttribute("aria-describedby");
    }
    body.append(made);
    number();
    return made;
  };
  table.querySelector("[data-more]")?.addEventListener("click", (event) => {
    event.preventDefault();
    const first = add();
    for (let more = 1; more < SPARE; more += 1) add();
    first.querySelector("input")?.focus();
  });
  body.addEventListener("click", (event) => {
    const button = event.target instanceof Element && event.target.closest("[data-remove]");
    const row = button && button.closest("tr");
    if (!row) return;
    if (rows().length === 1) add();
    const place = rows().indexOf(row);
    const next = rows()[place + 1] ?? rows()[place - 1];
    errorsOf(row)?.remove();
    row.remove();
    number();
    next?.querySelector("input")?.focus();
  });
}

for (const table of document.querySelectorAll(".station-table")) start(/** @type {HTMLElement} */ (table));
