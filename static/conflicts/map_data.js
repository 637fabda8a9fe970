// @ts-check
// Reads the map's document: tables of rows, coordinates as steps of whole hundred-millionths of a degree.

/** @typedef {[number, number]} Place */

const UNITS_PER_DEGREE = 1e8;

/**
 * The places that steps lead to.
 * @param {number[]} steps east and north, in turn, each from the place before
 * @param {number[]} origin of the first step
 * @returns {Place[]}
 */
export function placesOf(steps, origin) {
  /** @type {Place[]} */
  const places = [];
  let [east, north] = origin;
  for (let index = 0; index < steps.length; index += 2) {
    east += steps[index];
    north += steps[index + 1];
    places.push([east / UNITS_PER_DEGREE, north / UNITS_PER_DEGREE]);
  }
  return places;
}

/**
 * The rows of a table as objects.
 * @param {{columns: string[], rows: any[][]}} table
 * @returns {Record<string, any>[]}
 */
export function records(table) {
  return table.rows.map((row) => Object.fromEntries(table.columns.map((name, index) => [name, row[index]])));
}

const TABLES = ["marks", "test_holes", "surface_features", "tickets", "linework", "bores", "pits", "crossings", "uncovered", "drilled", "drilled_crossings"];
const NO_ROWS = { columns: [], rows: [] };

/**
 * The document with places instead of steps; where nothing could be drawn, all lists are empty.
 * @param {Record<string, any>} document
 */
export function mapOf(document) {
  const source = { ...Object.fromEntries(TABLES.map((name) => [name, NO_ROWS])), ...document };
  const line = (/** @type {number[]} */ steps) => placesOf(steps, source.origin);
  const rings = (/** @type {number[][]} */ parts) => parts.map(line);
  const at = (/** @type {number[]} */ steps) => line(steps)[0];
  return {
    isEmpty: source.origin === null,
    isOfBore: source.bore !== null,
    boreId: source.bore,
    job: source.job,
    showUnits: source.show_units,
    tolerance: source.tolerance,
    metresPerDegree: source.metres_per_degree ?? null,
    facilities: source.facilities.map(([kind, letter, name]) => ({ kind, letter, name })),
    marks: records(source.marks).map((mark) => ({
      ...mark,
      painted: line(mark.painted),
      found: rings(mark.found),
      zone: mark.zone && rings(mark.zone),
    })),
    testHoles: records(source.test_holes).map((hole) => ({ ...hole, at: at(hole.at) })),
    features: records(source.surface_features).map((feature) => ({ ...feature, at: at(feature.at) })),
    tickets: records(source.tickets).map((ticket) => ({ ...ticket, area: rings(ticket.area) })),
    linework: records(source.linework).map((piece) => ({ ...piece, parts: rings(piece.parts) })),
    bores: records(source.bores).map((bore) => ({ ...bore, line: line(bore.line), ticks: rings(bore.ticks) })),
    pits: records(source.pits).map((pit) => ({ ...pit, area: rings(pit.area) })),
    uncovered: records(source.uncovered).map((stretch) => ({ ...stretch, line: line(stretch.line) })),
    drilled: records(source.drilled).map((path) => ({ ...path, line: line(path.line), band: path.band && rings(path.band) })),
    drilledCrossings: records(source.drilled_crossings).map((crossing) => ({ ...crossing, at: at(crossing.at) })),
    crossings: records(source.crossings).map((crossing) => ({ ...crossing, at: at(crossing.at) })),
  };
}
