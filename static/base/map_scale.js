// @ts-check
// How long the scale bar is: round lengths in feet and in metres that fit into the room there is.

const METRES_PER_FOOT = 0.3048;

/**
 * The greatest of 1, 2 or 5 times a power of ten that is not above a number.
 * @param {number} most
 * @returns {number}
 */
export function roundLength(most) {
  const power = 10 ** Math.floor(Math.log10(most));
  const digit = most / power;
  return (digit >= 5 ? 5 : digit >= 2 ? 2 : 1) * power;
}

/**
 * A bar for each system.
 * @param {number} metresPerPixel
 * @param {number} mostPx
 * @returns {{feet: {length: number, px: number}, metres: {length: number, px: number}}}
 */
export function scaleBars(metresPerPixel, mostPx) {
  const bar = (/** @type {number} */ unitM) => {
    const length = roundLength((mostPx * metresPerPixel) / unitM);
    return { length, px: (length * unitM) / metresPerPixel };
  };
  return { feet: bar(METRES_PER_FOOT), metres: bar(1) };
}
