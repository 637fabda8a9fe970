// @ts-check
// Fixes of the phone's position that stand in a form, each with the distance that it may be off by.

import { placeLine } from "./typed_places.js";

/** @typedef {[string, string, number]} Fix latitude and longitude as the box has them, and metres */

const METRES_PER_FOOT = 0.3048;
const NOISE = 1e-9;

/** @param {number} longitude @param {number} latitude @param {number} accuracyM @returns {Fix} */
export function fixOf(longitude, latitude, accuracyM) {
  const [latitudeText, longitudeText] = placeLine([longitude, latitude]).split(", ");
  return [latitudeText, longitudeText, accuracyM];
}

/** @param {string} text @returns {Fix[]} */
export function readFixes(text) {
  return text ? JSON.parse(text) : [];
}

/** @param {Fix} fix @returns {string} */
export const fixLine = ([latitude, longitude]) => `${latitude}, ${longitude}`;

/**
 * The fixes whose line still stands in the box.
 * @param {Fix[]} fixes
 * @param {string} box
 * @returns {Fix[]}
 */
export function standing(fixes, box) {
  const lines = new Set(box.split("\n").map((line) => line.trim()));
  return fixes.filter((fix) => lines.has(fixLine(fix)));
}

/**
 * What a record may be off by, as people write it, rounded up; "" where nothing came from the phone.
 * @param {Fix[]} fixes that stand in the box
 * @param {number} paintM what paint may be off by besides
 * @param {string} showUnits
 * @returns {string}
 */
export function errorText(fixes, paintM, showUnits) {
  if (fixes.length === 0) return "";
  const errorM = Math.max(...fixes.map((fix) => fix[2])) + paintM;
  if (showUnits === "feet") return `${(Math.ceil((errorM / METRES_PER_FOOT) * 10 + NOISE) / 10).toFixed(1)} ft`;
  return `${(Math.ceil(errorM * 100 + NOISE) / 100).toFixed(2)} m`;
}

/**
 * Whether a fix is to take the place of one that was put in before: it is no less sure.
 * @param {Fix | null} before
 * @param {Fix} fix
 */
export const isSurer = (before, fix) => before === null || fix[2] <= before[2];
