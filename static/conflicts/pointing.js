// @ts-check
// Pointing at a crossing, by mouse, touch or keyboard, marks it in the profile, the list and the map.
// Every part tells the others by the event `crosswatch:point` on the document.

/** @typedef {{crossing: number | null, isKept: boolean}} Pointed */
/** @typedef {{kind: "hover" | "leave" | "keep" | "drop", crossing?: number}} Action */

// Width of the axis of heights, under which the drawing scrolls.
const AXIS_PX = 76;

/** @type {Pointed} */
export const NOTHING = Object.freeze({ crossing: null, isKept: false });

/**
 * The place of a crossing along the bore as an attribute gives it; null for anything else.
 * @param {string | null | undefined} text
 * @returns {number | null}
 */
export function asSequence(text) {
  return text && /^\d{1,6}$/.test(text) ? Number(text) : null;
}

/**
 * What is pointed at after an action: a mouse that goes away takes its pointing along, a tap or the
 * keyboard's focus stays until something else is pointed at.
 * @param {Pointed} before
 * @param {Action} action
 * @returns {Pointed}
 */
export function after(before, action) {
  if (action.kind === "drop") return NOTHING;
  if (action.kind === "leave") return before.isKept ? before : NOTHING;
  return { crossing: action.crossing ?? null, isKept: action.kind === "keep" };
}

/**
 * Whether a tap in the drawing follows its link: the first one only points, since a finger cannot hover.
 * @param {string} pointerType
 * @param {number | null} pointedBefore
 * @param {number} crossing
 * @returns {boolean}
 */
export function follows(pointerType, pointedBefore, crossing) {
  return pointerType !== "touch" || pointedBefore === crossing;
}

/**
 * How far to scroll a box so that a place in it is well inside; null where it is already.
 * @param {{left: number, width: number}} box what is in view
 * @param {number} place
 * @param {number} hidden width on the left that something covers
 * @returns {number | null}
 */
export function scrolledTo(box, place, hidden) {
  const isInside = place >= box.left + hidden && place <= box.left + box.width - hidden;
  return isInside ? null : Math.max(0, place - (box.width + hidden) / 2);
}

/** @param {EventTarget | null} target */
function pointedElement(target) {
  const element = target instanceof Element ? target.closest("[data-crossing]") : null;
  const part = element?.closest("[data-part]")?.getAttribute("data-part") ?? null;
  const crossing = asSequence(element?.getAttribute("data-crossing"));
  return element && part && crossing !== null ? { crossing, part } : null;
}

/** @param {Document} page */
function watch(page) {
  let pointed = NOTHING;
  let touchedBefore = /** @type {number | null} */ (null);
  let pointerType = "";
  const readout = /** @type {HTMLElement | null} */ (page.querySelector("[data-invites]"));
  if (readout) readout.textContent = readout.dataset.invites ?? "";

  /** @param {Action} action @param {string} by */
  function point(action, by) {
    const next = after(pointed, action);
    const isNew = next.crossing !== pointed.crossing;
    pointed = next;
    if (!isNew) return;
    const detail = { crossing: next.crossing, by };
    page.dispatchEvent(new CustomEvent("crosswatch:point", { detail }));
  }

  page.addEventListener("pointerover", (event) => {
    if (event.pointerType === "touch") return;
    const found = pointedElement(event.target);
    point(found ? { kind: "hover", crossing: found.crossing } : { kind: "leave" }, found?.part ?? "list");
  });
  page.addEventListener("pointerdown", (event) => {
    pointerType = event.pointerType;
    touchedBefore = pointed.crossing;
  });
  page.addEventListener("focusin", (event) => {
    const found = pointedElement(event.target);
    if (!(event.target instanceof Element) || !event.target.matches(":focus-visible")) return;
    point(found ? { kind: "keep", crossing: found.crossing } : { kind: "drop" }, "keyboard");
  });
  page.addEventListener("click", (event) => {
    const found = pointedElement(event.target);
    if (!found || pointerType !== "touch") return;
    if (found.part === "profile" && !follows(pointerType, touchedBefore, found.crossing)) event.preventDefault();
    point({ kind: "keep", crossing: found.crossing }, found.part);
  });
  page.addEventListener("keydown", (event) => {
    if (event.key === "Escape") point({ kind: "drop" }, "keyboard");
  });
  page.addEventListener("crosswatch:point", (event) => {
    const { crossing, by } = /** @type {CustomEvent} */ (event).detail;
    pointed = { crossing, isKept: by === "map" ? crossing !== null : pointed.isKept };
    mark(page, crossing, by === "profile" && pointerType === "touch");
    if (by !== "profile" && crossing !== null) bringIntoView(page, crossing);
  });
}

/**
 * @param {Document} page
 * @param {number | null} crossing
 * @param {boolean} offersLink for a finger: its next tap may be on words instead of on a thin line
 */
function mark(page, crossing, offersLink) {
  for (const element of page.querySelectorAll("[data-part] [data-crossing]")) {
    element.classList.toggle("is-pointed", asSequence(element.getAttribute("data-crossing")) === crossing);
  }
  const readout = page.querySelector("[data-readout]");
  if (!readout || crossing === null) return;
  const drawn = page.querySelector(`[data-part="profile"] [data-crossing="${crossing}"]`);
  const link = offersLink && page.querySelector(`[data-part="list"] [data-crossing="${crossing}"] a[href]`);
  const words = page.createElement("strong");
  words.textContent = drawn?.getAttribute("aria-label") ?? "";
  readout.replaceChildren(words);
  if (!link) return;
  const open = link.cloneNode();
  open.textContent = "Open it";
  readout.append(open);
}

/** @param {Document} page @param {number} crossing */
function bringIntoView(page, crossing) {
  const box = page.querySelector("[data-scrolls]");
  const drawn = box?.querySelector(`[data-crossing="${crossing}"]`);
  if (!box || !drawn) return;
  const { left, width } = drawn.getBoundingClientRect();
  const place = left + width / 2 - box.getBoundingClientRect().left + box.scrollLeft;
  const wanted = scrolledTo({ left: box.scrollLeft, width: box.clientWidth }, place, AXIS_PX);
  if (wanted !== null) box.scrollLeft = wanted;
}

if (typeof document !== "undefined") watch(document);
