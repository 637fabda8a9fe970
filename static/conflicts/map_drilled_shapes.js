// @ts-check
// How a crossing of the hole as drilled is told from a planned one: its verdict stands on a piece of the drilled path.

import { shape, svg } from "../base/svg.js";

/** @param {string} verdict id of its shape @param {number} x @param {number} y @param {number} size of both together */
export const drilledShapes = (verdict, x, y, size) => [
  shape("drilled-piece", x, y + size * 0.34, size),
  svg("circle", { class: "symbol-ground", cx: x, cy: y - size * 0.14, r: size * 0.34 }),
  shape(verdict, x, y - size * 0.14, size * 0.66),
];
