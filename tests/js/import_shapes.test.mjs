import assert from "node:assert/strict";
import { test } from "node:test";

import { sorted } from "../../static/locates/import_shapes.js";

test("shapes are sorted by what they are drawn as, and all of their places are there to fit", () => {
  const ring = [[0, 0], [1, 0], [1, 1], [0, 0]];
  const found = sorted([
    { type: "Polygon", coordinates: [ring] },
    { type: "Point", coordinates: [5, 6] },
    { type: "LineString", coordinates: [[2, 2], [3, 3]] },
  ]);
  assert.deepEqual(found.points, [[5, 6]]);
  assert.deepEqual(found.lines, [[[2, 2], [3, 3]]]);
  assert.deepEqual(found.areas, [[ring]]);
  assert.deepEqual(found.places, [[5, 6], [2, 2], [3, 3], ...ring]);
});

test("a file without shapes draws nothing", () => {
  assert.deepEqual(sorted([]), { points: [], lines: [], areas: [], places: [] });
});
