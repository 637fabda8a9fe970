// @ts-check
// The instruments round the map: buttons that move it, the scale bar and the coordinates.

import { coordinatesText, nearestOn, roughLength, stationText } from "./along.js";
import { scaleBars } from "./map_scale.js";
import { svg } from "./svg.js";

/** @typedef {import("./map.js").SiteMap} SiteMap */
/** @typedef {import("./map.js").Place} Place */

const BAR_PX = 130;
const BAR_PARTS = 4;
const PAN_SHARE = 0.3;
const NEAR_M = 30; // beyond, a station says nothing about a place

/**
 * Buttons with data-map-do: zoom-in, zoom-out, up, down, left, right.
 * @param {HTMLElement} section
 * @param {SiteMap} map
 */
export function moveByButtons(section, map) {
  const moves = {
    "zoom-in": () => map.zoomBy(1),
    "zoom-out": () => map.zoomBy(-1),
    up: () => map.panBy(0, -PAN_SHARE),
    down: () => map.panBy(0, PAN_SHARE),
    left: () => map.panBy(-PAN_SHARE, 0),
    right: () => map.panBy(PAN_SHARE, 0),
  };
  for (const button of section.querySelectorAll("[data-map-do]")) {
    const move = moves[/** @type {HTMLElement} */ (button).dataset.mapDo ?? ""];
    if (move) button.addEventListener("click", move);
  }
}

/**
 * Keeps the scale bar true: feet above the line, metres below it.
 * @param {HTMLElement} place
 * @param {SiteMap} map
 */
export function keepScale(place, map) {
  const draw = () => {
    const bars = scaleBars(map.metresPerPixel, BAR_PX);
    const width = Math.max(bars.feet.px, bars.metres.px) + 44;
    const name = `Scale bar: ${bars.feet.length} feet, ${bars.metres.length} metres`;
    place.replaceChildren(
      svg("svg", { role: "img", "aria-label": name, width, height: 48 }, [
        ...bar(bars.feet.px, 18, `${bars.feet.length} ft`, 13),
        ...bar(bars.metres.px, 25, `${bars.metres.length} m`, 44),
      ]),
    );
  };
  map.on("moveend", draw);
  draw();
}

/** A bar in alternate blocks with its length. @param {number} px @param {number} top @param {string} text @param {number} base */
function bar(px, top, text, base) {
  const part = px / BAR_PARTS;
  const blocks = Array.from({ length: BAR_PARTS }, (_, index) =>
    svg("rect", { class: index % 2 ? "scale-light" : "scale-dark", x: 1 + index * part, y: top, width: part, height: 6 }),
  );
  return [...blocks, svg("text", { class: "scale-words", x: px + 1, y: base, "text-anchor": "end" }, [text])];
}

/**
 * Where a place is, in degrees and, beside a bore, by station.
 * @param {Place} place
 * @param {{name: string, line: Place[], stations_m: number[]}[]} bores
 * @param {[number, number] | null} metresPerDegree null: there is no bore either
 * @param {string} showUnits
 * @returns {string}
 */
export function placeText(place, bores, metresPerDegree, showUnits) {
  const found = bores.map((bore) => ({ name: bore.name, ...nearestOn(bore.line, bore.stations_m, metresPerDegree, place) }));
  const nearest = found.reduce((best, one) => (!best || Math.abs(one.offsetM) < Math.abs(best.offsetM) ? one : best), found[0]);
  const degrees = `${coordinatesText(place)} (WGS 84)`;
  if (!nearest || Math.abs(nearest.offsetM) > NEAR_M) return degrees;
  const side = nearest.offsetM < 0 ? "left" : "right";
  const offset = `${roughLength(Math.abs(nearest.offsetM), showUnits)} ${side}`;
  return `${degrees}; ${nearest.name}, station ${stationText(nearest.stationM, showUnits)}, ${offset}`;
}

/**
 * Shows the coordinates under the pointer, else those of the middle.
 * @param {HTMLElement} words
 * @param {SiteMap} map
 * @param {(place: Place) => string} textOf
 */
export function keepCoordinates(words, map, textOf) {
  const show = (/** @type {string} */ what, /** @type {Place} */ place) => {
    words.textContent = `${what}: ${textOf(place)}`;
  };
  const middle = () => show("Middle of the map", map.centre);
  map.on("moveend", middle);
  map.on("mouseout", middle);
  map.on("mousemove", (place) => show("Pointer", place));
  middle();
}
