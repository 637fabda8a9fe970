// @ts-check
// The layers of the map: what each holds, in the order in which they lie on each other, and their switches.

/** @typedef {import("../base/map.js").SiteMap} SiteMap */
/** @typedef {{key: string, name: string, group: string, count: number, sample: string, letter: string, isShown: boolean, paths: Element[]}} Layer */

/** Kinds of the base, the areas first so that lines lie on them. */
const LINEWORK = ["building", "water_edge", "sidewalk", "property_line", "fence", "edge_of_pavement", "curb", "other"];

export class Layers {
  /** @param {SiteMap} map @param {any} data */
  constructor(map, data) {
    this.map = map;
    this.data = data;
    /** @type {Layer[]} */
    this.all = [];
    /** Draws symbols and letters anew; set by who draws them. */
    this.redraw = () => {};
    this.drawLinework();
    this.drawTickets();
    this.drawLines();
    this.drawBores();
    this.drawDrilled();
    this.add("test_holes", "Test holes", "Found", data.testHoles.length);
    this.add("surface_features", "Surface features", "Found", data.features.length);
    this.add("crossings", "Crossings, by verdict", "Bore", data.crossings.length);
    this.add("drilled_crossings", "Crossings as drilled, by verdict", "Bore", data.drilledCrossings.length);
  }

  /**
   * @param {string} key
   * @param {string} name
   * @param {string} group
   * @param {number} count
   * @param {Element[]} [paths]
   * @param {string} [letter]
   */
  add(key, name, group, count, paths = [], letter = "") {
    if (count) this.all.push({ key, name, group, count, sample: key, letter, isShown: true, paths });
  }

  /** @param {string} key */
  isShown(key) {
    return this.all.find((layer) => layer.key === key)?.isShown ?? false;
  }

  /** Shows or hides a layer. @param {string} key @param {boolean} isShown */
  show(key, isShown) {
    for (const layer of this.all) {
      if (layer.key !== key) continue;
      layer.isShown = isShown;
      for (const path of layer.paths) path.classList.toggle("is-off", !isShown);
    }
    if (key === "zones" || key.startsWith("line-")) this.matchZones();
    this.redraw();
  }

  /** A zone is seen while both its line and the zones are. */
  matchZones() {
    for (const [kind, path] of this.zonePaths) {
      path.classList.toggle("is-off", !(this.isShown("zones") && this.isShown(`line-${kind}`)));
    }
    for (const [kind, path] of this.foundPaths) {
      path.classList.toggle("is-off", !(this.isShown("found") && this.isShown(`line-${kind}`)));
    }
  }

  drawLinework() {
    const { linework } = this.data;
    const paths = LINEWORK.flatMap((kind) => {
      const pieces = linework.filter((piece) => piece.feature_type === kind);
      const areas = pieces.filter((piece) => piece.is_area).map((piece) => piece.parts);
      const lines = pieces.filter((piece) => !piece.is_area).flatMap((piece) => piece.parts);
      return [
        ...(areas.length ? [this.map.areas(`base base-area base-${kind}`, areas)] : []),
        ...(lines.length ? [this.map.lines(`base base-${kind}`, lines)] : []),
      ];
    });
    this.add("linework", "Curbs, buildings and the like", "Base", linework.length, paths);
  }

  drawTickets() {
    const { tickets } = this.data;
    const paths = [true, false].flatMap((inForce) => {
      // Each outline by itself: neighbours that share an edge keep it.
      const outlines = tickets.filter((ticket) => ticket.in_force === inForce).flatMap((ticket) => ticket.area);
      if (!outlines.length) return [];
      return [this.map.lines(`ticket ${inForce ? "is-in-force" : "is-not-in-force"}`, outlines)];
    });
    this.add("tickets", "Ticket work areas", "Base", tickets.length, paths);
  }

  drawLines() {
    const { marks, facilities } = this.data;
    const ofKind = facilities.map((kind, index) => ({ ...kind, marks: marks.filter((mark) => mark.facility === index) }));
    const used = ofKind.filter((kind) => kind.marks.length);
    const zoned = used.filter((kind) => kind.marks.some((mark) => mark.zone));
    const found = used.filter((kind) => kind.marks.some((mark) => mark.found.length));
    /** @type {Map<string, Element>} */
    this.zonePaths = new Map(
      zoned.map((kind) => [
        kind.kind,
        this.map.areas(`zone paint-${kind.kind}`, kind.marks.flatMap((mark) => (mark.zone ? [mark.zone] : []))),
      ]),
    );
    for (const kind of used) {
      const lines = kind.marks.map((mark) => mark.painted).filter((line) => line.length > 1);
      const paths = lines.length
        ? [this.map.lines("line-casing", lines), this.map.lines(`line-paint paint-${kind.kind}`, lines)]
        : [];
      this.add(`line-${kind.kind}`, kind.name, "Lines, as painted", kind.marks.length, paths, kind.letter);
    }
    /** @type {Map<string, Element>} */
    this.foundPaths = new Map(
      found.map((kind) => [
        kind.kind,
        this.map.lines("line-found", kind.marks.flatMap((mark) => mark.found)),
      ]),
    );
    this.add("zones", "Tolerance zones", "Found", zoned.length ? marks.filter((mark) => mark.zone).length : 0);
    this.add("found", "Found away from its paint", "Found", marks.filter((mark) => mark.found.length).length);
  }

  drawBores() {
    const { bores, pits, uncovered } = this.data;
    const lines = bores.map((bore) => bore.line);
    const pitPaths = pits.length ? [this.map.areas("pit", pits.map((pit) => pit.area))] : [];
    const isOther = (/** @type {any} */ bore) => this.data.isOfBore && bore.id !== this.data.boreId;
    const own = bores.filter((bore) => !isOther(bore)).map((bore) => bore.line);
    const others = bores.filter(isOther).map((bore) => bore.line);
    const paths = [this.map.lines("bore-casing", lines), this.map.lines("bore-line", own)];
    if (others.length) paths.push(this.map.lines("bore-line is-other", others));
    this.add("bores", "Bores, with stations", "Bore", bores.length, paths);
    const bare = uncovered.map((stretch) => stretch.line);
    const barePaths = bare.length ? [this.map.lines("bore-uncovered", bare)] : [];
    this.add("uncovered", "Not covered by a ticket until the finish", "Bore", bare.length, barePaths);
    this.add("pits", "Pits", "Bore", pits.length, pitPaths);
  }

  /** What was drilled: told from the plan by its beads, an abandoned leg by its dots; the band lies under both. */
  drawDrilled() {
    const { drilled } = this.data;
    const inGround = drilled.filter((path) => !path.leg);
    const legs = drilled.filter((path) => path.leg);
    const left = legs.map((path) => path.line);
    const legPaths = left.length ? [this.map.lines("abandoned-casing", left), this.map.lines("abandoned-line", left)] : [];
    const lines = inGround.map((path) => path.line);
    const paths = lines.length
      ? [
          this.map.areas("drilled-band", inGround.map((path) => path.band)),
          this.map.lines("drilled-line", lines),
          this.map.lines("drilled-beads", lines),
        ]
      : [];
    this.add("abandoned", "Abandoned legs, pulled back", "Bore", legs.length, legPaths);
    this.add("drilled", "As drilled, and how far off it may be", "Bore", inGround.length, paths);
  }
}
