// @ts-check
// The part of a map that a phone opens with: a stretch of the bore that is short enough to be read.

import { nearestOn, stretchOf } from "../base/along.js";

/** @typedef {[number, number]} Place */

const BEHIND_M = 8; // what is shown before the crossing, so that it does not lie at the edge
const STRETCH_M = 60; // on a phone about 6 px to the metre: crossings of a full street keep apart
const NARROW_PX = 480;
const COARSE_M = 0.25; // to a pixel: coarser, symbols hide one another

/**
 * The stretch from the crossing that comes next, and from the entry where there is none.
 *
 * On the map of a bore that is its first crossing; on that of a job the first that is not clear, else the first.
 * @param {any} data
 * @returns {Place[]} nothing where there is no bore
 */
export function stretchAhead(data) {
  const own = data.crossings.filter((/** @type {any} */ one) => !data.isOfBore || data.bores[one.bore].id === data.boreId);
  const next = (data.isOfBore ? null : own.find((/** @type {any} */ one) => one.verdict !== "clear")) ?? own[0];
  const bore = next ? data.bores[next.bore] : data.bores.find((/** @type {any} */ one) => !data.isOfBore || one.id === data.boreId);
  if (!bore) return [];
  const at = next ? nearestOn(bore.line, bore.stations_m, data.metresPerDegree, next.at).stationM : 0;
  const end = bore.stations_m.at(-1);
  const from = Math.max(0, Math.min(at - BEHIND_M, end - STRETCH_M));
  return stretchOf(bore.line, bore.stations_m, from, Math.min(end, from + STRETCH_M));
}

/** Whether a view is too small for all of what it shows. @param {number} widthPx @param {number} metresPerPixel */
export const isTooSmall = (widthPx, metresPerPixel) => widthPx < NARROW_PX && metresPerPixel > COARSE_M;
