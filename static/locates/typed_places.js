// @ts-check
// Positions as the form's box has them: latitude and longitude a line; and what the map draws of them.

/** @typedef {[number, number]} Place longitude and latitude in degrees */

const DECIMALS = 8; // of a degree: a millimetre on the ground
const LINE = /^([+-]?\d{1,3}(?:\.\d+)?)\s*,\s*([+-]?\d{1,3}(?:\.\d+)?)$/;

/** @param {Place} place @returns {string} */
export const placeLine = ([longitude, latitude]) => `${latitude.toFixed(DECIMALS)}, ${longitude.toFixed(DECIMALS)}`;

/** @param {Place[]} places @returns {string} */
export const placesText = (places) => places.map(placeLine).join("\n");

/**
 * The places of a box; null where it holds what only the server reads.
 * @param {string} text
 * @returns {Place[] | null}
 */
export function placesOf(text) {
  const lines = text.split("\n").map((line) => line.trim()).filter(Boolean);
  const matches = lines.map((line) => LINE.exec(line));
  if (matches.some((match) => !match)) return null;
  return matches.map((match) => [Number(match?.[2]), Number(match?.[1])]);
}

/**
 * The corners to go on drawing from: an area's without the closing one, a point's only if it is one.
 * @param {"point" | "line" | "area"} kind
 * @param {Place[]} places
 * @returns {Place[]}
 */
export function cornersFor(kind, places) {
  if (kind === "point") return places.length === 1 ? places : [];
  const [first, last] = [places[0], places.at(-1)];
  const isClosed = places.length > 3 && first[0] === last?.[0] && first[1] === last[1];
  return kind === "area" && isClosed ? places.slice(0, -1) : places;
}

/**
 * What was drawn, as places in their order; an area ends where it began.
 * @param {Place | Place[] | Place[][]} coordinates
 * @returns {Place[]}
 */
export function drawnPlaces(coordinates) {
  if (typeof coordinates[0] === "number") return [/** @type {Place} */ (coordinates)];
  return /** @type {Place[]} */ (Array.isArray(coordinates[0]) && Array.isArray(coordinates[0][0]) ? coordinates[0] : coordinates);
}
