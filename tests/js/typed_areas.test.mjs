// Areas of a form's box: read, written, changed one at a time, and shown.

import assert from "node:assert/strict";
import test from "node:test";

import { areasOf, areasText, cornersWords, polygonsOf, withArea } from "../../static/locates/typed_areas.js";

const A = [-78.5, 38];
const B = [-78.49, 38.001];
const C = [-78.49, 38.002];
const D = [-78.5, 38.002];

test("areas are written with a blank line between and read back, however many lines are blank", () => {
  const areas = [[A, B, C], [A, C, D]];
  assert.deepEqual(areasOf(areasText(areas)), areas);
  assert.deepEqual(areasOf(`\n\n${areasText([areas[0]])}\n \n\t\n${areasText([areas[1]])}\n\n`), areas);
  assert.deepEqual(areasOf(""), []);
});

test("the closing corner that somebody typed is not a corner more", () => {
  assert.deepEqual(areasOf(areasText([[A, B, C, A]])), [[A, B, C]]);
});

test("what only the server reads is left to it", () => {
  assert.equal(areasOf("38.0 N, 78.5 W\n38.1 N, 78.5 W"), null);
  assert.equal(areasOf('{"type": "Polygon", "coordinates": []}'), null);
});

test("an area is put behind the last, in the place of another, or taken away", () => {
  const [one, two] = [[A, B, C], [A, C, D]];
  assert.deepEqual(withArea([one], 1, two), [one, two]);
  assert.deepEqual(withArea([one, two], 0, two), [two, two]);
  assert.deepEqual(withArea([one, two], 0, null), [two]);
});

test("the map shows typed areas and GeoJSON with its holes, and nothing of what is half typed", () => {
  const rings = [[A, B, C, A], [A, C, D, A]];
  assert.deepEqual(polygonsOf(areasText([[A, B, C]])), [[[A, B, C]]]);
  assert.deepEqual(polygonsOf(JSON.stringify({ type: "Polygon", coordinates: rings })), [rings]);
  assert.deepEqual(polygonsOf(JSON.stringify({ type: "MultiPolygon", coordinates: [rings, rings] })), [rings, rings]);
  assert.deepEqual(polygonsOf('{"type": "Poly'), []);
  assert.deepEqual(polygonsOf(JSON.stringify({ type: "Point", coordinates: A })), []);
  assert.deepEqual(polygonsOf("38.0 N, 78.5 W"), []);
});

test("corners are counted in words", () => {
  assert.equal(cornersWords(1), "1 corner");
  assert.equal(cornersWords(4), "4 corners");
});
