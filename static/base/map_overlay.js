// @ts-check
// A drawing over the map that keeps its size on the screen: symbols, letters, what is being drawn.

import { svg } from "./svg.js";

/** @typedef {{x: number, y: number}} Point */
/** @typedef {(frame: Element, size: {width: number, height: number, margin: Point}, point: (place: [number, number]) => Point) => void} Draw */

const MARGIN_RATIO = 0.25; // drawn beyond the view on every side, so that a drag shows no bare edge

/**
 * Draws anew whenever the view has changed; while it zooms, nothing is shown.
 * @param {any} map Leaflet's
 * @param {Draw} draw
 * @returns {{redraw: () => void, remove: () => void}}
 */
export function overlayOn(map, draw) {
  const frame = svg("svg", { class: "map-overlay leaflet-zoom-hide" });
  map.getPane("markerPane").append(frame);
  const redraw = () => {
    const view = map.getSize();
    const margin = view.multiplyBy(MARGIN_RATIO).round();
    const size = { width: view.x + 2 * margin.x, height: view.y + 2 * margin.y, margin };
    frame.setAttribute("width", String(size.width));
    frame.setAttribute("height", String(size.height));
    const corner = map.containerPointToLayerPoint(margin.multiplyBy(-1));
    frame.style.transform = `translate(${corner.x}px, ${corner.y}px)`;
    draw(frame, size, ([longitude, latitude]) => map.latLngToContainerPoint([latitude, longitude]).add(margin));
  };
  const remove = () => {
    map.off("moveend", redraw);
    frame.remove();
  };
  map.on("moveend", redraw);
  return { redraw, remove };
}
