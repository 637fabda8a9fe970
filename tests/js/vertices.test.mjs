// What is drawn on the map, corner by corner.

import assert from "node:assert/strict";
import test from "node:test";

import { coordinatesOf, isComplete, progress, withCorner } from "../../static/base/vertices.js";

const A = [-78.123456784, 38];
const B = [-78.1, 38.1];
const C = [-78.2, 38.2];
const add = (kind, ...places) => places.reduce((corners, place) => withCorner(kind, corners, place), []);

test("corners are kept to a millimetre, and one on the last is none", () => {
  assert.deepEqual(add("line", A, A), [[-78.12345678, 38]]);
});

test("a point moves where a line grows", () => {
  assert.deepEqual(add("point", A, B), [B]);
  assert.equal(add("line", A, B).length, 2);
});

test("a line needs two corners and an area three that differ", () => {
  assert.equal(isComplete("line", add("line", A)), false);
  assert.equal(isComplete("line", add("line", A, B)), true);
  assert.equal(isComplete("area", add("area", A, B, A)), false);
  assert.equal(isComplete("area", add("area", A, B, C)), true);
});

test("coordinates are as GeoJSON has them, an area's ring closed", () => {
  assert.deepEqual(coordinatesOf("point", [B]), B);
  assert.deepEqual(coordinatesOf("line", [B, C]), [B, C]);
  assert.deepEqual(coordinatesOf("area", [B, C, A]), [[B, C, A, B]]);
});

test("the words say how many corners there are and how many are wanted", () => {
  assert.equal(progress("line", []), "Tap where it begins.");
  assert.equal(progress("line", [A]), "1 corner; at least 2 are needed.");
  assert.equal(progress("area", [A, B, C]), "3 corners. Tap for another, or finish.");
  assert.match(progress("point", [A]), /placed/);
});
