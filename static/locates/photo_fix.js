// @ts-check
// A fix of a phone as the form of photos carries it. Pure.

/**
 * @param {{ longitude: number, latitude: number, accuracy: number }} coords degrees on WGS 84, and metres
 * @param {number} toldAtMs milliseconds since 1970, UTC
 * @returns {string} longitude, latitude, accuracy or null, and moment as a JSON list; nothing where it is no place
 */
export function fixText({ longitude, latitude, accuracy }, toldAtMs) {
  if (![longitude, latitude, toldAtMs].every(Number.isFinite)) return "";
  const errorM = Number.isFinite(accuracy) && accuracy >= 0 ? accuracy : null;
  return JSON.stringify([longitude, latitude, errorM, Math.round(toldAtMs)]);
}
