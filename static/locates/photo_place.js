// @ts-check
// This phone's place, told with photos only when somebody taps for it.

import { roughLength } from "../base/along.js";
import { fixText } from "./photo_fix.js";

const REFUSALS = {
  1: "The phone may not tell where it is. Allow it for this site in the browser's settings. The photos can be sent without a place.",
  2: "The phone cannot find out where it is here. The photos can be sent without a place.",
  3: "The phone takes too long to find out where it is. Try again under the open sky, or send the photos without a place.",
};

/** @param {HTMLElement} part the part of the form that takes photos */
function start(part) {
  const field = /** @type {HTMLInputElement | null} */ (part.querySelector("[name=photo_fix]"));
  const way = /** @type {HTMLElement | null} */ (part.querySelector(".photo-way"));
  if (!field || !way || !navigator.geolocation) return;
  const button = /** @type {HTMLButtonElement} */ (way.querySelector("button"));
  const status = /** @type {HTMLElement} */ (way.querySelector("[role=status]"));
  const words = /** @type {HTMLElement} */ (button.querySelector("span"));
  const clear = () => {
    field.value = "";
    button.setAttribute("aria-pressed", "false");
    words.textContent = "Add this phone’s place";
  };
  const hear = (/** @type {GeolocationPosition} */ { coords, timestamp }) => {
    field.value = fixText(coords, timestamp);
    button.disabled = false;
    button.setAttribute("aria-pressed", "true");
    words.textContent = "Leave the place out";
    status.textContent = `The place goes with these photos, within ${roughLength(coords.accuracy, part.dataset.showUnits ?? "feet")}.`;
  };
  const refuse = (/** @type {GeolocationPositionError} */ { code }) => {
    clear();
    button.disabled = false;
    status.textContent = REFUSALS[/** @type {1 | 2 | 3} */ (code)];
  };
  button.addEventListener("click", () => {
    if (field.value) {
      clear();
      status.textContent = "No place goes with these photos, unless a photo says one itself.";
      return;
    }
    button.disabled = true;
    status.textContent = "The phone is finding out where it is.";
    navigator.geolocation.getCurrentPosition(hear, refuse, { enableHighAccuracy: true, maximumAge: 0, timeout: 30_000 });
  });
  clear();
  way.hidden = false;
}

for (const part of document.querySelectorAll(".photos-part")) start(/** @type {HTMLElement} */ (part));
