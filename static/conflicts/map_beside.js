// @ts-check
// Where a symbol finds room: at its place, and beside it a test hole, most often dug at a crossing, or a crossing as
// drilled, most often near the planned one.

/** @typedef {import("../base/map_labels.js").Point} Point */

const CROWDED_PX = 15; // nearer to each other than this, symbols would hide one another
const NEAR_M = 0.1; // to a pixel: from here on in such a symbol may stand beside its place, with a line to it
const MOVED = ["test_holes", "drilled_crossings"];
const ASIDE_PX = 34;
const AT_ITS_PLACE = { x: 0, y: 0 };
const BESIDE = [{ x: ASIDE_PX, y: 0 }, { x: -ASIDE_PX, y: 0 }, { x: 0, y: -ASIDE_PX }, { x: 0, y: ASIDE_PX }];

/**
 * Takes room for a symbol.
 * @param {{layer: string}} symbol
 * @param {Point} place
 * @param {import("../base/map_labels.js").Board} board
 * @param {number} metresPerPixel
 * @returns {Point | null} how far from its place it stands, or nothing where there is no room
 */
export function takeRoom(symbol, place, board, metresPerPixel) {
  const mayMove = MOVED.includes(symbol.layer) && metresPerPixel <= NEAR_M;
  const tries = mayMove ? [AT_ITS_PLACE, ...BESIDE] : [AT_ITS_PLACE];
  return tries.find((aside) => board.take(place.x + aside.x, place.y + aside.y, CROWDED_PX, CROWDED_PX)) ?? null;
}
