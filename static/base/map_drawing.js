// @ts-check
// Drawing on the map: a point, a line or an area, by mouse, touch or keyboard, each corner taken back at will.
// A tap adds a corner; the keyboard moves the map under the cross and adds one there with Enter.

import { svg } from "./svg.js";
import { coordinatesOf, isComplete, progress, withCorner } from "./vertices.js";

/** @typedef {import("./map.js").SiteMap} SiteMap */
/** @typedef {import("./vertices.js").Place} Place */
/** @typedef {import("./vertices.js").Kind} Kind */
/** @typedef {(coordinates: ReturnType<typeof coordinatesOf> | null) => void} OnDone null: it was given up */
/** @typedef {{addAtCentre: () => void, undo: () => void, finish: () => void, cancel: () => void}} Drawing */

const SAME_PX = 5; // the second tap of a double tap is no new corner
const NAMES = { point: "a point", line: "a line", area: "an area" };

/** @param {SiteMap} map @param {OnDone} onDone @param {Place[]} [from] @returns {Drawing} */
export const drawLine = (map, onDone, from = []) => draw("line", map, onDone, from);

/** @param {SiteMap} map @param {OnDone} onDone @param {Place[]} [from] @returns {Drawing} */
export const placePoint = (map, onDone, from = []) => draw("point", map, onDone, from);

/** @param {SiteMap} map @param {OnDone} onDone @param {Place[]} [from] corners without the closing one @returns {Drawing} */
export const drawArea = (map, onDone, from = []) => draw("area", map, onDone, from);

/**
 * @param {Kind} kind
 * @param {SiteMap} map
 * @param {OnDone} onDone
 * @param {Place[]} from corners to go on from
 * @returns {Drawing}
 */
function draw(kind, map, onDone, from) {
  let places = from;
  const status = paragraph();
  const frame = { redraw: () => {}, remove: () => {} };
  const change = (/** @type {Place[]} */ next) => {
    places = next;
    status.textContent = progress(kind, places);
    doneButton.disabled = !isComplete(kind, places);
    undoButton.disabled = places.length === 0;
    frame.redraw();
  };
  const add = (/** @type {Place} */ place) => change(withCorner(kind, places, place));
  const undo = () => change(places.slice(0, -1));
  const end = (/** @type {boolean} */ isDone) => {
    for (const stop of stops) stop();
    frame.remove();
    bar.remove();
    map.isDrawn = false;
    map.view.focus({ preventScroll: true });
    onDone(isDone ? coordinatesOf(kind, places) : null);
  };
  const finish = () => isComplete(kind, places) && end(true);
  const cancel = () => end(false);
  const addButton = button("Add a point at the cross", () => add(map.centre));
  const undoButton = button("Undo last point", undo);
  const doneButton = button("Done", finish);
  const bar = document.createElement("div");
  bar.className = "draw-bar";
  bar.setAttribute("role", "group");
  bar.setAttribute("aria-label", `Drawing ${NAMES[kind]}`);
  bar.append(status, addButton, undoButton, doneButton, button("Cancel", cancel));
  map.view.after(bar);

  const keys = { Enter: () => add(map.centre), " ": () => add(map.centre), Backspace: undo, Delete: undo, Escape: cancel };
  const press = (/** @type {KeyboardEvent} */ event) => {
    const act = keys[event.key];
    if (!act) return;
    event.preventDefault();
    event.stopPropagation();
    act();
  };
  map.view.addEventListener("keydown", press);
  const tap = (/** @type {Place} */ place, /** @type {{x: number, y: number}} */ at) => {
    const last = places.length ? map.point(places[places.length - 1]) : null;
    if (kind === "point" || !last || Math.hypot(last.x - at.x, last.y - at.y) > SAME_PX) add(place);
  };
  const stops = [
    map.on("click", tap),
    map.on("dblclick", finish),
    () => map.view.removeEventListener("keydown", press),
  ];
  Object.assign(frame, map.overlay((group, _size, point) => group.replaceChildren(...sketch(kind, places.map(point)))));
  map.isDrawn = true;
  change(places);
  map.view.focus({ preventScroll: true });
  return { addAtCentre: () => add(map.centre), undo, finish, cancel };
}

/** @param {Kind} kind @param {{x: number, y: number}[]} points */
function sketch(kind, points) {
  const corners = points.map(({ x, y }) => svg("circle", { class: "draw-corner", cx: x, cy: y, r: 7 }));
  if (points.length < 2) return corners;
  const path = points.map(({ x, y }) => `${x.toFixed(1)},${y.toFixed(1)}`).join(" ");
  return [svg(kind === "area" ? "polygon" : "polyline", { class: `draw-line is-${kind}`, points: path }), ...corners];
}

function paragraph() {
  const status = document.createElement("p");
  status.setAttribute("role", "status");
  return status;
}

/** @param {string} name @param {() => unknown} press */
function button(name, press) {
  const made = document.createElement("button");
  made.type = "button";
  made.className = "map-button has-words";
  made.textContent = name;
  made.addEventListener("click", press);
  return made;
}
