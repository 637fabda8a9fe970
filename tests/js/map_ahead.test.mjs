// What a phone opens a map with.

import assert from "node:assert/strict";
import test from "node:test";

import { isTooSmall, stretchAhead } from "../../static/conflicts/map_ahead.js";

// A metre to a hundred-thousandth of a degree makes the figures readable.
const bore = (id, lengthM) => ({ id, line: [[0, 0], [lengthM / 1e5, 0]], stations_m: [0, lengthM] });
const crossing = (bore, atM, verdict) => ({ bore, verdict, at: [atM / 1e5, 0] });
const job = { isOfBore: false, boreId: null, metresPerDegree: [1e5, 1e5] };
const metres = (places) => places.map(([longitude]) => Math.round(longitude * 1e5));

test("a bore's map opens with its first crossing, a little of what lies before it and what follows", () => {
  const data = { ...job, isOfBore: true, boreId: "b", bores: [bore("a", 90), bore("b", 200)] };
  const crossings = [crossing(0, 5, "overlap"), crossing(1, 50, "clear"), crossing(1, 120, "overlap")];
  assert.deepEqual(metres(stretchAhead({ ...data, crossings })), [42, 102]);
});

test("near an end the stretch keeps its length, and a shorter bore is shown whole", () => {
  const at = (lengthM, atM) => metres(stretchAhead({ ...job, bores: [bore("a", lengthM)], crossings: [crossing(0, atM, "clear")] }));
  assert.deepEqual(at(200, 3), [0, 60]);
  assert.deepEqual(at(200, 195), [140, 200]);
  assert.deepEqual(at(45, 30), [0, 45]);
});

test("a job's map opens with the first crossing that is not clear", () => {
  const crossings = [crossing(0, 30, "clear"), crossing(1, 80, "stale"), crossing(1, 20, "overlap")];
  const data = { ...job, bores: [bore("a", 100), bore("b", 150)], crossings };
  assert.deepEqual(metres(stretchAhead(data)), [72, 132]);
  assert.deepEqual(metres(stretchAhead({ ...data, crossings: crossings.slice(0, 1) })), [22, 82]);
});

test("without a crossing it is the entry, and without a bore nothing", () => {
  assert.deepEqual(metres(stretchAhead({ ...job, bores: [bore("a", 100)], crossings: [] })), [0, 60]);
  assert.deepEqual(stretchAhead({ ...job, bores: [], crossings: [], metresPerDegree: null }), []);
});

test("only a narrow view of a long bore is too small", () => {
  assert.equal(isTooSmall(390, 0.8), true);
  assert.equal(isTooSmall(390, 0.1), false);
  assert.equal(isTooSmall(900, 0.8), false);
});
