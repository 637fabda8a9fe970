// What is pointed at after each action, and when a tap or a place needs more.
import assert from "node:assert/strict";
import { test } from "node:test";

import { NOTHING, after, asSequence, follows, scrolledTo } from "../../static/conflicts/pointing.js";

test("a place along the bore is read from digits alone", () => {
  assert.equal(asSequence("0"), 0);
  assert.equal(asSequence("39"), 39);
  for (const text of ["", "-1", "1.5", "x", " 1", "12345678", null, undefined]) assert.equal(asSequence(text), null);
});

test("a mouse points while it is there", () => {
  const over = after(NOTHING, { kind: "hover", crossing: 3 });
  assert.equal(over.crossing, 3);
  assert.deepEqual(after(over, { kind: "leave" }), NOTHING);
});

test("a tap and the focus keep pointing when the mouse goes", () => {
  const kept = after(NOTHING, { kind: "keep", crossing: 0 });
  assert.deepEqual(after(kept, { kind: "leave" }), { crossing: 0, isKept: true });
});

test("a mouse takes over from what was kept, and letting go ends either", () => {
  const kept = after(NOTHING, { kind: "keep", crossing: 1 });
  const over = after(kept, { kind: "hover", crossing: 2 });
  assert.deepEqual(over, { crossing: 2, isKept: false });
  assert.deepEqual(after(kept, { kind: "drop" }), NOTHING);
  assert.deepEqual(after(over, { kind: "drop" }), NOTHING);
});

test("the first tap in the drawing only points, the second follows", () => {
  assert.equal(follows("touch", null, 4), false);
  assert.equal(follows("touch", 3, 4), false);
  assert.equal(follows("touch", 4, 4), true);
  assert.equal(follows("mouse", null, 4), true);
  assert.equal(follows("", null, 4), true);
});

test("a place in view is left where it is", () => {
  assert.equal(scrolledTo({ left: 0, width: 400 }, 200, 64), null);
});

test("a place out of view, or under the axis, comes to the middle of what is seen", () => {
  assert.equal(scrolledTo({ left: 0, width: 400 }, 900, 64), 900 - 232);
  assert.equal(scrolledTo({ left: 500, width: 400 }, 520, 64), 520 - 232);
  assert.equal(scrolledTo({ left: 500, width: 400 }, 100, 64), 0);
});
