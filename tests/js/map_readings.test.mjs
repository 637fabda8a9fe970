// Stations, lengths, scale bars and fixes as the map shows them.

import assert from "node:assert/strict";
import test from "node:test";

import { coordinatesText, nearestOn, roughLength, stationText, stretchOf } from "../../static/base/along.js";
import { fixText } from "../../static/base/map_locate.js";
import { roundLength, scaleBars } from "../../static/base/map_scale.js";
import { placeText } from "../../static/base/map_tools.js";

// A metre to a hundred-thousandth of a degree makes the figures readable.
const METRES_PER_DEGREE = [100000, 100000];
const LINE = [[0, 0], [0.0005, 0], [0.0005, 0.0005]];
const STATIONS_M = [0, 50, 100];

test("a place beside an alignment has the station of the nearest point, and its side facing the exit", () => {
  const right = nearestOn(LINE, STATIONS_M, METRES_PER_DEGREE, [0.0002, -0.00003]);
  assert.ok(Math.abs(right.stationM - 20) < 1e-9);
  assert.ok(Math.abs(right.offsetM - 3) < 1e-9);
  const left = nearestOn(LINE, STATIONS_M, METRES_PER_DEGREE, [0.00046, 0.0003]);
  assert.ok(Math.abs(left.stationM - 80) < 1e-9);
  assert.ok(Math.abs(left.offsetM + 4) < 1e-9);
});

test("before the entry the station is that of the entry", () => {
  const found = nearestOn(LINE, STATIONS_M, METRES_PER_DEGREE, [-0.0001, 0]);
  assert.equal(found.stationM, 0);
  assert.ok(Math.abs(Math.abs(found.offsetM) - 10) < 1e-9);
});

test("a stretch runs from station to station through the vertices between", () => {
  const near = (found, wanted) =>
    assert.ok(found.length === wanted.length && found.flat().every((degrees, index) => Math.abs(degrees - wanted.flat()[index]) < 1e-12), `${found}`);
  near(stretchOf(LINE, STATIONS_M, 20, 80), [[0.0002, 0], [0.0005, 0], [0.0005, 0.0003]]);
  near(stretchOf(LINE, STATIONS_M, 0, 100), LINE);
  near(stretchOf(LINE, STATIONS_M, 60, 70), [[0.0005, 0.0001], [0.0005, 0.0002]]);
});

// The cases of tests/locates/test_units.py and of the docstring there.
test("stations are written as the pages write them", () => {
  assert.equal(stationText(145.2 * 0.3048, "feet"), "1+45.2");
  assert.equal(stationText(44.3, "metric"), "0+044.3");
  assert.equal(stationText(0, "feet"), "0+00.0");
  assert.equal(stationText(99.97 * 0.3048, "feet"), "1+00.0");
  assert.equal(stationText(1234.56, "metric"), "1+234.6");
  assert.equal(stationText(-3.048, "feet"), "\u22120+10.0");
});

test("lengths and coordinates carry what they are", () => {
  assert.equal(roughLength(3.048, "feet"), "10.0 ft");
  assert.equal(roughLength(3.04, "metric"), "3.0 m");
  assert.equal(coordinatesText([181, -45]), "-45.0000000, -179.0000000");
});

test("a place near a bore is told by station and offset, one far off by coordinates alone", () => {
  const bores = [{ name: "Main", line: LINE, stations_m: STATIONS_M }];
  assert.equal(
    placeText([0.0002, -0.00003], bores, METRES_PER_DEGREE, "metric"),
    "-0.0000300, 0.0002000 (WGS 84); Main, station 0+020.0, 3.0 m right",
  );
  assert.equal(placeText([0.01, 0], bores, METRES_PER_DEGREE, "metric"), "0.0000000, 0.0100000 (WGS 84)");
  assert.equal(placeText([0.01, 0], [], METRES_PER_DEGREE, "metric"), "0.0000000, 0.0100000 (WGS 84)");
});

test("a scale bar is of a round length, true in feet and in metres, and fits its room", () => {
  assert.deepEqual([0.7, 1, 4.9, 5, 99, 2000].map(roundLength).map((length) => Number(length.toPrecision(3))), [0.5, 1, 2, 5, 50, 2000]);
  for (const metresPerPixel of [0.008, 0.07, 0.31, 12]) {
    const { feet, metres } = scaleBars(metresPerPixel, 130);
    assert.ok(Math.abs(feet.px * metresPerPixel - feet.length * 0.3048) < 1e-9);
    assert.ok(Math.abs(metres.px * metresPerPixel - metres.length) < 1e-9);
    assert.ok(feet.px <= 130.0001 && metres.px <= 130.0001 && feet.px > 50 && metres.px > 50);
  }
});

test("a fix tells its accuracy and its age, and an old one that it is old", () => {
  assert.equal(fixText(4.9, 12.4, "feet"), "You are within 16.1 ft of the dot, as of 12 s ago.");
  assert.match(fixText(4.9, 31, "metric"), /^You are within 4\.9 m .* 31 s ago\. That is old/);
  assert.match(fixText(4.9, 150, "metric"), /2 min ago/);
});
