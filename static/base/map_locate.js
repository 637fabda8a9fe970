// @ts-check
// Where the phone is: a dot, the circle that it may be off by, and how old the fix is.

import { roughLength } from "./along.js";
import { svg } from "./svg.js";

/** @typedef {import("./map.js").SiteMap} SiteMap */

const OLD_S = 30; // a person walks 40 m in it
const LEAST_DOT_PX = 8;
const REFUSALS = {
  1: "The phone may not tell where it is. Allow it for this site in the browser's settings.",
  2: "The phone cannot find out where it is here.",
  3: "The phone takes too long to find out where it is. Try again under the open sky.",
};

/**
 * The fix in words.
 * @param {number} accuracyM
 * @param {number} ageS
 * @param {string} showUnits
 * @returns {string}
 */
export function fixText(accuracyM, ageS, showUnits) {
  const age = ageS < 60 ? `${Math.max(0, Math.round(ageS))} s` : `${Math.floor(ageS / 60)} min`;
  const doubt = ageS > OLD_S ? " That is old: you may have moved." : "";
  return `You are within ${roughLength(accuracyM, showUnits)} of the dot, as of ${age} ago.${doubt}`;
}

/**
 * Makes a button follow the phone's position, and stop again.
 * @param {HTMLElement} button
 * @param {HTMLElement} words
 * @param {SiteMap} map
 * @param {() => string} showUnits
 */
export function followPosition(button, words, map, showUnits) {
  /** @type {GeolocationPosition | null} */
  let fix = null;
  /** @type {number | null} */
  let watch = null;
  let timer = 0;
  const overlay = map.overlay((frame, _size, point) => {
    if (!fix) {
      frame.replaceChildren();
      return;
    }
    const { x, y } = point([fix.coords.longitude, fix.coords.latitude]);
    const radius = Math.max(LEAST_DOT_PX, fix.coords.accuracy / map.metresPerPixel);
    frame.replaceChildren(
      svg("circle", { class: "fix-circle", cx: x, cy: y, r: radius }),
      svg("circle", { class: "fix-dot", cx: x, cy: y, r: LEAST_DOT_PX }),
    );
  });
  const tell = () => {
    if (!fix) return;
    const ageS = (Date.now() - fix.timestamp) / 1000;
    words.textContent = fixText(fix.coords.accuracy, ageS, showUnits());
    words.classList.toggle("is-old", ageS > OLD_S);
  };
  const stop = () => {
    if (watch !== null) navigator.geolocation.clearWatch(watch);
    clearInterval(timer);
    [watch, fix] = [null, null];
    button.setAttribute("aria-pressed", "false");
    overlay.redraw();
  };
  button.addEventListener("click", () => {
    if (watch !== null) {
      stop();
      words.textContent = "";
      return;
    }
    if (!isSecureContext || !navigator.geolocation) {
      words.textContent = "A browser tells where it is on a secure (https) page only.";
      return;
    }
    button.setAttribute("aria-pressed", "true");
    words.textContent = "Asking the phone where it is.";
    watch = navigator.geolocation.watchPosition(
      (found) => {
        const isFirst = fix === null;
        fix = found;
        tell();
        if (isFirst) map.centreOn([found.coords.longitude, found.coords.latitude]);
        overlay.redraw();
      },
      (error) => {
        stop();
        words.textContent = REFUSALS[error.code];
      },
      { enableHighAccuracy: true, maximumAge: 5000, timeout: 30000 },
    );
    timer = setInterval(tell, 1000);
  });
}
