// What a page that shows a yes makes of the answers that it gets, and of none.

import assert from "node:assert/strict";
import { test } from "node:test";

import { OLD_MS, refusalOf, shownOf } from "../../static/conflicts/answer_renewed.js";

const fresh = { refusal: "", failure: "", ageMs: 0 };

test("a yes stays one while its answer is new", () => {
  assert.deepEqual(shownOf(fresh), { kind: "yes", words: "" });
  assert.equal(shownOf({ ...fresh, ageMs: OLD_MS - 1 }).kind, "yes");
});

test("no yes older than two minutes is shown as one, nor where the device's clock was set back", () => {
  assert.equal(OLD_MS, 120_000);
  assert.equal(shownOf({ ...fresh, ageMs: OLD_MS }).words, "Old: do not drill by this page, last asked 2 min ago.");
  assert.equal(shownOf({ ...fresh, ageMs: -1 }).kind, "old");
  assert.equal(shownOf({ ...fresh, ageMs: Number.NaN }).kind, "old");
});

test("that it could not be asked is told at once", () => {
  const shown = shownOf({ ...fresh, failure: "No network.", ageMs: 31_000 });
  assert.deepEqual(shown, { kind: "unsure", words: "This may be old: last asked 31 s ago. No network." });
});

test("what was refused stays refused, whatever its age", () => {
  const known = { refusal: "Do not drill.", failure: "No network.", ageMs: OLD_MS * 2 };
  assert.deepEqual(shownOf(known), { kind: "no", words: "Do not drill." });
});

test("whatever is not a plain yes is a no, with its reasons", () => {
  assert.equal(refusalOf({ in_force: true }), "");
  const told = { in_force: false, reasons: ["A stop rule stands."] };
  assert.equal(
    refusalOf(told),
    "Do not drill: this does not hold any more. A stop rule stands. Load this page again.",
  );
  for (const odd of [{}, null, { in_force: "true" }, { in_force: 1 }]) {
    assert.match(refusalOf(odd), /^Do not drill/);
  }
});
