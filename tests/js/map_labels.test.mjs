// Where letters and names go.

import assert from "node:assert/strict";
import test from "node:test";

import { Board, clipped, distanceTo, edgesOf, lengthOf, placesAlong, uprightDeg } from "../../static/base/map_labels.js";

test("a box is taken once", () => {
  const board = new Board();
  assert.equal(board.take(10, 10, 10, 10), true);
  assert.equal(board.take(14, 14, 10, 10), false);
  assert.equal(board.take(20, 10, 10, 10), true, "boxes that touch do not overlap");
  board.cover(40, 40, 10, 10);
  assert.equal(board.take(42, 42, 2, 2), false);
});

test("nothing lies across the edge of the view", () => {
  const board = new Board(edgesOf({ left: 0, top: 0, right: 100, bottom: 100 }));
  assert.equal(board.take(98, 50, 10, 10), false);
  assert.equal(board.take(50, 50, 10, 10), true);
  assert.equal(board.take(120, 50, 10, 10), true);
});

test("places along a bent line keep their distance and read upright", () => {
  const line = [{ x: 0, y: 0 }, { x: 100, y: 0 }, { x: 100, y: 100 }];
  assert.equal(lengthOf(line), 200);
  assert.deepEqual(placesAlong(line, 80), [
    { x: 40, y: 0, angleDeg: 0 },
    { x: 100, y: 20, angleDeg: 90 },
    { x: 100, y: 100, angleDeg: 90 },
  ]);
  assert.deepEqual(placesAlong([...line].reverse(), 150)[0], { x: 100, y: 25, angleDeg: 90 });
  assert.equal(uprightDeg(135), -45);
  assert.equal(uprightDeg(-135), 45);
  assert.equal(uprightDeg(-90), 90);
});

test("a line is clipped to the pieces in sight", () => {
  const across = [{ x: -50, y: 50 }, { x: 50, y: 50 }, { x: 150, y: 50 }];
  assert.deepEqual(clipped(across, 100, 100), [[{ x: 0, y: 50 }, { x: 50, y: 50 }, { x: 100, y: 50 }]]);
  const outAndIn = [{ x: 50, y: 50 }, { x: 50, y: -50 }, { x: 80, y: -50 }, { x: 80, y: 50 }];
  assert.equal(clipped(outAndIn, 100, 100).length, 2);
  assert.deepEqual(clipped([{ x: -5, y: 0 }, { x: -5, y: 9 }], 100, 100), []);
});

test("the distance to a line is that to its nearest point, ends included", () => {
  const line = [{ x: 0, y: 0 }, { x: 10, y: 0 }];
  assert.equal(distanceTo({ x: 5, y: 3 }, line), 3);
  assert.equal(distanceTo({ x: 13, y: 4 }, line), 5);
  assert.equal(distanceTo({ x: 3, y: 4 }, [{ x: 0, y: 0 }]), 5);
  assert.equal(distanceTo({ x: 3, y: 4 }, []), Number.POSITIVE_INFINITY);
});
