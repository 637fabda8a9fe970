// @ts-check
// Shows how far a worker is with a large file, and loads the page again when it is done.

const WAIT_MS = 700;
const WAIT_OFFLINE_MS = 5000;

/** @typedef {{is_settled: boolean, step: string, words: string, rows_done: number | null, rows_total: number}} Progress */

/**
 * What the bar stands at: nothing where nothing can be counted.
 * @param {Progress} progress
 * @returns {number | null}
 */
export function barAt({ rows_done: done, rows_total: total }) {
  return done === null || total <= 0 ? null : Math.min(done, total);
}

/** @param {HTMLElement} section @param {Progress} progress */
function show(section, progress) {
  const step = section.querySelector(".import-progress-step");
  const words = section.querySelector(".import-progress-words");
  const bar = section.querySelector("progress");
  // Said aloud only when the step changes; the count would be read out without end.
  if (step && step.textContent !== progress.step) step.textContent = progress.step;
  if (words) words.textContent = progress.words;
  const at = barAt(progress);
  if (!bar) return;
  if (at === null) bar.removeAttribute("value");
  else bar.value = at;
}

/** @param {HTMLElement} section @param {string} url */
async function ask(section, url) {
  let waitMs = WAIT_MS;
  try {
    const response = await fetch(url, { headers: { Accept: "application/json" }, cache: "no-store" });
    const isGone = response.redirected || response.status === 403 || response.status === 404;
    /** @type {Progress | null} */
    const progress = response.ok && !isGone ? await response.json() : null;
    if (isGone || progress?.is_settled) {
      location.reload();
      return;
    }
    if (progress) show(section, progress);
    else waitMs = WAIT_OFFLINE_MS;
  } catch (error) {
    console.info("How far the file is could not be asked.", error);
    waitMs = WAIT_OFFLINE_MS;
  }
  setTimeout(ask, waitMs, section, url);
}

if (typeof document !== "undefined") {
  const section = /** @type {HTMLElement | null} */ (document.querySelector("[data-progress-url]"));
  if (section?.dataset.progressUrl) setTimeout(ask, WAIT_MS, section, section.dataset.progressUrl);
}
