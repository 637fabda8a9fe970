// @ts-check
// Waits until the clearances of a bore are computed, then loads the page again.

const FIRST_WAIT_MS = 1000;
const LONGEST_WAIT_MS = 15000;

/**
 * The wait before the next question: longer each time, so that a page left open asks little.
 * @param {number} waitMs
 * @returns {number}
 */
export function longerWait(waitMs) {
  return Math.min(waitMs * 1.5, LONGEST_WAIT_MS);
}

/**
 * Whether the page has to be loaded again: the figures are ready, or only a login can go on.
 * @param {Response} response
 * @returns {Promise<boolean>}
 */
export async function mustReload(response) {
  if (response.redirected || response.status === 404) return true;
  if (!response.ok) return false;
  return (await response.json()).is_settled === true;
}

/**
 * @param {string} url
 * @param {number} waitMs
 */
async function ask(url, waitMs) {
  try {
    const response = await fetch(url, { headers: { Accept: "application/json" }, cache: "no-store" });
    if (await mustReload(response)) {
      location.reload();
      return;
    }
  } catch (error) {
    // No network beside the road: the page keeps saying that it shows no figures, and asks again.
    console.info("The state of the bore could not be asked.", error);
  }
  setTimeout(ask, waitMs, url, longerWait(waitMs));
}

if (typeof document !== "undefined") {
  const section = /** @type {HTMLElement | null} */ (document.querySelector("[data-state-url]"));
  if (section?.dataset.stateUrl) setTimeout(ask, FIRST_WAIT_MS, section.dataset.stateUrl, FIRST_WAIT_MS);
}
