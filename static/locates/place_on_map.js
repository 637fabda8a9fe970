// @ts-check
// A place drawn on the map, and the place in the form's box shown on it.

import { drawArea, drawLine, placePoint } from "../base/map.js";
import { svg } from "../base/svg.js";
import { whenMap } from "../conflicts/job_map.js";
import { cornersFor, drawnPlaces, placesOf, placesText } from "./typed_places.js";

const DRAW = { point: placePoint, line: drawLine, area: drawArea };
const RADIUS_PX = 6;

/** @param {HTMLElement} place the part of the form that says where */
async function start(place) {
  const section = place.querySelector("[data-map-url]");
  const map = section && (await whenMap(section));
  if (!map) return;
  const box = /** @type {HTMLTextAreaElement} */ (document.getElementById(place.dataset.shape ?? ""));
  const buttons = /** @type {HTMLButtonElement[]} */ ([...place.querySelectorAll("[data-draw]")]);
  const status = /** @type {HTMLElement} */ (place.querySelector(".draw-status"));
  let isDrawing = false;
  const shown = map.overlay((frame, _size, point) => {
    const points = isDrawing ? [] : (placesOf(box.value) ?? []).map(point);
    const corners = points.map(({ x, y }) => svg("circle", { class: "placed-point", cx: x, cy: y, r: RADIUS_PX }));
    const path = points.map(({ x, y }) => `${x.toFixed(1)},${y.toFixed(1)}`).join(" ");
    frame.replaceChildren(...(points.length > 1 ? [svg("polyline", { class: "placed-line", points: path })] : []), ...corners);
  });
  const turn = (/** @type {boolean} */ drawing) => {
    isDrawing = drawing;
    for (const button of buttons) button.disabled = drawing;
    shown.redraw();
  };
  for (const button of buttons) {
    const kind = /** @type {keyof typeof DRAW} */ (button.dataset.draw);
    button.addEventListener("click", () => {
      const before = placesOf(box.value) ?? [];
      status.textContent = "";
      const done = (/** @type {any} */ coordinates) => {
        if (coordinates !== null) {
          box.value = placesText(drawnPlaces(coordinates));
          box.dispatchEvent(new Event("input", { bubbles: true }));
          status.textContent = "Drawn. It stands as positions in the box above.";
        }
        turn(false);
      };
      turn(true);
      DRAW[kind](map, done, cornersFor(kind, before));
      place.querySelector(".map-stage")?.scrollIntoView({ block: "nearest" });
    });
  }
  box.addEventListener("input", () => shown.redraw());
  const there = placesOf(box.value);
  if (there && there.length > 1) map.fit(there);
  else if (there?.length) map.centreOn(there[0]);
  /** @type {HTMLElement} */ (place.querySelector(".draw-buttons")).hidden = false;
  shown.redraw();
}

/** A map that is seldom needed shows once it is asked for. @param {HTMLElement} place */
function fold(place) {
  const part = /** @type {HTMLElement | null} */ (place.querySelector("[data-folded]"));
  const show = /** @type {HTMLElement} */ (place.querySelector("[data-map-show]"));
  if (!part) return;
  const turn = (/** @type {boolean} */ isShown) => {
    part.hidden = !isShown;
    show.setAttribute("aria-expanded", String(isShown));
    show.textContent = isShown ? "Hide the map" : "Show the map";
  };
  show.addEventListener("click", () => turn(part.hidden));
  show.hidden = false;
  turn(false);
}

for (const place of document.querySelectorAll(".place")) fold(/** @type {HTMLElement} */ (place));
for (const place of document.querySelectorAll(".place")) void start(/** @type {HTMLElement} */ (place));
