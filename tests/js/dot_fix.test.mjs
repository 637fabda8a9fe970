import assert from "node:assert/strict";
import { test } from "node:test";

import { dotFixText, errorOf } from "../../static/conflicts/dot_fix.js";

test("a position keeps every digit and what it may be off by", () => {
  const text = dotFixText({ longitude: -119.44996831, latitude: 43.04998754, accuracy: 2.5 });
  assert.equal(text, "[-119.44996831,43.04998754,2.5]");
  assert.equal(errorOf(text), 2.5);
});

test("an accuracy that is not known stays unknown and is never 0", () => {
  const text = dotFixText({ longitude: 1, latitude: 2, accuracy: NaN });
  assert.equal(text, "[1,2,null]");
  assert.equal(errorOf(text), null);
  assert.equal(errorOf(dotFixText({ longitude: 1, latitude: 2, accuracy: -1 })), null);
});

test("what is no place is nothing", () => {
  assert.equal(dotFixText({ longitude: NaN, latitude: 2, accuracy: 1 }), "");
  assert.equal(errorOf(""), null);
});
