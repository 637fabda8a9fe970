// @ts-check
// The symbols of the map as plain records: what each is called, says, looks like and leads to.

/** @typedef {[number, number]} Place */
/** @typedef {{key: string, layer: string, at: Place, name: string, words: string, shape: string, className: string, letter: string, label: string, size: number, sequence: number | null, mark: number | null, address: string, linkWords: string, isDrilled: boolean}} Symbol */

const SIZE = 20;
const VERDICT_SIZE = 28;
const DRILLED_SIZE = 42; // with the piece of the drilled path under the verdict

/** Layers whose symbols are verdicts. */
export const VERDICT_LAYERS = ["crossings", "drilled_crossings"];

/** Worst first: it is drawn on top, and reached first. */
export const VERDICTS = ["overlap", "unexposed", "stale", "short", "clear"];

/** How bad a symbol is: 0 where it is no crossing. @param {Symbol} symbol */
export const severity = ({ layer, shape }) =>
  VERDICT_LAYERS.includes(layer) ? VERDICTS.length - VERDICTS.indexOf(shape.slice("verdict-".length)) : 0;

/** @param {any} data @returns {Symbol[]} crossings first, in the order of the list, those as drilled, then what was dug, seen and called in */
export function symbolsOf(data) {
  return [
    ...data.crossings.map((one) => crossingSymbol(one, data)),
    ...data.drilledCrossings.map((one, index) => drilledSymbol(one, index, data)),
    ...data.testHoles.map(holeSymbol),
    ...data.features.map((one) => featureSymbol(one, data)),
    ...data.marks.flatMap((one, index) => (one.painted.length === 1 ? [pointSymbol(one, index, data)] : [])),
    ...data.tickets.map(ticketSymbol),
  ];
}

const plain = {
  className: "",
  letter: "",
  label: "",
  size: SIZE,
  sequence: null,
  mark: null,
  address: "",
  linkWords: "The figures of this crossing",
  isDrilled: false,
};

function crossingSymbol(crossing, data) {
  const bore = data.bores[crossing.bore];
  const isOwn = data.isOfBore;
  return {
    ...plain,
    key: `crossing-${crossing.bore}-${crossing.sequence}`,
    layer: "crossings",
    at: crossing.at,
    name: `${crossing.verdict}: ${isOwn ? "" : `${bore.name}, `}${crossing.words}`,
    words: `${isOwn ? "" : `${bore.name}: `}${crossing.words}.`,
    shape: `verdict-${crossing.verdict}`,
    className: `symbol-verdict ${crossing.verdict === "clear" ? "is-free" : "is-stop"}`,
    size: VERDICT_SIZE,
    // A sequence tells crossings of one bore apart: on the map of a job it would name several.
    sequence: isOwn ? crossing.sequence : null,
    mark: crossing.mark,
    address: crossing.address,
  };
}

/** A crossing of the hole as drilled: its verdict on a piece of the drilled path. */
function drilledSymbol(crossing, index, data) {
  const bore = data.isOfBore ? "" : `${data.bores[crossing.bore].name}, `;
  return {
    ...plain,
    key: `drilled-crossing-${index}`,
    layer: "drilled_crossings",
    at: crossing.at,
    name: `as drilled, ${crossing.verdict}: ${bore}${crossing.words}`,
    words: `${bore}${crossing.words}.`,
    shape: `verdict-${crossing.verdict}`,
    className: `symbol-verdict symbol-drilled ${crossing.verdict === "clear" ? "is-free" : "is-stop"}`,
    label: "as drilled",
    size: DRILLED_SIZE,
    mark: crossing.mark,
    address: crossing.address,
    linkWords: crossing.alone ? "What to do about this line" : "The figures of this crossing",
    isDrilled: true,
  };
}

function holeSymbol(hole) {
  const state = hole.open === null ? "unknown" : hole.open ? "open" : "restored";
  return {
    ...plain,
    key: `hole-${hole.ref}`,
    layer: "test_holes",
    at: hole.at,
    name: `test hole ${hole.ref}: ${hole.words}`,
    words: `${hole.words}.`,
    shape: hole.found ? `hole-${state}` : "hole-missed",
    className: `symbol-hole ${hole.found ? "" : "is-stop"}`,
    label: hole.label,
  };
}

function featureSymbol(feature, data) {
  return {
    ...plain,
    key: `feature-${feature.ref}`,
    layer: "surface_features",
    at: feature.at,
    name: `surface feature ${feature.ref}: ${data.facilities[feature.facility].name}, ${feature.words}`,
    words: `${data.facilities[feature.facility].name}, ${feature.words}.`,
    shape: feature.explained ? "feature-explained" : "feature-question",
    className: `symbol-feature ${feature.explained ? "" : "is-stop"}`,
    letter: `${data.facilities[feature.facility].letter}${feature.explained ? "" : "?"}`,
    size: SIZE + 4,
  };
}

function pointSymbol(mark, index, data) {
  const facility = data.facilities[mark.facility];
  return {
    ...plain,
    key: `mark-${mark.ref}`,
    layer: `line-${facility.kind}`,
    at: mark.painted[0],
    name: `mark ${mark.ref}: ${facility.name}, ${mark.operator}, a single point; ${mark.words}`,
    words: `${facility.name}, ${mark.operator}, a single painted point; ${mark.words}.`,
    shape: "mark-point",
    className: `symbol-point paint-${facility.kind}`,
    letter: `${facility.letter}${mark.depth_known ? "" : "?"}`,
    size: SIZE + 4,
    mark: index,
  };
}

function ticketSymbol(ticket) {
  const corner = ticket.area.flat().reduce((best, place) => (place[1] > best[1] ? place : best));
  return {
    ...plain,
    key: `ticket-${ticket.number}`,
    layer: "tickets",
    at: corner,
    name: `ticket ${ticket.number}: ${ticket.words}`,
    words: `work area, ${ticket.words}.`,
    shape: ticket.in_force ? "ticket-in-force" : "ticket-not-in-force",
    className: `symbol-ticket ${ticket.in_force ? "is-free" : "is-stop"}`,
    label: `${ticket.number}, ${ticket.in_force ? "in force" : "not in force"}`,
  };
}

/** The heading and the words of a symbol or line, as its card shows them. @param {{name: string, words: string}} one */
export function cardOf({ name, words }) {
  const [heading] = name.split(": ");
  return { heading: heading.charAt(0).toUpperCase() + heading.slice(1), words: words.charAt(0).toUpperCase() + words.slice(1) };
}
