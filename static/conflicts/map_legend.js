// @ts-check
// The legend, which is also the switch of the layers: what each sign means, with a box that shows or hides it.

import { shape, svg } from "../base/svg.js";
import { drilledShapes } from "./map_drilled_shapes.js";
import { VERDICTS } from "./map_symbols.js";

const GROUPS = ["Bore", "Lines, as painted", "Found", "Base"];
/** Layers whose members are told one by one, and which of the drilled paths those are. */
const TOLD = { drilled: (path) => !path.leg, abandoned: (path) => path.leg };
const OF_VERDICTS = VERDICTS.map((verdict) => [`verdict-${verdict}`, verdict, verdict === "clear" ? "is-free" : "is-stop"]);
const SIGNS = {
  crossings: OF_VERDICTS,
  drilled_crossings: OF_VERDICTS,
  test_holes: [
    ["hole-open", "found, open", ""],
    ["hole-restored", "found, restored", ""],
    ["hole-unknown", "found, open or not is unknown", ""],
    ["hole-missed", "line not found", "is-stop"],
  ],
  surface_features: [
    ["feature-explained", "explained or signed off", ""],
    ["feature-question", "explained by no mark", "is-stop"],
  ],
  tickets: [
    ["ticket-in-force", "in force now", "is-free"],
    ["ticket-not-in-force", "not in force now", "is-stop"],
  ],
};

const BEADS = "On a piece of the drilled path: a line that the hole as drilled meets and the plan does not, or is not clear of.";

/**
 * @param {Element} place
 * @param {import("./map_layers.js").Layers} layers
 * @param {{tolerance: string, goTo: (bore: any) => void}} more
 */
export function fillLegend(place, layers, { tolerance, goTo }) {
  const groups = GROUPS.map((group) => [group, layers.all.filter((layer) => layer.group === group)]);
  for (const [group, members] of /** @type {[string, any[]][]} */ (groups)) {
    if (!members.length) continue;
    const set = element("fieldset", "layer-group", [element("legend", "", [group])]);
    for (const layer of members) {
      set.append(row(layer, layers, tolerance));
      if (layer.key in TOLD) set.append(...layers.data.drilled.filter(TOLD[layer.key]).map((path) => note(`${path.words}.`)));
      if (layer.key === "bores") set.append(...layers.data.bores.map((bore) => boreButton(bore, goTo)));
    }
    if (group === "Lines, as painted") set.append(note("A question mark after the letter: depth unknown, no test hole has found the line."));
    place.append(set);
  }
}

/** A layer with its box, its sign and how many of its kind there are. */
function row(layer, layers, tolerance) {
  const box = /** @type {HTMLInputElement} */ (element("input", "layer-box", []));
  box.type = "checkbox";
  box.checked = true;
  box.addEventListener("change", () => layers.show(layer.key, box.checked));
  const label = element("label", "layer", [box, sample(layer), element("span", "", [layer.name]), element("span", "layer-count", [String(layer.count)])]);
  const signs = (SIGNS[layer.key] ?? []).map(([id, words, state]) =>
    element("li", state, [svg("svg", { class: "layer-sign", viewBox: "0 0 24 24", "aria-hidden": "true" }, shapes(layer.key, id, 12, 24)), words]),
  );
  const notes = { zones: tolerance, drilled_crossings: BEADS };
  const more = [
    ...(signs.length ? [element("ul", "layer-signs", signs)] : []),
    ...(layer.key in notes ? [note(notes[layer.key])] : []),
  ];
  return element("div", "layer-row", [label, ...more]);
}

/** A sign of a layer, of a crossing as drilled with its piece of the drilled path. */
function shapes(key, id, x, size) {
  return key === "drilled_crossings" ? drilledShapes(id, x, 12, size) : [shape(id, x, 12, size)];
}

/** A stretch of the layer as it is drawn. */
function sample(layer) {
  const frame = svg("svg", { class: "layer-sample", viewBox: "0 0 40 24", "aria-hidden": "true" });
  const stroke = (/** @type {string} */ className) => svg("path", { class: className, d: "M2 12h36" });
  const kind = layer.key.replace("line-", "");
  if (layer.letter) {
    frame.append(stroke("line-casing"), stroke(`line-paint paint-${kind}`));
    frame.append(
      svg("g", { class: `line-letter paint-${kind}` }, [
        svg("rect", { x: 11.5, y: 3.5, width: 17, height: 17, rx: 2 }),
        svg("text", { x: 20, y: 12 }, [layer.letter]),
      ]),
    );
  } else if (layer.key === "bores") {
    frame.append(stroke("bore-casing"), stroke("bore-line"), svg("path", { class: "tick", d: "M10 6v12M30 6v12" }));
  } else if (layer.key === "drilled") {
    frame.append(svg("rect", { class: "drilled-band", x: 2, y: 4, width: 36, height: 16 }), stroke("drilled-line"), stroke("drilled-beads"));
  } else if (layer.key === "abandoned") {
    frame.append(stroke("abandoned-casing"), stroke("abandoned-line"));
  } else if (layer.key === "uncovered") {
    frame.append(stroke("bore-line"), stroke("bore-uncovered"));
  } else if (layer.key === "zones") {
    frame.append(svg("rect", { class: "zone paint-gas_oil_steam", x: 2, y: 5, width: 36, height: 14, rx: 7 }));
  } else if (layer.key === "pits") {
    frame.append(svg("rect", { class: "pit", x: 10, y: 5, width: 20, height: 14 }));
  } else if (layer.key === "found") {
    frame.append(stroke("line-found"));
  } else if (layer.key === "linework") {
    frame.append(svg("path", { class: "base base-curb", d: "M2 17h36" }), svg("rect", { class: "base base-area base-building", x: 10, y: 3, width: 20, height: 9 }));
  } else {
    frame.append(...shapes(layer.key, SIGNS[layer.key][0][0], 20, layer.key === "drilled_crossings" ? 24 : 20));
  }
  return frame;
}

function boreButton(bore, goTo) {
  const button = element("button", "map-button has-words", [`Go to ${bore.name}`]);
  button.setAttribute("type", "button");
  button.addEventListener("click", () => goTo(bore));
  const why = bore.no_crossings_because;
  return element("div", "layer-bore", [button, note(`${bore.words}.${why ? ` No crossing is drawn: ${why}.` : ""}`)]);
}

const note = (/** @type {string} */ words) => element("p", "layer-note", [words]);

/** @param {string} tag @param {string} className @param {(Node | string)[]} children @returns {HTMLElement} */
function element(tag, className, children) {
  const made = document.createElement(tag);
  if (className) made.className = className;
  made.append(...children);
  return made;
}
