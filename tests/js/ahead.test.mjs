// What the page for the rig says of its own age, and to a screen reader.

import assert from "node:assert/strict";
import { test } from "node:test";

import { ageWords, failureWords, isOld, OLD_MS, saidWords } from "../../static/conflicts/ahead.js";

test("an age is told in seconds, then minutes, then hours", () => {
  assert.equal(ageWords(900), "0 s ago");
  assert.equal(ageWords(59_999), "59 s ago");
  assert.equal(ageWords(60_000), "1 min ago");
  assert.equal(ageWords(3_600_000 + 120_000), "1 h 2 min ago");
});

test("what is shown is old from half a minute on, and where the device's clock was set back", () => {
  assert.equal(isOld(OLD_MS - 1), false);
  assert.equal(isOld(OLD_MS), true);
  assert.equal(isOld(-1), true);
  assert.equal(isOld(Number.NaN), true);
});

test("why there is no answer is told in words", () => {
  assert.equal(failureWords({}), "No network.");
  assert.equal(failureWords({ status: 200, redirected: true }), "The login ended: load this page again.");
  assert.equal(failureWords({ status: 403 }), "The login ended: load this page again.");
  assert.equal(failureWords({ status: 404 }), "This bore is not here any more.");
  assert.equal(failureWords({ status: 500 }), "The server answered with an error (500).");
});

test("a screen reader is told the rod, what to do and what comes, and not how old it is", () => {
  const sheet = { answer: { large: "Steer up now" }, coming: { large: "G1 in 2 rods" }, rod: 17 };
  assert.equal(saidWords(sheet), "Rod 17. Steer up now. Next: G1 in 2 rods.");
  assert.equal(saidWords({ ...sheet, rod: null }), "Steer up now. Next: G1 in 2 rods.");
});
