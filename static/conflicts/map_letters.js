// @ts-check
// The letters along the lines, the stations of the bores and the names of the base.

import { clipped, lengthOf, placesAlong } from "../base/map_labels.js";
import { svg } from "../base/svg.js";

/** @typedef {import("../base/map_labels.js").Board} Board */
/** @typedef {{x: number, y: number}} Point */
/** @typedef {(place: [number, number]) => Point} ToPoint */

const LETTER_SPACING_PX = 150;
const LETTER_STEP_PX = 13; // how far along the next free place is sought
const LETTER_PX = 17;
const LEAST_LINE_PX = 40; // a line shorter than this on the screen bears its letter in its middle
const STATION_ROOM_PX = 58;
const TICK_PX = 7;
const LETTER_WIDTH_PX = 6.8;
const NAME_AWAY_PX = 9; // a name stands beside its line
const STRIDES = [1, 2, 4, 10, 20, 40, 100, 200];

/**
 * The letters of the lines and the names of pits and of the base.
 * @param {any} data
 * @param {import("./map_layers.js").Layers} layers
 * @param {{width: number, height: number}} size
 * @param {ToPoint} point
 * @param {Board} board
 * @returns {SVGElement[]}
 */
export function letters(data, layers, size, point, board) {
  return [
    ...data.marks.flatMap((mark) => {
      const kind = data.facilities[mark.facility];
      return layers.isShown(`line-${kind.kind}`) ? lineLetters(mark, kind, size, point, board) : [];
    }),
    ...(layers.isShown("linework") ? data.linework.flatMap((piece) => pieceName(piece, size, point, board)) : []),
    ...(layers.isShown("abandoned") ? data.drilled.filter((path) => path.leg).flatMap((leg) => legName(leg, point, board)) : []),
    ...(layers.isShown("pits") ? data.pits.flatMap((pit) => pitName(pit, point, board)) : []),
  ];
}

/** Letter codes; the mark of a question where no test hole has found the line. */
function lineLetters(mark, kind, size, point, board) {
  const text = mark.depth_known ? kind.letter : `${kind.letter}?`;
  const width = text.length > 1 ? LETTER_PX * 1.5 : LETTER_PX;
  return clipped(mark.painted.map(point), size.width, size.height).flatMap((piece) => {
    const length = lengthOf(piece);
    if (length < LEAST_LINE_PX) return [];
    let free = Math.min(LETTER_SPACING_PX, length) / 2;
    return placesAlong(piece, LETTER_STEP_PX, free % LETTER_STEP_PX).flatMap(({ x, y }, index) => {
      const at = index * LETTER_STEP_PX + (free % LETTER_STEP_PX);
      if (at < free || !board.take(x, y, width + 4, LETTER_PX + 4)) return [];
      free = at + LETTER_SPACING_PX;
      return [
        svg("g", { class: `line-letter paint-${kind.kind}${mark.depth_known ? "" : " is-deep-unknown"}` }, [
          svg("rect", { x: x - width / 2, y: y - LETTER_PX / 2, width, height: LETTER_PX, rx: 2 }),
          svg("text", { x, y }, [text]),
        ]),
      ];
    });
  });
}

/**
 * Ticks across the bore, and as many of their stations as there is room for.
 * @param {any} bore
 * @param {ToPoint} point
 * @param {Board} board
 * @returns {SVGElement[]}
 */
export function stations(bore, point, board) {
  const ticks = bore.ticks.map(([at, left]) => ({ at: point(at), left: point(left) }));
  const spacing = ticks.length > 1 ? Math.hypot(ticks[1].at.x - ticks[0].at.x, ticks[1].at.y - ticks[0].at.y) : STATION_ROOM_PX;
  const stride = STRIDES.find((step) => step * spacing >= STATION_ROOM_PX) ?? ticks.length;
  return ticks.flatMap(({ at, left }, index) => {
    if (index % stride && spacing < TICK_PX) return [];
    const length = Math.hypot(left.x - at.x, left.y - at.y) || 1;
    const [dx, dy] = [(left.x - at.x) / length, (left.y - at.y) / length];
    const drawn = [svg("line", { class: "tick", x1: at.x - dx * TICK_PX, y1: at.y - dy * TICK_PX, x2: at.x + dx * TICK_PX, y2: at.y + dy * TICK_PX })];
    if (index % stride === 0) {
      const text = index === 0 ? `${bore.name} ${bore.tick_labels[0]}` : bore.tick_labels[index];
      drawn.push(...words("map-label station", text, at.x + dx * 20, at.y + dy * 20, 0, board));
    }
    return drawn;
  });
}

function pieceName(piece, size, point, board) {
  if (!piece.label) return [];
  const width = piece.label.length * LETTER_WIDTH_PX;
  const line = piece.parts[0].map(point);
  if (piece.is_area) {
    const [xs, ys] = [line.map(({ x }) => x), line.map(({ y }) => y)];
    const [low, high] = [Math.min(...xs), Math.max(...xs)];
    return high - low < width ? [] : words("map-name", piece.label, (low + high) / 2, (Math.min(...ys) + Math.max(...ys)) / 2, 0, board);
  }
  return clipped(line, size.width, size.height).flatMap((part) => {
    const length = lengthOf(part);
    const middle = length > width * 1.5 ? placesAlong(part, length)[0] : undefined;
    if (!middle) return [];
    const turn = (middle.angleDeg * Math.PI) / 180;
    const [x, y] = [middle.x + NAME_AWAY_PX * Math.sin(turn), middle.y - NAME_AWAY_PX * Math.cos(turn)];
    return words("map-name", piece.label, x, y, middle.angleDeg, board);
  });
}

function pitName(pit, point, board) {
  const ring = pit.area[0].map(point);
  const middle = ring.reduce((sum, { x }) => sum + x, 0) / ring.length;
  const lowest = Math.max(...ring.map(({ y }) => y));
  return words("map-label", pit.words, middle, lowest + 14, 0, board);
}

/** A leg ends with a cross; its name stands beside that where there is room. */
function legName(leg, point, board) {
  const { x, y } = point(leg.line[leg.line.length - 1]);
  const cross = svg("path", { class: "abandoned-end", d: `M${x - 5} ${y - 5}l10 10M${x + 5} ${y - 5}l-10 10` });
  return [cross, ...words("map-label", leg.leg, x, y - 16, 0, board)];
}

/** Words about a point, unless something lies there. */
function words(className, text, x, y, angleDeg, board) {
  const length = text.length * LETTER_WIDTH_PX;
  const turn = (angleDeg * Math.PI) / 180;
  const width = Math.abs(length * Math.cos(turn)) + 12;
  const height = Math.abs(length * Math.sin(turn)) + 14;
  if (!board.take(x, y, width, height)) return [];
  const turned = angleDeg ? { transform: `rotate(${angleDeg.toFixed(1)} ${x.toFixed(1)} ${y.toFixed(1)})` } : {};
  return [svg("text", { class: `${className} is-centred`, x, y, ...turned }, [text])];
}
