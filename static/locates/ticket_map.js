// @ts-check
// Outlines the work area of one ticket over the map of its job.

import { whenMap } from "../conflicts/job_map.js";

const section = document.querySelector("[data-map-url]");
const data = document.getElementById("work-area-corners");

/** @param {Element} place */
async function show(place) {
  const map = await whenMap(place);
  if (!map) return;
  const polygons = JSON.parse(data?.textContent ?? "[]");
  map.areas("work-area", polygons);
  map.fit(polygons.flat(2));
}

if (section) void show(section);
