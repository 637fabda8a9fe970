// @ts-check
// The phone's position as the dot over the head, told with the rod only when somebody taps for it.

import { roughLength } from "../base/along.js";
import { dotFixText, errorOf } from "./dot_fix.js";

const REFUSALS = {
  1: "The phone may not tell where it is. Allow it for this site in the browser's settings, or write the dot's station.",
  2: "The phone cannot find out where it is here. Write the dot's station instead.",
  3: "The phone takes too long to find out where it is. Try again under the open sky, or write the dot's station.",
};

/** @param {HTMLElement} part the part of the form of a rod */
function start(part) {
  const form = part.closest("form");
  const field = /** @type {HTMLInputElement} */ (part.querySelector("[name=dot_fix]"));
  if (!form || !navigator.geolocation) return;
  const button = /** @type {HTMLButtonElement} */ (part.querySelector("button"));
  const status = /** @type {HTMLElement} */ (part.querySelector("[role=status]"));
  const words = /** @type {HTMLElement} */ (button.querySelector("span"));
  const written = /** @type {HTMLInputElement} */ (form.elements.namedItem("dot_station"));
  const clear = () => {
    field.value = "";
    button.setAttribute("aria-pressed", "false");
    words.textContent = "Use this phone’s position";
  };
  const show = () => {
    const errorM = errorOf(field.value);
    button.setAttribute("aria-pressed", "true");
    words.textContent = "Leave the position out";
    status.textContent =
      errorM === null
        ? "The phone does not say how far off it may be: write station and offset instead."
        : `The dot is where this phone was, within ${roughLength(errorM, part.dataset.showUnits ?? "feet")}.`;
  };
  const hear = (/** @type {GeolocationPosition} */ { coords }) => {
    button.disabled = false;
    field.value = dotFixText(coords);
    written.value = "";
    show();
  };
  const refuse = (/** @type {GeolocationPositionError} */ { code }) => {
    clear();
    button.disabled = false;
    status.textContent = REFUSALS[/** @type {1 | 2 | 3} */ (code)];
  };
  button.addEventListener("click", () => {
    if (field.value) {
      clear();
      status.textContent = "The position is left out.";
      return;
    }
    button.disabled = true;
    status.textContent = "The phone is finding out where it is.";
    navigator.geolocation.getCurrentPosition(hear, refuse, { enableHighAccuracy: true, maximumAge: 0, timeout: 30_000 });
  });
  written.addEventListener("input", () => {
    if (!field.value || !written.value.trim()) return;
    clear();
    status.textContent = "The station that you write counts, and the phone’s position is left out.";
  });
  if (field.value) show();
  part.hidden = false;
}

for (const part of document.querySelectorAll(".dot-by-phone")) start(/** @type {HTMLElement} */ (part));
