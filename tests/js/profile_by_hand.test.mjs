// What counts as a change of a pitch, how far the slider reaches, and which of several answers is shown.
import assert from "node:assert/strict";
import { test } from "node:test";

import { changedPercent, lastOnly, sliderRange } from "../../static/conflicts/profile_by_hand.js";

test("a box that holds what it showed, nothing or no figure is no change", () => {
  assert.equal(changedPercent("-12.5", "-12.5"), null);
  assert.equal(changedPercent(" -12.5 ", "-12.5"), null);
  assert.equal(changedPercent("", "-12.5"), null);
  assert.equal(changedPercent("steep", "-12.5"), null);
  assert.equal(changedPercent("-12.6", "-12.5"), "-12.6");
});

test("the slider reaches fifteen percent to both sides and never past 100", () => {
  assert.deepEqual(sliderRange(-12.4), { min: -27, max: 3 });
  assert.deepEqual(sliderRange(95), { min: 80, max: 100 });
});

test("an older answer that comes late is not shown", async () => {
  /** @type {Record<string, (answer: string) => void>} */
  const waiting = {};
  /** @type {string[]} */
  const shown = [];
  const measure = lastOnly(
    (address) => new Promise((resolve) => { waiting[address] = resolve; }),
    (answer) => shown.push(answer),
  );
  const first = measure("first");
  const second = measure("second");
  waiting.second("figures of the second");
  await second;
  waiting.first("figures of the first");
  await first;
  assert.deepEqual(shown, ["figures of the second"]);
});
