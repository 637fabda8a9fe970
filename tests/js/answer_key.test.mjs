// The key that goes to the letter of the next answer.

import assert from "node:assert/strict";
import { test } from "node:test";

import { asksForAnswer } from "../../static/locates/answer_key.js";

const PLAIN = { ctrlKey: false, metaKey: false, altKey: false };

test("the plain key asks for it, in capitals too", () => {
  assert.equal(asksForAnswer({ key: "a", ...PLAIN }, false), true);
  assert.equal(asksForAnswer({ key: "A", ...PLAIN }, false), true);
  assert.equal(asksForAnswer({ key: "b", ...PLAIN }, false), false);
});

test("not while somebody writes, nor with a key that makes another command of it", () => {
  assert.equal(asksForAnswer({ key: "a", ...PLAIN }, true), false);
  for (const held of ["ctrlKey", "metaKey", "altKey"]) {
    assert.equal(asksForAnswer({ key: "a", ...PLAIN, [held]: true }, false), false, held);
  }
});
