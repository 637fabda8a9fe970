// @ts-check
// Draws what a file holds over the map of the job, before it is stored.

import { svg } from "../base/svg.js";
import { whenMap } from "../conflicts/job_map.js";
import { sorted } from "./import_shapes.js";

const POINT_RADIUS_PX = 6;

const section = document.querySelector("[data-map-url]");
const data = document.getElementById("import-shapes");
const told = document.getElementById("import-on-map");

/** @param {Element} place @param {Element} words */
async function show(place, words) {
  const map = await whenMap(place);
  if (!map) {
    words.textContent = "The job has nothing to draw a map of yet.";
    return;
  }
  const { points, lines, areas, places } = sorted(JSON.parse(data?.textContent ?? "[]"));
  if (lines.length) map.lines("import-line", lines);
  if (areas.length) map.areas("import-area", areas);
  if (points.length) map.overlay((frame, _size, point) => frame.replaceChildren(...points.map((one) => mark(point(one)))))
    .redraw();
  map.fit(places);
  words.textContent = `Drawn: ${points.length} points, ${lines.length} lines, ${areas.length} areas.`;
}

/** @param {{x: number, y: number}} at */
const mark = ({ x, y }) => svg("circle", { class: "import-point", cx: x, cy: y, r: POINT_RADIUS_PX });

if (section && told) void show(section, told);
