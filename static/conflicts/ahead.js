// @ts-check
// Keeps the page for the rig as new as the records, and says when it is not.

export const ASK_MS = 5000;
export const OLD_MS = 30000;
const LONGEST_ANSWER_MS = 10000;

/**
 * How long ago, in words.
 * @param {number} ageMs
 * @returns {string}
 */
export function ageWords(ageMs) {
  const seconds = Math.floor(ageMs / 1000);
  if (seconds < 60) return `${seconds} s ago`;
  const minutes = Math.floor(seconds / 60);
  return minutes < 60 ? `${minutes} min ago` : `${Math.floor(minutes / 60)} h ${minutes % 60} min ago`;
}

/**
 * Whether what is shown is too old to drill by. A clock that was set back makes it old too.
 * @param {number} ageMs
 * @returns {boolean}
 */
export function isOld(ageMs) {
  return !(ageMs >= 0 && ageMs < OLD_MS);
}

/**
 * Why there is no new answer, in words.
 * @param {{ status?: number, redirected?: boolean }} failure
 * @returns {string}
 */
export function failureWords(failure) {
  if (failure.redirected || failure.status === 401 || failure.status === 403) return "The login ended: load this page again.";
  if (failure.status === 404) return "This bore is not here any more.";
  if (failure.status) return `The server answered with an error (${failure.status}).`;
  return "No network.";
}

/**
 * What a screen reader is told of a sheet: only what has to be known at once.
 * @param {{ answer: { large: string }, coming: { large: string }, rod: number | null }} sheet
 * @returns {string}
 */
export function saidWords(sheet) {
  const rod = sheet.rod === null ? "" : `Rod ${sheet.rod}. `;
  return `${rod}${sheet.answer.large}. Next: ${sheet.coming.large}.`;
}

/**
 * The value at a path of names.
 * @param {any} values
 * @param {string} path
 * @returns {any}
 */
function at(values, path) {
  return path.split(".").reduce((value, name) => value?.[name], values);
}

/** The page and what it was last told. */
class RigPage {
  /** @param {HTMLElement} root */
  constructor(root) {
    this.root = root;
    this.answeredAt = Date.now();
    this.clock = "";
    this.failure = "";
    this.wasOld = false;
    this.asked = 0;
    this.answer = this.words("answer.large");
    // What stands on the page was read with it: only what differs is told.
    const rod = this.words("rod");
    const coming = this.words("coming.large");
    this.said = saidWords({ answer: { large: this.answer }, coming: { large: coming }, rod: rod ? Number(rod) : null });
  }

  /**
   * What a part of the page says.
   * @param {string} path
   * @returns {string}
   */
  words(path) {
    return this.root.querySelector(`[data-told="${path}"]`)?.textContent ?? "";
  }

  /** Ask for the present sheet, then again. */
  async keep() {
    await this.ask();
    this.showAge();
    setTimeout(() => void this.keep(), ASK_MS);
  }

  async ask() {
    const number = ++this.asked;
    try {
      const response = await fetch(this.root.dataset.aheadUrl ?? "", {
        headers: { Accept: "application/json" },
        cache: "no-store",
        signal: AbortSignal.timeout(LONGEST_ANSWER_MS),
      });
      if (!response.ok || response.redirected) {
        this.failure = failureWords(response);
        return;
      }
      const told = await response.json();
      // An answer that was overtaken by a newer question is not shown over its answer.
      if (number !== this.asked) return;
      this.answeredAt = Date.now();
      this.failure = "";
      this.clock = told.clock;
      this.show(told.sheet);
    } catch (error) {
      this.failure = failureWords({});
      console.info("The sheet could not be asked for.", error);
    }
  }

  /** @param {any} sheet */
  show(sheet) {
    this.root.dataset.advice = sheet.advice;
    const rod = this.root.querySelector("[data-rod]");
    if (rod instanceof HTMLElement) rod.hidden = sheet.rod === null;
    this.answer = sheet.answer.large;
    for (const part of this.all("[data-told]")) this.write(part, at(sheet, part.dataset.told ?? ""));
    for (const list of this.all("[data-lines]")) {
      const lines = at(sheet, list.dataset.lines ?? "").lines;
      if (lines.join("\n") === [...list.children].map((one) => one.textContent).join("\n")) continue;
      list.replaceChildren(
        ...lines.map((/** @type {string} */ words) => {
          const line = document.createElement("li");
          line.textContent = words;
          return line;
        }),
      );
    }
    this.fill("[data-stops]", "[data-stop]", sheet.stops);
    this.fill("[data-rows]", "[data-row]", sheet.rows);
    const section = this.root.querySelector("[data-rows-section]");
    if (section instanceof HTMLElement) section.hidden = sheet.rows.length === 0;
    this.say(saidWords(sheet));
  }

  /**
   * Make a part for each thing told; parts that stand are left alone, so that nothing jumps under a thumb.
   * @param {string} into
   * @param {string} pattern
   * @param {Array<Record<string, unknown>>} things
   */
  fill(into, pattern, things) {
    const list = this.root.querySelector(into);
    const template = this.root.querySelector(pattern);
    if (!list || !(template instanceof HTMLTemplateElement)) return;
    while (list.children.length > things.length) list.lastElementChild?.remove();
    while (list.children.length < things.length) list.append(document.importNode(template.content, true).children[0]);
    things.forEach((thing, index) => {
      for (const part of list.children[index].querySelectorAll("[data-part]")) {
        if (!(part instanceof HTMLElement)) continue;
        const words = thing[part.dataset.part ?? ""];
        this.write(part, words);
        part.hidden = words === "";
      }
    });
  }

  /** Say how old what is shown is, and that it is too old. */
  showAge() {
    const now = Date.now();
    const age = now - this.answeredAt;
    const old = isOld(age);
    const asOf = this.clock ? `As of ${this.clock}, ` : "";
    const told = this.root.querySelector("[data-age]");
    if (told instanceof HTMLElement && (this.clock || old)) {
      this.write(told, `${asOf}${ageWords(Math.max(0, age))}.`);
    }
    const device = this.root.querySelector("[data-device]");
    if (device instanceof HTMLElement) {
      this.write(device, `This device says ${new Date(now).toLocaleTimeString()}.`);
    }
    const banner = this.root.querySelector("[data-old]");
    if (banner instanceof HTMLElement) {
      banner.hidden = !old && this.failure === "";
      const words = old ? "Old: do not drill by this page." : "No new answer yet.";
      this.write(banner, [words, this.failure].filter(Boolean).join(" "));
    }
    this.root.classList.toggle("is-old", old);
    const large = this.root.querySelector('[data-told="answer.large"]');
    if (large instanceof HTMLElement && old) this.write(large, "Old. Stop until it is new");
    if (large instanceof HTMLElement && !old && this.wasOld) this.write(large, this.answer);
    if (old && !this.wasOld) this.say(`What is shown is old: do not drill by it. ${this.failure}`);
    this.wasOld = old;
  }

  /** @param {string} words */
  say(words) {
    const region = this.root.querySelector("[data-said]");
    if (words === this.said || !(region instanceof HTMLElement)) return;
    region.textContent = words;
    this.said = words;
  }

  /**
   * @param {HTMLElement} part
   * @param {unknown} words
   */
  write(part, words) {
    const text = String(words ?? "");
    if (part.textContent !== text) part.textContent = text;
  }

  /**
   * @param {string} selector
   * @returns {HTMLElement[]}
   */
  all(selector) {
    return [...this.root.querySelectorAll(selector)].filter((one) => one instanceof HTMLElement);
  }
}

if (typeof document !== "undefined") {
  const root = document.querySelector("[data-ahead-url]");
  if (root instanceof HTMLElement) {
    const page = new RigPage(root);
    void page.keep();
    setInterval(() => page.showAge(), 1000);
    document.addEventListener("visibilitychange", () => {
      page.showAge();
      if (document.visibilityState === "visible") void page.ask().then(() => page.showAge());
    });
    for (const name of ["online", "offline"]) addEventListener(name, () => void page.ask().then(() => page.showAge()));
  }
}
