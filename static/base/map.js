// @ts-check
// The map itself: the only script that knows Leaflet and the settings that django-leaflet hands it.
// Everywhere else a place is [longitude, latitude] in degrees and a point is {x, y} in pixels of the view.

import { overlayOn } from "./map_overlay.js";

export { drawArea, drawLine, placePoint } from "./map_drawing.js";

/** @typedef {[number, number]} Place */
/** @typedef {{x: number, y: number}} Point */

const TILE_PX = 256; // of the web's map pyramid
const FIT_PADDING_PX = 28;
const ARROW_ROOM_PX = 44; // the north arrow lies at the head of the view
const SCALE_ROOM_PX = 58; // and the scale bar at its foot
const NEAR_ZOOM = 17;
const EARTH_M = 2 * Math.PI * 6378137; // round its equator, as the web's map has it
const CLOSEST_FIT = 21; // zoom at which a fit stops, 7 cm to a pixel at the equator

/** @param {Place} place */
const leafletPlace = ([longitude, latitude]) => [latitude, longitude];

/** Whether the library and its settings came: on a poor line a part of a page can stay out. */
export const canDraw = () => Boolean(/** @type {any} */ (window).L?.Map?.djangoMap);

export class SiteMap {
  /** @param {HTMLElement} view @param {unknown[]} [layers] django-leaflet's tile layers: none, one or more */
  constructor(view, layers = []) {
    const leaflet = /** @type {any} */ (window).L;
    this.leaflet = leaflet;
    this.view = view;
    /** Ground metres to a degree of longitude and of latitude. */
    this.metresPerDegree = /** @type {[number, number] | null} */ (null);
    /** Whether somebody is drawing, so that taps are corners. */
    this.isDrawn = false;
    /** What somebody has turned to: zooming by button leaves it where it is. */
    this.anchor = /** @type {Place | null} */ (null);
    this.fitted = /** @type {{places: Place[], view: string} | null} */ (null);
    this.map = leaflet.Map.djangoMap(view, {
      djoptions: { layers, maxzoom: 24, attributionprefix: null },
      globals: false,
      zoomControl: false,
      attributionControl: false,
      scrollWheelZoom: false,
      zoomSnap: 0.25,
      wheelPxPerZoomLevel: 120,
    });
    this.pathOptions = { interactive: false, smoothFactor: 0.2, renderer: leaflet.svg({ padding: 0.5 }) };
    // The wheel scrolls the page until somebody has turned to the map.
    this.map.on("focus", () => this.map.scrollWheelZoom.enable());
    this.map.on("blur", () => this.map.scrollWheelZoom.disable());
    new ResizeObserver(() => this.fitted && this.resize()).observe(view);
  }

  /** Draws lines as one path: thousands of them cost as much as one. @returns {Element} */
  lines(/** @type {string} */ className, /** @type {Place[][]} */ lines) {
    const places = lines.map((line) => line.map(leafletPlace));
    return this.leaflet.polyline(places, { className, ...this.pathOptions }).addTo(this.map).getElement();
  }

  /** Draws polygons, each an outer ring and its holes, as one path: overlapping, they are one. @returns {Element} */
  areas(/** @type {string} */ className, /** @type {Place[][][]} */ polygons) {
    const rings = polygons.map((polygon) => polygon.map((ring) => ring.map(leafletPlace)));
    return this.leaflet.polygon(rings, { className, fillRule: "nonzero", ...this.pathOptions }).addTo(this.map).getElement();
  }

  /** Draws what keeps its size, whenever the view has changed. @param {import("./map_overlay.js").Draw} draw */
  overlay(draw) {
    return overlayOn(this.map, draw);
  }

  /** Shows all of some places, and goes on doing so when the view's size changes, until somebody moves it. */
  fit(/** @type {Place[]} */ places) {
    this.map.fitBounds(places.map(leafletPlace), {
      paddingTopLeft: [FIT_PADDING_PX, ARROW_ROOM_PX],
      paddingBottomRight: [FIT_PADDING_PX, SCALE_ROOM_PX],
      maxZoom: CLOSEST_FIT,
      animate: false,
    });
    this.fitted = { places, view: this.shown };
  }

  /** What is shown, to tell whether it is still what was fitted. */
  get shown() {
    return `${this.map.getCenter()} ${this.map.getZoom()}`;
  }

  /** Takes note of a new size of the view. */
  resize() {
    const fitted = this.fitted?.view === this.shown ? this.fitted : null;
    this.map.invalidateSize({ animate: false });
    if (fitted) this.fit(fitted.places);
  }

  /** Moves just so far that a place is in sight. @param {Place} place */
  bringIntoView(place) {
    this.map.panInside(leafletPlace(place), { padding: [FIT_PADDING_PX, FIT_PADDING_PX], animate: false });
  }

  /** Goes to a place, and near to it where the whole earth was shown. */
  centreOn(/** @type {Place} */ place) {
    this.map.setView(leafletPlace(place), Math.max(this.map.getZoom(), NEAR_ZOOM), { animate: false });
  }

  /** Shows the whole earth: nothing says yet where the job is. */
  showEarth() {
    this.map.setView([0, 0], 1, { animate: false });
  }

  zoomBy(/** @type {number} */ levels) {
    const about = leafletPlace(this.anchor ?? this.centre);
    const fixed = this.map.getBounds().contains(about) ? about : this.map.getCenter();
    // At once: a press while an animation ran would be lost.
    this.map.setZoomAround(fixed, this.map.getZoom() + levels, { animate: false });
  }

  /** Moves the view by a share of its size. @param {number} east @param {number} south */
  panBy(east, south) {
    const view = this.map.getSize();
    this.map.panBy([east * view.x, south * view.y], { animate: false });
  }

  /** @param {Place} place @returns {Point} */
  point(place) {
    return this.map.latLngToContainerPoint(leafletPlace(place));
  }

  /** @param {Point} point @returns {Place} */
  place({ x, y }) {
    const found = this.map.containerPointToLatLng([x, y]);
    return [found.lng, found.lat];
  }

  /** @returns {Place} */
  get centre() {
    const { lng, lat } = this.map.getCenter();
    return [lng, lat];
  }

  /** Ground metres to a pixel: the job's own scale, else that of the sphere, which is within 0.7 % of it. */
  get metresPerPixel() {
    const roundM = this.metresPerDegree ? this.metresPerDegree[0] * 360 : EARTH_M * Math.cos((this.centre[1] * Math.PI) / 180);
    return roundM / (TILE_PX * 2 ** this.map.getZoom());
  }

  /**
   * Tells of "moveend", "click", "dblclick", "mousemove", "mouseout": the latter with the place and the point.
   * @param {string} name
   * @param {(place: Place, point: Point) => void} told
   * @returns {() => void} ends it
   */
  on(name, told) {
    const hear = (/** @type {any} */ event) =>
      event.latlng ? told([event.latlng.lng, event.latlng.lat], event.containerPoint) : told(this.centre, { x: 0, y: 0 });
    this.map.on(name, hear);
    return () => this.map.off(name, hear);
  }
}
