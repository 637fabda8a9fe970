import assert from "node:assert/strict";
import { test } from "node:test";

import { Board } from "../../static/base/map_labels.js";
import { takeRoom } from "../../static/conflicts/map_beside.js";

const PLACE = { x: 100, y: 100 };
const NEAR_M = 0.05; // to a pixel
const HOLE = { layer: "test_holes" };

test("a test hole at a crossing stands beside it, and the next on its other side", () => {
  const board = new Board();
  assert.deepEqual(takeRoom({ layer: "crossings" }, PLACE, board, NEAR_M), { x: 0, y: 0 });
  const first = takeRoom(HOLE, PLACE, board, NEAR_M);
  const second = takeRoom(HOLE, PLACE, board, NEAR_M);
  assert.equal(Math.hypot(first.x, first.y) > 15, true);
  assert.deepEqual(second, { x: -first.x, y: 0 });
});

test("where there is no room on any side a test hole is left out", () => {
  const board = new Board();
  board.cover(PLACE.x, PLACE.y, 200, 200);
  assert.equal(takeRoom(HOLE, PLACE, board, NEAR_M), null);
});

test("nothing else leaves its place, nor a test hole seen from afar", () => {
  const board = new Board();
  board.cover(PLACE.x, PLACE.y, 10, 10);
  assert.equal(takeRoom({ layer: "surface_features" }, PLACE, board, NEAR_M), null);
  assert.equal(takeRoom(HOLE, PLACE, board, 1), null);
});

test("a crossing as drilled stands beside the planned one, and is not moved where that would be metres away", () => {
  const board = new Board();
  assert.deepEqual(takeRoom({ layer: "crossings" }, PLACE, board, NEAR_M), { x: 0, y: 0 });
  const aside = takeRoom({ layer: "drilled_crossings" }, PLACE, board, NEAR_M);
  assert.equal(Math.hypot(aside.x, aside.y) > 15, true);
  assert.equal(takeRoom({ layer: "drilled_crossings" }, PLACE, board, 1), null);
});
