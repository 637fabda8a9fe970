// @ts-check
// Areas drawn on the map into a form's box, and the box's areas shown on the map: see locates/area_map.html.

import { drawArea } from "../base/map.js";
import { svg } from "../base/svg.js";
import { whenMap } from "../conflicts/job_map.js";
import { areasOf, areasText, cornersWords, polygonsOf, withArea } from "./typed_areas.js";
import { cornersFor, drawnPlaces } from "./typed_places.js";

/** @typedef {import("./typed_places.js").Place} Place */

const RADIUS_PX = 6;
const UNREAD = "The box holds GeoJSON or what the map cannot read; it is read when you save. Empty the box to draw.";

/** @param {HTMLElement} place the part of the form with the map */
async function start(place) {
  const part = (/** @type {string} */ selector) => /** @type {HTMLElement} */ (place.querySelector(selector));
  const map = await whenMap(part("[data-map-url]"));
  if (!map) return;
  const box = /** @type {HTMLTextAreaElement} */ (document.getElementById(place.dataset.areaMap ?? ""));
  const add = /** @type {HTMLButtonElement} */ (part("[data-area=add]"));
  const undo = /** @type {HTMLButtonElement} */ (part("[data-area=undo]"));
  const status = part(".draw-status");
  const list = part(".area-list");
  /** @type {string[]} what the box held before each change made here */
  const before = [];
  let drawn = -1; // index of the area being drawn

  const overlay = map.overlay((frame, _size, point) => {
    const polygons = polygonsOf(box.value);
    frame.replaceChildren(...polygons.flatMap((rings, index) => (index === drawn ? [] : shapes(rings, index, point))));
  });
  const show = () => {
    const areas = areasOf(box.value);
    add.disabled = undo.disabled = drawn >= 0 || !areas;
    undo.disabled ||= before.length === 0;
    list.replaceChildren(...(areas ?? []).map((area, index) => row(area, index)));
    if (!areas) status.textContent = UNREAD;
    else if (status.textContent === UNREAD) status.textContent = "";
    overlay.redraw();
  };
  const write = (/** @type {string} */ text, /** @type {string} */ words) => {
    box.value = text;
    box.dispatchEvent(new Event("input", { bubbles: true }));
    status.textContent = words;
  };
  const change = (/** @type {number} */ index, /** @type {Place[] | null} */ area, /** @type {string} */ words) => {
    before.push(box.value);
    write(areasText(withArea(areasOf(box.value) ?? [], index, area)), words);
  };
  const draw = (/** @type {number} */ index) => {
    const corners = areasOf(box.value)?.[index] ?? [];
    const done = (/** @type {any} */ coordinates) => {
      drawn = -1;
      if (coordinates) change(index, cornersFor("area", drawnPlaces(coordinates)), `Area ${index + 1} stands in the box above.`);
      show();
      add.focus({ preventScroll: true });
    };
    drawn = index;
    status.textContent = "";
    show();
    drawArea(map, done, corners);
    part(".map-stage").scrollIntoView({ block: "nearest" });
  };
  const row = (/** @type {Place[]} */ area, /** @type {number} */ index) => {
    const name = `area ${index + 1}`;
    const item = document.createElement("li");
    const words = document.createElement("span");
    words.textContent = `Area ${index + 1}: ${cornersWords(area.length)}`;
    item.append(
      words,
      button("Change", name, () => draw(index)),
      button("Remove", name, () => {
        change(index, null, `Area ${index + 1} is removed. “Undo” brings it back.`);
        undo.focus({ preventScroll: true });
      }),
    );
    for (const one of item.querySelectorAll("button")) one.disabled = drawn >= 0;
    return item;
  };
  add.addEventListener("click", () => draw(areasOf(box.value)?.length ?? 0));
  undo.addEventListener("click", () => {
    write(before.pop() ?? box.value, "The last change on the map is undone.");
    if (undo.disabled) add.focus({ preventScroll: true });
  });
  box.addEventListener("input", show);
  const corners = polygonsOf(box.value).flat(2);
  if (corners.length > 1) map.fit(corners);
  part(".draw-buttons").hidden = false;
  show();
}

/** @param {Place[][]} rings @param {number} index @param {(place: Place) => {x: number, y: number}} point */
function shapes(rings, index, point) {
  const outer = rings[0].map(point);
  const path = rings.map((ring) => `M${ring.map((place) => pair(point(place))).join("L")}Z`).join("");
  const middle = { x: mean(outer.map(({ x }) => x)), y: mean(outer.map(({ y }) => y)) };
  const number = svg("text", { class: "placed-number", x: middle.x.toFixed(1), y: middle.y.toFixed(1) });
  number.textContent = String(index + 1);
  return [
    svg("path", { class: "placed-area", d: path }),
    ...outer.map(({ x, y }) => svg("circle", { class: "placed-point", cx: x, cy: y, r: RADIUS_PX })),
    number,
  ];
}

const pair = (/** @type {{x: number, y: number}} */ { x, y }) => `${x.toFixed(1)},${y.toFixed(1)}`;
const mean = (/** @type {number[]} */ numbers) => numbers.reduce((sum, one) => sum + one, 0) / numbers.length;

/** @param {string} name @param {string} of @param {() => void} press */
function button(name, of, press) {
  const made = document.createElement("button");
  made.type = "button";
  made.className = "button plain outlined";
  made.textContent = name;
  made.setAttribute("aria-label", `${name} ${of}`);
  made.addEventListener("click", press);
  return made;
}

for (const place of document.querySelectorAll("[data-area-map]")) void start(/** @type {HTMLElement} */ (place));
