// The map's document as the browser reads it.

import assert from "node:assert/strict";
import test from "node:test";

import { mapOf, placesOf, records } from "../../static/conflicts/map_data.js";
import { refusalWords } from "../../static/conflicts/map_loading.js";
import { cardOf, severity, symbolsOf } from "../../static/conflicts/map_symbols.js";

const ORIGIN = [-7850000000, 3800000000];
const SQUARE = [[0, 0, 1000, 0, 0, 1000, -1000, 0, 0, -1000]];

const table = (columns, ...rows) => ({ columns: columns.split(" "), rows });
const documentOf = (more = {}) => ({
  job: "Alder Street",
  bore: "b1",
  show_units: "feet",
  origin: ORIGIN,
  metres_per_degree: [87832, 110996],
  tolerance: "2 ft either side",
  facilities: [["gas_oil_steam", "G", "gas/oil/steam"]],
  marks: table(
    "ref operator facility words depth_known painted found zone",
    ["M1", "Brindle", 0, "depth unknown", false, [0, 0, 5, 7], [], SQUARE],
    ["M2", "Brindle", 0, "depth unknown", false, [9, 9], [], null],
  ),
  test_holes: table("ref found open label words at", ["H1", true, null, "3 ft 0 in", "top of M1", [1, 2]], ["H2", false, true, "none", "M1 not found", [3, 4]]),
  surface_features: table("ref facility explained words at", ["S1", 0, false, "valve; explained by no mark", [5, 5]]),
  tickets: table("number in_force words area", ["T1", false, "not in force", SQUARE]),
  linework: table("feature_type label is_area parts", ["curb", "", false, [[0, 0, 1, 1]]]),
  bores: table("id name address words no_crossings_because stations_m line tick_labels ticks", ["b1", "Main", "/bores/b1/", "100 ft", "", [0, 30], [0, 0, 100, 0], ["0+00"], [[0, 0, 0, 10]]]),
  pits: table("bore words area", ["Main", "entry pit", SQUARE]),
  crossings: table("bore sequence verdict words address mark at", [0, 0, "short", "Brindle M1 at station 0+50", "/bores/b1/crossings/0/", 0, [50, 0]]),
  ...more,
});

test("steps add up from the origin, in hundred-millionths of a degree", () => {
  assert.deepEqual(placesOf([100, -200, 1, 2], ORIGIN), [
    [-78.499999, 37.999998],
    [-78.49999899, 37.99999802],
  ]);
  assert.deepEqual(placesOf([], ORIGIN), []);
});

test("a row is an object under the names of the columns", () => {
  assert.deepEqual(records({ columns: ["ref", "open"], rows: [["H1", null]] }), [{ ref: "H1", open: null }]);
});

test("the map of a job with nothing to draw is empty", () => {
  const map = mapOf({ job: "New", bore: null, show_units: "feet", tolerance: "", facilities: [], origin: null });
  assert.equal(map.isEmpty, true);
  assert.deepEqual([map.marks, map.bores, map.crossings], [[], [], []]);
  assert.equal(mapOf(documentOf()).isEmpty, false);
});

test("a zone of unknown width stays unknown, and a mark of one point is one place", () => {
  const map = mapOf(documentOf());
  assert.equal(map.marks[0].zone[0].length, 5);
  assert.equal(map.marks[1].zone, null);
  assert.equal(map.marks[1].painted.length, 1);
});

test("crossings of a bore's own map carry their sequence, those of a job's map none", () => {
  const [own] = symbolsOf(mapOf(documentOf()));
  assert.equal(own.sequence, 0);
  assert.equal(own.shape, "verdict-short");
  assert.equal(own.address, "/bores/b1/crossings/0/");
  const [ofJob] = symbolsOf(mapOf(documentOf({ bore: null })));
  assert.equal(ofJob.sequence, null);
  assert.match(ofJob.name, /^short: Main, Brindle M1/);
});

test("a crossing as drilled has its verdict's shape, a mark of its own, and leads to where it is acted upon", () => {
  const drilled_crossings = table(
    "bore verdict alone words address mark at",
    [0, "overlap", true, "Brindle M1 at station 0+60; the plan does not meet it", "/bores/b1/#as-drilled-1", 0, [60, 0]],
    [0, "clear", false, "Brindle M1 at station 0+50", "/bores/b1/#crossing-1", 0, [50, 0]],
  );
  const symbols = symbolsOf(mapOf(documentOf({ drilled_crossings })));
  const drilled = symbols.filter((symbol) => symbol.layer === "drilled_crossings");
  assert.deepEqual(drilled.map((symbol) => [symbol.shape, symbol.isDrilled, symbol.label, symbol.sequence]), [
    ["verdict-overlap", true, "as drilled", null],
    ["verdict-clear", true, "as drilled", null],
  ]);
  assert.match(drilled[0].name, /^as drilled, overlap: Brindle M1/);
  assert.deepEqual(cardOf(drilled[0]), { heading: "As drilled, overlap", words: "Brindle M1 at station 0+60; the plan does not meet it." });
  assert.deepEqual(drilled.map(severity), [5, 1]);
  assert.equal(drilled[0].linkWords, "What to do about this line");
  const [ofJob] = symbolsOf(mapOf(documentOf({ bore: null, drilled_crossings }))).filter((symbol) => symbol.isDrilled);
  assert.match(ofJob.name, /^as drilled, overlap: Main, Brindle M1/);
});

test("every symbol says by its shape what it is, and by a question mark what is not known", () => {
  const symbols = new Map(symbolsOf(mapOf(documentOf())).map((symbol) => [symbol.key, symbol]));
  assert.equal(symbols.get("hole-H1").shape, "hole-unknown");
  assert.equal(symbols.get("hole-H2").shape, "hole-missed");
  assert.equal(symbols.get("feature-S1").letter, "G?");
  assert.equal(symbols.get("mark-M2").letter, "G?");
  assert.equal(symbols.get("ticket-T1").shape, "ticket-not-in-force");
  for (const symbol of symbols.values()) assert.ok(symbol.name.includes(": ") && symbol.words.endsWith("."), symbol.key);
});

test("an answer without data is told in words", () => {
  assert.match(refusalWords({ redirected: true, status: 200 }), /login has ended/);
  assert.match(refusalWords({ redirected: false, status: 403 }), /may not see/);
  assert.match(refusalWords({ redirected: false, status: 404 }), /no longer there/);
  assert.match(refusalWords({ redirected: false, status: 502 }), /answer 502/);
});
