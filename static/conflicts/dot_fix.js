// @ts-check
// A phone's position as the form of a rod carries it. Pure.

/**
 * @param {{ longitude: number, latitude: number, accuracy: number }} coords degrees on WGS 84, and metres
 * @returns {string} longitude, latitude and accuracy or null as a JSON list; nothing where it is no place
 */
export function dotFixText({ longitude, latitude, accuracy }) {
  if (![longitude, latitude].every(Number.isFinite)) return "";
  return JSON.stringify([longitude, latitude, Number.isFinite(accuracy) && accuracy >= 0 ? accuracy : null]);
}

/**
 * What the position may be off by; null where that is not known.
 * @param {string} text
 * @returns {number | null}
 */
export function errorOf(text) {
  const fix = text ? JSON.parse(text) : [];
  return Number.isFinite(fix[2]) ? fix[2] : null;
}
