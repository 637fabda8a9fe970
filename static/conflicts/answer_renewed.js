// @ts-check
// Asks again whether a release that is shown as a yes still holds, and shows no old yes as one.

import { ageWords, failureWords } from "./ahead.js";

export const ASK_MS = 30000;
export const OLD_MS = 120000;
const LONGEST_ANSWER_MS = 10000;

/**
 * @typedef {{ kind: "yes" | "unsure" | "no" | "old", words: string }} Shown
 */

/**
 * What the page has to show: a yes only where the last answer says so and is not old.
 * A clock that was set back makes it old too.
 * @param {{ refusal: string, failure: string, ageMs: number }} known
 * @returns {Shown}
 */
export function shownOf({ refusal, failure, ageMs }) {
  const age = ageMs >= 0 ? `last asked ${ageWords(ageMs)}` : "the clock of this device was set back";
  if (refusal) return { kind: "no", words: refusal };
  if (!(ageMs >= 0 && ageMs < OLD_MS)) {
    return { kind: "old", words: [`Old: do not drill by this page, ${age}.`, failure].filter(Boolean).join(" ") };
  }
  if (failure) return { kind: "unsure", words: `This may be old: ${age}. ${failure}` };
  return { kind: "yes", words: "" };
}

/**
 * Why what is shown does not hold any more; nothing where it does. Whatever is not a plain yes is a no.
 * @param {any} told
 * @returns {string}
 */
export function refusalOf(told) {
  if (told?.in_force === true) return "";
  const reasons = Array.isArray(told?.reasons) ? told.reasons.join(" ") : "";
  return ["Do not drill: this does not hold any more.", reasons, "Load this page again."].filter(Boolean).join(" ");
}

/** A yes on the page and what was last told of it. */
class RenewedAnswer {
  /** @param {HTMLElement} root */
  constructor(root) {
    this.root = root;
    this.answeredAt = Date.now();
    this.refusal = "";
    this.failure = "";
    this.asked = 0;
    this.kind = "yes";
  }

  /** Ask now, then again and again. */
  async keep() {
    await this.ask();
    setTimeout(() => void this.keep(), ASK_MS);
  }

  async ask() {
    const number = ++this.asked;
    try {
      const response = await fetch(this.root.dataset.standingUrl ?? "", {
        headers: { Accept: "application/json" },
        cache: "no-store",
        signal: AbortSignal.timeout(LONGEST_ANSWER_MS),
      });
      if (!response.ok || response.redirected) {
        this.failure = failureWords(response);
      } else {
        const told = await response.json();
        // An answer that was overtaken by a newer question is not shown over its answer.
        if (number !== this.asked) return;
        this.answeredAt = Date.now();
        this.failure = "";
        this.refusal = refusalOf(told);
      }
    } catch (error) {
      this.failure = failureWords({});
      console.info("Whether the release holds could not be asked.", error);
    }
    this.show();
  }

  /** Show the yes, or what stands in its place; a screen reader is told when one takes the other's place. */
  show() {
    const { refusal, failure } = this;
    const shown = shownOf({ refusal, failure, ageMs: Date.now() - this.answeredAt });
    const isNo = shown.kind === "no" || shown.kind === "old";
    this.part("yes").hidden = isNo;
    this.part("no").hidden = !isNo;
    this.part("unsure").hidden = shown.kind !== "unsure";
    const words = this.part(isNo ? "no-words" : "unsure");
    if (shown.words && words.textContent !== shown.words) words.textContent = shown.words;
    if (shown.kind === this.kind) return;
    this.part("said").textContent = shown.words || "It holds, asked again just now.";
    this.kind = shown.kind;
  }

  /**
   * @param {string} name
   * @returns {HTMLElement}
   */
  part(name) {
    const found = this.root.querySelector(`[data-answer-part="${name}"]`);
    if (!(found instanceof HTMLElement)) throw new Error(`The answer has no part ${name}.`);
    return found;
  }
}

if (typeof document !== "undefined") {
  const root = document.querySelector("[data-standing-url]");
  if (root instanceof HTMLElement) {
    const answer = new RenewedAnswer(root);
    void answer.keep();
    setInterval(() => answer.show(), 1000);
    document.addEventListener("visibilitychange", () => {
      answer.show();
      if (document.visibilityState === "visible") void answer.ask();
    });
    for (const name of ["online", "offline", "pageshow"]) addEventListener(name, () => void answer.ask());
  }
}
