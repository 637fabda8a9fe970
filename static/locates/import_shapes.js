// @ts-check
// GeoJSON geometries of one file, sorted by what they are drawn as.

/** @typedef {[number, number]} Place */
/** @typedef {{type: string, coordinates: any}} Geometry */

/**
 * @param {Geometry[]} geometries points, lines and polygons
 * @returns {{points: Place[], lines: Place[][], areas: Place[][][], places: Place[]}} places: all of them, to fit
 */
export function sorted(geometries) {
  const of = (/** @type {string} */ type) => geometries.filter((one) => one.type === type).map((one) => one.coordinates);
  const [points, lines, areas] = [of("Point"), of("LineString"), of("Polygon")];
  return { points, lines, areas, places: [...points, ...lines.flat(), ...areas.flat(2)] };
}
