// @ts-check
// What is drawn over the lines of the map, and what happens where somebody points, taps or walks by keyboard.

import { Board, distanceTo, edgesOf, placesAlong } from "../base/map_labels.js";
import { svg } from "../base/svg.js";
import { Card } from "./map_card.js";
import { Layers } from "./map_layers.js";
import { fillLegend } from "./map_legend.js";
import { letters, stations } from "./map_letters.js";
import { SymbolLayer } from "./map_symbol_layer.js";
import { cardOf, symbolsOf } from "./map_symbols.js";

const LINE_REACH_PX = 14;
const HOVER_PX = 16;
const BORE_PX = 8; // its line on the screen with the casing
const LEGEND_BESIDE_REM = 56; // as map.css has it: narrower, the legend lies under the map and is closed

/** The rooms of north arrow and scale bar, and the edges of the view. */
function roomTaken({ width, height, margin }) {
  const view = { left: margin.x, top: margin.y, right: width - margin.x, bottom: height - margin.y };
  return [
    ...edgesOf(view),
    { left: view.right - 40, top: view.top, right: view.right, bottom: view.top + 70 },
    { left: view.right - 200, top: view.bottom - 58, right: view.right, bottom: view.bottom },
  ];
}

/** Keeps words and letters off the bores. */
function coverBores(bores, point, board) {
  for (const bore of bores) {
    for (const { x, y } of placesAlong(bore.line.map(point), BORE_PX)) board.cover(x, y, BORE_PX, BORE_PX);
  }
}

/** @param {number} hidden */
function crowdedWords(hidden) {
  if (!hidden) return "";
  return `${hidden === 1 ? "1 more symbol lies" : `${hidden} more symbols lie`} too close to others to show: zoom in.`;
}

export class Drawn {
  /** @param {import("../base/map.js").SiteMap} map @param {any} data @param {(name: string) => HTMLElement} part */
  constructor(map, data, part) {
    this.map = map;
    this.data = data;
    this.layers = new Layers(map, data);
    this.symbols = new SymbolLayer(map, this.layers, symbolsOf(data), {
      point: (symbol) => this.tell(symbol),
      open: (symbol) => this.open(symbol),
    });
    this.card = new Card(part("map-card"), () => this.emphasise(null));
    this.crowded = part("map-crowded");
    this.line = svg("g");
    this.letters = svg("g", { "aria-hidden": "true" });
    /** @type {number | null} the mark that is emphasised */
    this.mark = null;
    /** @type {number | null} the crossing that was told of last */
    this.told = null;
    this.overlay = map.overlay((frame, size, point) => this.draw(frame, size, point));
    this.layers.redraw = this.overlay.redraw;
    const legend = /** @type {HTMLDetailsElement} */ (part("map-legend"));
    fillLegend(part("map-layers"), this.layers, { tolerance: data.tolerance, goTo: (bore) => map.fit(bore.line) });
    const rem = parseFloat(getComputedStyle(document.documentElement).fontSize);
    legend.open = (legend.closest(".map-room")?.clientWidth ?? 0) > LEGEND_BESIDE_REM * rem;
    this.overlay.redraw();
    map.on("click", (place, at) => this.tap(at));
    map.on("mousemove", (place, at) => !map.isDrawn && this.tell(this.symbols.nearest(at, HOVER_PX)));
    map.on("mouseout", () => this.tell(null));
    document.addEventListener("crosswatch:point", (event) => this.hear(/** @type {CustomEvent} */ (event)));
  }

  draw(frame, size, point) {
    const board = new Board(roomTaken(size));
    this.point = point;
    // What must be seen takes its place first: symbols, then stations, then the words beside symbols.
    const chosen = this.symbols.choose(size, point, board);
    const ticks = this.layers.isShown("bores") ? this.data.bores.flatMap((bore) => stations(bore, point, board)) : [];
    if (this.layers.isShown("bores")) coverBores(this.data.bores, point, board);
    this.symbols.draw(chosen, board);
    this.letters.replaceChildren(...letters(this.data, this.layers, size, point, board), ...ticks);
    this.drawLine();
    if (!this.letters.isConnected) frame.append(this.line, this.letters, this.symbols.group);
    this.crowded.textContent = crowdedWords(this.symbols.hidden);
  }

  drawLine() {
    const mark = this.mark === null ? null : this.data.marks[this.mark];
    const lines = mark ? [mark.painted, ...mark.found] : [];
    const text = (line) => line.map(this.point).map(({ x, y }) => `${x.toFixed(1)},${y.toFixed(1)}`).join(" ");
    this.line.replaceChildren(...lines.map((line) => svg("polyline", { class: "line-pointed", points: text(line) })));
  }

  /** Emphasises a mark, or none; buttons then zoom about a place. @param {number | null} mark @param {[number, number] | null} [place] */
  emphasise(mark, place = null) {
    this.mark = mark;
    this.map.anchor = place;
    this.drawLine();
  }

  /** Tells the list and the profile which crossing is pointed at. */
  tell(symbol) {
    this.symbols.point(symbol?.key ?? null);
    const crossing = symbol?.sequence ?? null;
    if (crossing === this.told) return;
    this.told = crossing;
    document.dispatchEvent(new CustomEvent("crosswatch:point", { detail: { crossing, by: "map" } }));
  }

  /** Shows the crossing that somebody points at, in the list, in the profile or here. */
  hear({ detail: { crossing, by } }) {
    if (!this.data.isOfBore) return;
    this.told = crossing;
    const symbol = this.symbols.symbols.find((one) => crossing !== null && one.sequence === crossing);
    if (symbol && by !== "map") this.map.bringIntoView(symbol.at);
    if (symbol || by !== "map") this.symbols.point(symbol?.key ?? null);
    if (symbol || this.card.place.hidden) this.emphasise(symbol?.mark ?? null);
  }

  open(symbol) {
    this.symbols.point(symbol.key);
    this.emphasise(symbol.mark, symbol.at);
    this.card.show(cardOf(symbol), symbol.address, symbol.linkWords);
  }

  /** The nearest symbol, else the nearest line. */
  tap(at) {
    if (this.map.isDrawn) return;
    const symbol = this.symbols.nearest(at);
    const mark = symbol ? -1 : this.nearestMark(at);
    if (symbol) this.open(symbol);
    else if (mark < 0) this.card.close();
    else this.openMark(mark, this.map.place(at));
  }

  nearestMark(at) {
    const distances = this.data.marks.map(({ facility, painted }) =>
      this.layers.isShown(`line-${this.data.facilities[facility].kind}`)
        ? distanceTo(at, painted.map((place) => this.map.point(place)))
        : Number.POSITIVE_INFINITY,
    );
    const least = Math.min(...distances, LINE_REACH_PX);
    return distances.indexOf(least);
  }

  openMark(index, place) {
    const mark = this.data.marks[index];
    this.emphasise(index, place);
    this.card.show({
      heading: `Mark ${mark.ref}`,
      words: `${this.data.facilities[mark.facility].name}, ${mark.operator}; ${mark.words}.`,
    });
  }
}
