// @ts-check
// The key A goes to the letter of the next answer, unless the person has switched off such keys on the search page.

const OFF = "search-key-off";

/**
 * Whether a key press asks for the letter: the plain key, and not while somebody writes.
 * @param {{key: string, ctrlKey: boolean, metaKey: boolean, altKey: boolean}} press
 * @param {boolean} isWriting
 * @returns {boolean}
 */
export function asksForAnswer(press, isWriting) {
  return press.key.toLowerCase() === "a" && !isWriting && !press.ctrlKey && !press.metaKey && !press.altKey;
}

if (typeof document !== "undefined") {
  const letter = /** @type {HTMLInputElement | null} */ (document.getElementById("quick_response"));
  document.addEventListener("keydown", (press) => {
    if (!letter || press.defaultPrevented || localStorage.getItem(OFF) !== null) return;
    const { target } = press;
    const isWriting =
      target instanceof Element && target.closest("input, textarea, select, [contenteditable]") !== null;
    if (!asksForAnswer(press, isWriting)) return;
    press.preventDefault();
    letter.focus();
  });
}
