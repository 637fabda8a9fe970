import assert from "node:assert/strict";
import test from "node:test";

import { fixText } from "../../static/locates/photo_fix.js";

test("a fix is longitude, latitude, metres and the moment", () => {
  const coords = { longitude: -78.4995, latitude: 38.0001, accuracy: 4.5 };
  assert.equal(fixText(coords, 1796000000000.4), "[-78.4995,38.0001,4.5,1796000000000]");
});

test("an accuracy that is none is unknown, and never zero", () => {
  assert.equal(fixText({ longitude: 1, latitude: 2, accuracy: NaN }, 3), "[1,2,null,3]");
  assert.equal(fixText({ longitude: 1, latitude: 2, accuracy: -1 }, 3), "[1,2,null,3]");
});

test("what is no place says nothing", () => {
  assert.equal(fixText({ longitude: NaN, latitude: 2, accuracy: 4 }, 3), "");
  assert.equal(fixText({ longitude: 1, latitude: Infinity, accuracy: 4 }, 3), "");
  assert.equal(fixText({ longitude: 1, latitude: 2, accuracy: 4 }, NaN), "");
});
