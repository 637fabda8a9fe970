// @ts-check
// Draws the symbols, lets the keyboard walk through them, and tells of the one that is pointed at.

import { shape, svg } from "../base/svg.js";
import { takeRoom } from "./map_beside.js";
import { drilledShapes } from "./map_drilled_shapes.js";
import { VERDICT_LAYERS, severity } from "./map_symbols.js";

/** @typedef {import("./map_symbols.js").Symbol} Symbol */
/** @typedef {import("../base/map_labels.js").Board} Board */
/** @typedef {{symbol: Symbol, x: number, y: number, aside: import("../base/map_labels.js").Point}} Placed where it is drawn, and how far that is from its place */

const REACH_PX = 22; // a thumb's target of 44 px
const LABEL_PX = 6.6; // a letter of a label, about
const LABEL_HEIGHT_PX = 16;
const FAR_M = 0.25; // to a pixel: from here on out the symbols are drawn smaller
const FAR_RATIO = 0.75;
const AT_ITS_PLACE = { x: 0, y: 0 };

/** What a symbol looks like: its shape, which of a crossing as drilled stands on a piece of the drilled path. */
function shapes(/** @type {Symbol} */ symbol, x, y, size) {
  if (symbol.isDrilled) return drilledShapes(symbol.shape, x, y, size);
  return [svg("circle", { class: "symbol-ground", cx: x, cy: y, r: size / 2 }), shape(symbol.shape, x, y, size)];
}

export class SymbolLayer {
  /**
   * @param {import("../base/map.js").SiteMap} map
   * @param {import("./map_layers.js").Layers} layers
   * @param {Symbol[]} symbols
   * @param {{point: (symbol: Symbol | null, by: string) => void, open: (symbol: Symbol) => void}} tell
   */
  constructor(map, layers, symbols, tell) {
    this.map = map;
    this.layers = layers;
    this.symbols = symbols;
    this.tell = tell;
    this.group = svg("g", { role: "group", "aria-label": "Symbols: the arrow keys lead from one to the next" });
    /** @type {Map<string, Placed & {element: SVGElement}>} */
    this.drawn = new Map();
    /** @type {string | null} where the keyboard is */
    this.current = null;
    this.pointed = /** @type {string | null} */ (null);
    this.hidden = 0;
    this.scale = 1;
    this.group.addEventListener("keydown", (event) => this.walk(/** @type {KeyboardEvent} */ (event)));
  }

  get shown() {
    return this.symbols.filter((symbol) => this.layers.isShown(symbol.layer));
  }

  /**
   * Takes room for what is in sight: of those in a heap for the first, but for every crossing.
   * @param {{width: number, height: number}} size
   * @param {(place: [number, number]) => {x: number, y: number}} point
   * @param {Board} board
   */
  choose(size, point, board) {
    this.scale = this.map.metresPerPixel > FAR_M ? FAR_RATIO : 1;
    const inSight = this.shown
      .map((symbol) => ({ symbol, ...point(symbol.at) }))
      .filter(({ x, y }) => x > 0 && y > 0 && x < size.width && y < size.height);
    const chosen = inSight.flatMap((one) => {
      const isShownAnyhow = VERDICT_LAYERS.includes(one.symbol.layer) || one.symbol.key === this.current;
      const aside = takeRoom(one.symbol, one, board, this.map.metresPerPixel) ?? (isShownAnyhow ? AT_ITS_PLACE : null);
      return aside ? [{ ...one, x: one.x + aside.x, y: one.y + aside.y, aside }] : [];
    });
    this.hidden = inSight.length - chosen.length;
    for (const { symbol, x, y } of chosen) board.cover(x, y, symbol.size * this.scale, symbol.size * this.scale);
    return chosen;
  }

  /** @param {Placed[]} chosen @param {Board} board */
  draw(chosen, board) {
    const focused = this.group.contains(document.activeElement);
    if (!chosen.some((one) => one.symbol.key === this.current)) this.current = chosen[0]?.symbol.key ?? null;
    this.drawn = new Map(chosen.map((one) => [one.symbol.key, { ...one, element: this.element(one, board) }]));
    // From the least to the worst, so that an overlap lies on top; the keyboard keeps the list's order.
    const sorted = [...this.drawn.values()].sort((one, other) => severity(one.symbol) - severity(other.symbol));
    this.group.replaceChildren(...sorted.map(({ element }) => element));
    if (focused) this.drawn.get(this.current ?? "")?.element.focus({ preventScroll: true });
  }

  /** @param {Placed} one @param {Board} board */
  element({ symbol, x, y, aside }, board) {
    const size = symbol.size * (symbol.letter ? 1 : this.scale);
    const parts = shapes(symbol, x, y, size);
    if (aside.x || aside.y) parts.unshift(svg("path", { class: "symbol-leader", d: `M${x} ${y}l${-aside.x} ${-aside.y}` }));
    if (symbol.letter) parts.push(svg("text", { class: "symbol-letter", x, y }, [symbol.letter]));
    const label = symbol.label && this.label(symbol, x, y, board);
    if (label) parts.push(label);
    const element = svg("g", {
      role: "button",
      class: `symbol ${symbol.className}${symbol.key === this.pointed ? " is-pointed" : ""}`,
      tabindex: symbol.key === this.current ? "0" : "-1",
      "aria-label": symbol.name,
      ...(symbol.sequence === null ? {} : { "data-crossing": String(symbol.sequence) }),
    }, [svg("circle", { class: "symbol-reach", cx: x, cy: y, r: size / 2 + 4 }), ...parts]);
    element.addEventListener("focus", () => this.tell.point(symbol, "keyboard"));
    element.addEventListener("click", (event) => {
      if (this.map.isDrawn) return; // a tap is a corner then, wherever it falls
      event.stopPropagation();
      this.tell.open(symbol);
    });
    return element;
  }

  /** The words beside a symbol, on the first side where there is room. */
  label(symbol, x, y, board) {
    const width = symbol.label.length * LABEL_PX;
    const away = (symbol.size * this.scale) / 2 + 3;
    for (const [left, top] of [[x + away, y], [x - away - width, y], [x - width / 2, y - away - 8], [x - width / 2, y + away + 8]]) {
      if (board.take(left + width / 2, top, width, LABEL_HEIGHT_PX)) {
        return svg("text", { class: "map-label", x: left, y: top }, [symbol.label]);
      }
    }
    return null;
  }

  /** Highlights a symbol, or none. @param {string | null} key */
  point(key) {
    this.pointed = key;
    for (const [other, { element }] of this.drawn) element.classList.toggle("is-pointed", other === key);
  }

  /** The symbol nearest to a point of the view. @param {{x: number, y: number}} point @param {number} [reach] */
  nearest(point, reach = REACH_PX) {
    let best = null;
    let least = reach;
    for (const { symbol, aside } of this.drawn.values()) {
      const at = this.map.point(symbol.at);
      const away = Math.hypot(at.x + aside.x - point.x, at.y + aside.y - point.y);
      if (away < least) [best, least] = [symbol, away];
    }
    return best;
  }

  /** @param {KeyboardEvent} event */
  walk(event) {
    const shown = this.shown;
    const at = shown.findIndex((symbol) => symbol.key === this.current);
    const goal = { ArrowRight: at + 1, ArrowDown: at + 1, ArrowLeft: at - 1, ArrowUp: at - 1, Home: 0, End: shown.length - 1 }[event.key];
    if (goal !== undefined) {
      event.preventDefault();
      event.stopPropagation();
      this.goTo(shown[(goal + shown.length) % shown.length]);
    } else if ((event.key === "Enter" || event.key === " ") && shown[at]) {
      event.preventDefault();
      this.tell.open(shown[at]);
    }
  }

  /** Moves the keyboard to a symbol, and the map so that it is in sight. */
  goTo(/** @type {Symbol} */ symbol) {
    this.current = symbol.key;
    this.map.bringIntoView(symbol.at);
    this.layers.redraw();
    this.drawn.get(symbol.key)?.element.focus({ preventScroll: true });
  }
}
