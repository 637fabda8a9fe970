// @ts-check
// Areas as a form's box has them: a corner a line, a blank line between areas; or a GeoJSON polygon.

import { cornersFor, placesOf, placesText } from "./typed_places.js";

/** @typedef {import("./typed_places.js").Place} Place */
/** @typedef {Place[][]} Areas corners of each area, without the closing one */

/**
 * The areas of a box; null where it holds what only the server reads.
 * @param {string} text
 * @returns {Areas | null}
 */
export function areasOf(text) {
  const parts = text.split(/\n[^\S\n]*(?:\n[^\S\n]*)+/).filter((part) => part.trim());
  const areas = parts.map(placesOf);
  return areas.includes(null) ? null : areas.map((area) => cornersFor("area", /** @type {Place[]} */ (area)));
}

/** @param {Areas} areas @returns {string} */
export const areasText = (areas) => areas.map(placesText).join("\n\n");

/**
 * What the map shows of a box: polygons, each an outer ring and its holes. What is not read is not shown.
 * @param {string} text
 * @returns {Place[][][]}
 */
export function polygonsOf(text) {
  const areas = areasOf(text);
  if (areas) return areas.map((area) => [area]);
  if (!text.trimStart().startsWith("{")) return [];
  try {
    const { type, coordinates } = JSON.parse(text);
    if (type === "Polygon") return [coordinates];
    return type === "MultiPolygon" ? coordinates : [];
  } catch (error) {
    if (error instanceof SyntaxError) return []; // somebody is still typing
    throw error;
  }
}

/**
 * The areas with one in the place of another, or behind the last; null takes it away.
 * @param {Areas} areas
 * @param {number} index
 * @param {Place[] | null} area
 * @returns {Areas}
 */
export function withArea(areas, index, area) {
  return [...areas.slice(0, index), ...(area ? [area] : []), ...areas.slice(index + 1)];
}

/** @param {number} count @returns {string} */
export const cornersWords = (count) => (count === 1 ? "1 corner" : `${count} corners`);
