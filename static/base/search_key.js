// @ts-check
// The key / goes to the search box, unless the person has switched that off on the search page.

const OFF = "search-key-off";

/**
 * Whether a key press asks for the search box: the plain key, and not while somebody writes.
 * @param {{key: string, ctrlKey: boolean, metaKey: boolean, altKey: boolean}} press
 * @param {boolean} isWriting
 * @returns {boolean}
 */
export function asksForSearch(press, isWriting) {
  return press.key === "/" && !isWriting && !press.ctrlKey && !press.metaKey && !press.altKey;
}

/**
 * @param {EventTarget | null} target
 * @returns {boolean}
 */
function isForWriting(target) {
  return target instanceof Element && target.closest("input, textarea, select, [contenteditable]") !== null;
}

/**
 * @param {HTMLElement} choice
 */
function offerChoice(choice) {
  const box = /** @type {HTMLInputElement} */ (choice.querySelector("input"));
  box.checked = localStorage.getItem(OFF) === null;
  box.addEventListener("change", () => {
    if (box.checked) localStorage.removeItem(OFF);
    else localStorage.setItem(OFF, "1");
  });
  choice.hidden = false;
}

if (typeof document !== "undefined") {
  const box = /** @type {HTMLInputElement | null} */ (document.getElementById("search-box"));
  const choice = /** @type {HTMLElement | null} */ (document.querySelector("[data-search-key]"));
  if (choice) offerChoice(choice);
  document.addEventListener("keydown", (press) => {
    if (!box || press.defaultPrevented || localStorage.getItem(OFF) !== null) return;
    if (!asksForSearch(press, isForWriting(press.target))) return;
    press.preventDefault();
    // On a phone the box lies in the menu.
    const menu = /** @type {HTMLElement | null} */ (box.closest("[popover]"));
    if (menu && !box.checkVisibility()) menu.showPopover();
    box.focus();
    box.select();
  });
}
