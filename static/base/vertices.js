// @ts-check
// The corners of what is being drawn on the map, and what a form is given of them.

/** @typedef {[number, number]} Place */
/** @typedef {"point" | "line" | "area"} Kind */

const LEAST = { point: 1, line: 2, area: 3 };
const DECIMALS = 8; // of a degree: a millimetre on the ground

/**
 * The corners with one more; a point moves instead, and a corner on the last one is not a corner.
 * @param {Kind} kind
 * @param {Place[]} places
 * @param {Place} place
 * @returns {Place[]}
 */
export function withCorner(kind, places, place) {
  const rounded = /** @type {Place} */ (place.map((degrees) => Number(degrees.toFixed(DECIMALS))));
  const last = places.at(-1);
  if (last && last[0] === rounded[0] && last[1] === rounded[1]) return places;
  return kind === "point" ? [rounded] : [...places, rounded];
}

/**
 * Whether there are corners enough.
 * @param {Kind} kind
 * @param {Place[]} places
 * @returns {boolean}
 */
export function isComplete(kind, places) {
  return new Set(places.map(String)).size >= LEAST[kind];
}

/**
 * Coordinates as GeoJSON has them: a position, a line's positions, or a polygon's one closed ring.
 * @param {Kind} kind
 * @param {Place[]} places
 * @returns {Place | Place[] | Place[][]}
 */
export function coordinatesOf(kind, places) {
  if (kind === "point") return places[0];
  return kind === "line" ? places : [[...places, places[0]]];
}

/**
 * How far the drawing is, and what is still wanted.
 * @param {Kind} kind
 * @param {Place[]} places
 * @returns {string}
 */
export function progress(kind, places) {
  if (kind === "point") return places.length ? "The point is placed; another tap moves it." : "Tap where the point is.";
  const count = places.length === 1 ? "1 corner" : `${places.length} corners`;
  if (isComplete(kind, places)) return `${count}. Tap for another, or finish.`;
  return places.length ? `${count}; at least ${LEAST[kind]} are needed.` : "Tap where it begins.";
}
