// @ts-check
// The phone's position put into a form by thumb: one point that gets surer, or a line walked point by point.

import { roughLength } from "../base/along.js";
import { errorText, fixLine, fixOf, isSurer, readFixes, standing } from "./fixes.js";

/** @typedef {import("./fixes.js").Fix} Fix */

const REFUSALS = {
  1: "The phone may not tell where it is. Allow it for this site in the browser's settings.",
  2: "The phone cannot find out where it is here. It goes on trying.",
  3: "The phone takes long to find out where it is. It goes on trying: wait under the open sky.",
};

/** @param {HTMLElement} place the part of the form that says where */
function start(place) {
  const way = /** @type {HTMLElement | null} */ (place.querySelector(".phone-way"));
  if (!way || !navigator.geolocation) return;
  const field = (/** @type {string} */ id) => /** @type {HTMLTextAreaElement} */ (document.getElementById(id));
  const part = (/** @type {string} */ selector) => /** @type {HTMLElement} */ (way.querySelector(selector));
  const box = field(place.dataset.shape ?? "");
  const kept = /** @type {HTMLInputElement} */ (place.querySelector("[name=fixes]"));
  const error = /** @type {HTMLInputElement | null} */ (document.getElementById(place.dataset.error ?? ""));
  const follow = /** @type {HTMLButtonElement} */ (part("[data-phone=follow]"));
  const add = /** @type {HTMLButtonElement} */ (part("[data-phone=add]"));
  const status = part(".phone-status");
  const units = place.dataset.showUnits ?? "feet";
  const isPoint = place.dataset.draws === "point";
  let fixes = readFixes(kept.value);
  let filled = "";
  /** @type {number | null} */
  let watch = null;
  /** @type {Fix | null} */
  let latest = null;
  /** @type {Fix | null} */
  let placed = null;

  const within = (/** @type {Fix} */ fix) => `within ${roughLength(fix[2], units)}`;
  const show = () => {
    const there = standing(fixes, box.value);
    part(".phone-fixes").replaceChildren(...(isPoint ? [] : there.map((fix) => item(`${fixLine(fix)}, ${within(fix)}`))));
    if (!error || (error.value !== "" && error.value !== filled)) return;
    filled = errorText(there, Number(place.dataset.paintM ?? 0), units);
    error.value = filled;
  };
  const put = (/** @type {Fix} */ fix, /** @type {string} */ text) => {
    fixes = [...standing(fixes, box.value), fix];
    box.value = text;
    kept.value = JSON.stringify(fixes);
    box.dispatchEvent(new Event("input", { bubbles: true }));
  };
  const stop = () => {
    if (watch !== null) navigator.geolocation.clearWatch(watch);
    watch = null;
    placed = null;
    add.disabled = true;
    follow.setAttribute("aria-pressed", "false");
    part("[data-phone=follow] span").textContent = "Use the phone’s position";
  };
  const hear = (/** @type {GeolocationPosition} */ { coords }) => {
    latest = fixOf(coords.longitude, coords.latitude, coords.accuracy);
    add.disabled = false;
    status.textContent = `The phone knows where it is ${within(latest)}.`;
    if (!isPoint) return;
    if (placed && box.value.trim() !== fixLine(placed)) {
      stop(); // somebody wrote another place meanwhile
    } else if (isSurer(placed, latest)) {
      placed = latest;
      put(latest, fixLine(latest));
      status.textContent = `Placed ${within(latest)}. It gets surer while you wait; stop when it does not.`;
    }
  };
  const refuse = (/** @type {GeolocationPositionError} */ { code }) => {
    status.textContent = REFUSALS[code];
    latest = null;
    add.disabled = true;
    if (code === 1) stop(); // else the next fix may come any moment
  };
  follow.addEventListener("click", () => {
    if (watch !== null) {
      stop();
      return;
    }
    status.textContent = "The phone is finding out where it is.";
    watch = navigator.geolocation.watchPosition(hear, refuse, { enableHighAccuracy: true, maximumAge: 0, timeout: 30_000 });
    follow.setAttribute("aria-pressed", "true");
    part("[data-phone=follow] span").textContent = "Stop";
  });
  add.addEventListener("click", () => {
    if (latest) put(latest, [box.value.trim(), fixLine(latest)].filter(Boolean).join("\n"));
  });
  box.addEventListener("input", show);
  place.closest("form")?.addEventListener("submit", stop);
  add.hidden = isPoint;
  way.hidden = false;
  show();
}

/** @param {string} words */
function item(words) {
  const made = document.createElement("li");
  made.textContent = words;
  return made;
}

for (const place of document.querySelectorAll(".place")) start(/** @type {HTMLElement} */ (place));
