// @ts-check
// Where a place lies along an alignment, and how that is written: for the pointer on the map, not for figures.

/** @typedef {[number, number]} Place */

const METRES_PER_FOOT = 0.3048;

/**
 * The point of an alignment nearest to a place.
 * @param {Place[]} line
 * @param {number[]} stationsM of each vertex
 * @param {[number, number]} metresPerDegree
 * @param {Place} place
 * @returns {{stationM: number, offsetM: number}} the offset positive to the right, facing the exit
 */
export function nearestOn(line, stationsM, metresPerDegree, place) {
  const [perEast, perNorth] = metresPerDegree;
  const away = line.map(([longitude, latitude]) => [(longitude - place[0]) * perEast, (latitude - place[1]) * perNorth]);
  let best = { stationM: Number.NaN, offsetM: Number.POSITIVE_INFINITY };
  for (let index = 0; index + 1 < away.length; index += 1) {
    const [[east, north], [nextEast, nextNorth]] = [away[index], away[index + 1]];
    const [aheadEast, aheadNorth] = [nextEast - east, nextNorth - north];
    const square = aheadEast ** 2 + aheadNorth ** 2;
    const share = square === 0 ? 0 : Math.min(1, Math.max(0, -(east * aheadEast + north * aheadNorth) / square));
    const distance = Math.hypot(east + share * aheadEast, north + share * aheadNorth);
    if (distance < Math.abs(best.offsetM)) {
      // The place is the origin, so that the vertex seen from it is the place seen from the vertex turned round.
      const isRight = aheadEast * north - aheadNorth * east > 0;
      best = {
        stationM: stationsM[index] + share * (stationsM[index + 1] - stationsM[index]),
        offsetM: isRight ? distance : -distance,
      };
    }
  }
  return best;
}

/**
 * The part of an alignment between two of its stations.
 * @param {Place[]} line
 * @param {number[]} stationsM of each vertex
 * @param {number} fromM
 * @param {number} toM
 * @returns {Place[]}
 */
export function stretchOf(line, stationsM, fromM, toM) {
  const at = (/** @type {number} */ stationM) => {
    const next = Math.max(1, stationsM.findIndex((vertexM) => vertexM >= stationM));
    const [from, to] = [line[next - 1], line[next]];
    const share = (stationM - stationsM[next - 1]) / (stationsM[next] - stationsM[next - 1]);
    return /** @type {Place} */ ([from[0] + share * (to[0] - from[0]), from[1] + share * (to[1] - from[1])]);
  };
  const between = line.filter((_, index) => stationsM[index] > fromM && stationsM[index] < toM);
  return [at(fromM), ...between, at(toM)];
}

/**
 * A station as the job writes it: 1+45.2 in feet, 0+044.3 in metres.
 * @param {number} stationM
 * @param {string} showUnits
 * @returns {string}
 */
export function stationText(stationM, showUnits) {
  const inFeet = showUnits === "feet";
  const tenths = Math.floor((Math.abs(stationM) + 1e-9) / (inFeet ? METRES_PER_FOOT / 10 : 0.1) + 0.5);
  const perLong = inFeet ? 1000 : 10000;
  const short = ((tenths % perLong) / 10).toFixed(1).padStart(inFeet ? 4 : 5, "0");
  return `${stationM < 0 && tenths > 0 ? "\u2212" : ""}${Math.floor(tenths / perLong)}+${short}`;
}

/**
 * A distance to a tenth of a foot or of a metre.
 * @param {number} lengthM
 * @param {string} showUnits
 * @returns {string}
 */
export function roughLength(lengthM, showUnits) {
  return showUnits === "feet" ? `${(lengthM / METRES_PER_FOOT).toFixed(1)} ft` : `${lengthM.toFixed(1)} m`;
}

/**
 * A place in degrees, to a centimetre.
 * @param {Place} place
 * @returns {string}
 */
export function coordinatesText([longitude, latitude]) {
  const turned = ((((longitude + 180) % 360) + 360) % 360) - 180;
  return `${latitude.toFixed(7)}, ${turned.toFixed(7)}`;
}
