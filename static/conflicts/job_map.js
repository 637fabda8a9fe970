// @ts-check
// The map of a job or of a bore: loads its data, draws it, and lets the list, the profile and the map point alike.

import { followPosition } from "../base/map_locate.js";
import { SiteMap, canDraw } from "../base/map.js";
import { keepCoordinates, keepScale, moveByButtons, placeText } from "../base/map_tools.js";
import { isTooSmall, stretchAhead } from "./map_ahead.js";
import { Drawn } from "./map_drawn.js";
import { loadMap } from "./map_loading.js";

const UNDRAWN =
  "The map could not be drawn: a part of this page did not come. Load it again. The tables hold the same records.";

/** @type {WeakMap<Element, Promise<SiteMap | null>>} */
const started = new WeakMap();

/**
 * The map of a section once it is drawn; null where its data did not come. For forms that draw on it.
 * @param {Element} section with data-map-url
 * @returns {Promise<SiteMap | null>}
 */
export function whenMap(section) {
  const map = started.get(section) ?? start(/** @type {HTMLElement} */ (section));
  started.set(section, map);
  return map;
}

/** @param {HTMLElement} section @returns {Promise<SiteMap | null>} */
async function start(section) {
  const part = (/** @type {string} */ name) => /** @type {HTMLElement} */ (section.querySelector(`.${name}`));
  const data = await loadMap(section.dataset.mapUrl ?? "", part("map-status"));
  if (!data) return null;
  if (!canDraw()) {
    part("map-status").textContent = UNDRAWN;
    return null;
  }
  const map = new SiteMap(part("map-view"), JSON.parse(section.dataset.mapLayers ?? "[]"));
  map.metresPerDegree = data.metresPerDegree;
  const own = data.bores.filter((bore) => !data.isOfBore || bore.id === data.boreId);
  const home = own.length ? placesOfBores(own, data) : everyPlace(data);
  const ahead = stretchAhead(data);
  if (data.isEmpty) map.showEarth();
  else openWith(map, home, ahead);
  new Drawn(map, data, part);
  moveByButtons(section, map);
  section.querySelector("[data-map-do=home]")?.addEventListener("click", () => home.length && map.fit(home));
  section.querySelector("[data-map-do=ahead]")?.addEventListener("click", () => ahead.length && map.fit(ahead));
  const all = everyPlace(data);
  section.querySelector("[data-map-do=all]")?.addEventListener("click", () => all.length && map.fit(all));
  keepScale(part("map-scale"), map);
  keepCoordinates(part("map-position"), map, (place) => placeText(place, data.bores, data.metresPerDegree, data.showUnits));
  const me = /** @type {HTMLElement} */ (section.querySelector("[data-map-do=me]"));
  followPosition(me, part("map-fix"), map, () => data.showUnits);
  printWhole(section, map, home, ahead);
  sayWhetherEmpty(section, part("map-status"), map, data.isEmpty);
  section.classList.add("is-drawn");
  return map;
}

/** Shows all of the bores, but where that could not be read, what lies ahead. */
function openWith(map, home, ahead) {
  map.fit(home);
  if (ahead.length && isTooSmall(map.view.clientWidth, map.metresPerPixel)) map.fit(ahead);
}

/**
 * A map of nothing says so until somebody moves it: a form may draw the first thing there. Until then it
 * shows the world, of which neither a scale nor a middle means anything.
 */
function sayWhetherEmpty(section, status, map, isEmpty) {
  status.hidden = !isEmpty;
  if (!isEmpty) return;
  status.textContent = "Nothing is logged yet that could be drawn: no bore, mark, test hole or line of the base.";
  status.classList.add("is-note");
  section.classList.add("is-empty");
  const stop = map.on("moveend", () => {
    status.hidden = true;
    section.classList.remove("is-empty");
    stop();
  });
}

/** Bores with their pits. */
function placesOfBores(bores, data) {
  const names = new Set(bores.map((bore) => bore.name));
  return [...bores.flatMap((bore) => bore.line), ...data.pits.filter((pit) => names.has(pit.bore)).flatMap((pit) => pit.area.flat())];
}

function everyPlace(data) {
  return [
    ...data.bores.flatMap((bore) => bore.line),
    ...data.marks.flatMap((mark) => mark.painted),
    ...data.testHoles.map((hole) => hole.at),
    ...data.tickets.flatMap((ticket) => ticket.area.flat()),
    ...data.linework.flatMap((piece) => piece.parts.flat()),
    ...data.features.map((feature) => feature.at),
  ];
}

/** On paper the map is as wide as the sheet, shows all of the bores, and its legend. */
function printWhole(section, map, home, ahead) {
  const legend = section.querySelector(".map-legend");
  let wasOpen = legend.open;
  addEventListener("beforeprint", () => {
    wasOpen = legend.open;
    legend.open = true;
    section.classList.add("is-printed");
    map.resize();
    if (home.length) map.fit(home);
  });
  addEventListener("afterprint", () => {
    legend.open = wasOpen;
    section.classList.remove("is-printed");
    map.resize();
    if (home.length) openWith(map, home, ahead);
  });
}

for (const section of document.querySelectorAll("[data-map-url]")) void whenMap(section);
