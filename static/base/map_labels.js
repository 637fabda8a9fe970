// @ts-check
// Where letters and words go on the map, so that none lies on another.

/** @typedef {{x: number, y: number}} Point */

/** @typedef {{left: number, top: number, right: number, bottom: number}} Box */

/** The boxes that are taken already. */
export class Board {
  /** @param {Box[]} [taken] */
  constructor(taken = []) {
    this.taken = [...taken];
  }

  /**
   * Takes a box about a point, unless another lies in it.
   * @param {number} x
   * @param {number} y
   * @param {number} width
   * @param {number} height
   * @returns {boolean}
   */
  take(x, y, width, height) {
    const box = boxAbout(x, y, width, height);
    const isFree = this.taken.every(
      (other) => other.right <= box.left || other.left >= box.right || other.bottom <= box.top || other.top >= box.bottom,
    );
    if (isFree) this.taken.push(box);
    return isFree;
  }

  /** Takes a box whatever lies in it. @param {number} x @param {number} y @param {number} width @param {number} height */
  cover(x, y, width, height) {
    this.taken.push(boxAbout(x, y, width, height));
  }
}

/** @param {number} x @param {number} y @param {number} width @param {number} height @returns {Box} */
function boxAbout(x, y, width, height) {
  return { left: x - width / 2, top: y - height / 2, right: x + width / 2, bottom: y + height / 2 };
}

/**
 * The edges of a box, so that nothing is half in and half out of it.
 * @param {Box} box
 * @returns {Box[]}
 */
export function edgesOf({ left, top, right, bottom }) {
  return [
    { left, top, right, bottom: top },
    { left, top: bottom, right, bottom },
    { left, top, right: left, bottom },
    { left: right, top, right, bottom },
  ];
}

/**
 * Length of a polyline.
 * @param {Point[]} line
 * @returns {number}
 */
export function lengthOf(line) {
  return line.slice(1).reduce((sum, to, index) => sum + Math.hypot(to.x - line[index].x, to.y - line[index].y), 0);
}

/**
 * Places along a line at equal distances, each with the angle that reads upright.
 * @param {Point[]} line
 * @param {number} spacing
 * @param {number} [first] distance of the first from the line's beginning
 * @returns {{x: number, y: number, angleDeg: number}[]}
 */
export function placesAlong(line, spacing, first = spacing / 2) {
  const found = [];
  let next = first;
  let before = 0;
  for (let index = 0; index + 1 < line.length; index += 1) {
    const [from, to] = [line[index], line[index + 1]];
    const length = Math.hypot(to.x - from.x, to.y - from.y);
    const angleDeg = uprightDeg((Math.atan2(to.y - from.y, to.x - from.x) * 180) / Math.PI);
    for (; next <= before + length; next += spacing) {
      const share = (next - before) / length;
      found.push({ x: from.x + share * (to.x - from.x), y: from.y + share * (to.y - from.y), angleDeg });
    }
    before += length;
  }
  return found;
}

/**
 * An angle turned by half a circle where words along it would stand on their heads.
 * @param {number} angleDeg
 * @returns {number}
 */
export function uprightDeg(angleDeg) {
  if (angleDeg > 90) return angleDeg - 180;
  return angleDeg <= -90 ? angleDeg + 180 : angleDeg;
}

/**
 * The part of a polyline inside a rectangle, as pieces.
 * @param {Point[]} line
 * @param {number} width
 * @param {number} height
 * @returns {Point[][]}
 */
export function clipped(line, width, height) {
  /** @type {Point[][]} */
  const pieces = [];
  for (let index = 0; index + 1 < line.length; index += 1) {
    const part = clippedSegment(line[index], line[index + 1], width, height);
    if (!part) continue;
    const last = pieces.at(-1)?.at(-1);
    if (last && last.x === part[0].x && last.y === part[0].y) pieces.at(-1)?.push(part[1]);
    else pieces.push(part);
  }
  return pieces;
}

/** Liang and Barsky, ACM Transactions on Graphics 3 (1984). @param {Point} from @param {Point} to @param {number} width @param {number} height @returns {[Point, Point] | null} */
function clippedSegment(from, to, width, height) {
  const [dx, dy] = [to.x - from.x, to.y - from.y];
  let [low, high] = [0, 1];
  for (const [step, room] of [[-dx, from.x], [dx, width - from.x], [-dy, from.y], [dy, height - from.y]]) {
    if (step === 0 && room < 0) return null;
    if (step < 0) low = Math.max(low, room / step);
    if (step > 0) high = Math.min(high, room / step);
  }
  if (low > high) return null;
  const at = (/** @type {number} */ share) => ({ x: from.x + share * dx, y: from.y + share * dy });
  return [low === 0 ? from : at(low), high === 1 ? to : at(high)];
}

/**
 * How far a point lies from a polyline.
 * @param {Point} point
 * @param {Point[]} line
 * @returns {number}
 */
export function distanceTo(point, line) {
  let best = line.length ? Math.hypot(line[0].x - point.x, line[0].y - point.y) : Number.POSITIVE_INFINITY;
  for (let index = 0; index + 1 < line.length; index += 1) {
    const [from, to] = [line[index], line[index + 1]];
    const square = (to.x - from.x) ** 2 + (to.y - from.y) ** 2;
    const along = (point.x - from.x) * (to.x - from.x) + (point.y - from.y) * (to.y - from.y);
    const share = square === 0 ? 0 : Math.min(1, Math.max(0, along / square));
    best = Math.min(best, Math.hypot(from.x + share * (to.x - from.x) - point.x, from.y + share * (to.y - from.y) - point.y));
  }
  return best;
}
