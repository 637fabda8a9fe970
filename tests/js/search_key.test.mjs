import assert from "node:assert/strict";
import test from "node:test";

import { asksForSearch } from "../../static/base/search_key.js";

const plain = { key: "/", ctrlKey: false, metaKey: false, altKey: false };

test("the plain key asks for the search box", () => {
  assert.equal(asksForSearch(plain, false), true);
});

test("while somebody writes the key is a letter", () => {
  assert.equal(asksForSearch(plain, true), false);
});

test("another key, or the key with a modifier, is left to the browser", () => {
  assert.equal(asksForSearch({ ...plain, key: "?" }, false), false);
  for (const modifier of ["ctrlKey", "metaKey", "altKey"]) {
    assert.equal(asksForSearch({ ...plain, [modifier]: true }, false), false);
  }
});
