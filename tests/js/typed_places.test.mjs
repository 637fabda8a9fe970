// Positions of a form's box, and fixes of a phone that stand in it.

import assert from "node:assert/strict";
import test from "node:test";

import { errorText, fixLine, fixOf, isSurer, readFixes, standing } from "../../static/locates/fixes.js";
import { cornersFor, drawnPlaces, placesOf, placesText } from "../../static/locates/typed_places.js";

const A = [-78.5, 38];
const B = [-78.49, 38.001];
const C = [-78.49, 38.002];

test("places are written latitude first and read back", () => {
  assert.equal(placesText([A, B]), "38.00000000, -78.50000000\n38.00100000, -78.49000000");
  assert.deepEqual(placesOf(` ${placesText([A, B])}\n\n`), [A, B]);
  assert.deepEqual(placesOf(""), []);
});

test("what only the server reads is left to it", () => {
  assert.equal(placesOf('{"type": "Point"}'), null);
  assert.equal(placesOf("38.0 N, 78.5 W"), null);
});

test("an area is drawn on from its open ring, a point only from a point", () => {
  assert.deepEqual(cornersFor("area", [A, B, C, A]), [A, B, C]);
  assert.deepEqual(cornersFor("line", [A, B]), [A, B]);
  assert.deepEqual(cornersFor("point", [A, B]), []);
  assert.deepEqual(cornersFor("point", [A]), [A]);
  assert.deepEqual(cornersFor("area", []), []);
});

test("what was drawn comes as places, whatever it is", () => {
  assert.deepEqual(drawnPlaces(A), [A]);
  assert.deepEqual(drawnPlaces([A, B]), [A, B]);
  assert.deepEqual(drawnPlaces([[A, B, C, A]]), [A, B, C, A]);
});

test("a fix stands in the box as long as nobody writes over it", () => {
  const [first, second] = [fixOf(...A, 3), fixOf(...B, 8)];
  assert.equal(fixLine(first), placesText([A]));
  assert.deepEqual(standing([first, second], `${fixLine(second)}\n38.1, -78.1`), [second]);
  assert.deepEqual(readFixes(""), []);
  assert.deepEqual(readFixes(JSON.stringify([first])), [first]);
});

test("what a record may be off by is the worst fix and the paint, rounded up in the units of the job", () => {
  const fixes = [fixOf(...A, 3), fixOf(...B, 3.2)];
  assert.equal(errorText(fixes, 0, "feet"), "10.5 ft");
  assert.equal(errorText(fixes, 0.6096, "feet"), "12.5 ft");
  assert.equal(errorText(fixes, 0, "metric"), "3.21 m");
  assert.equal(errorText([], 0.6096, "feet"), "");
});

test("a surer fix takes the place of the one before", () => {
  assert.ok(isSurer(null, fixOf(...A, 9)));
  assert.ok(isSurer(fixOf(...A, 9), fixOf(...B, 9)));
  assert.ok(!isSurer(fixOf(...A, 3), fixOf(...B, 9)));
});
