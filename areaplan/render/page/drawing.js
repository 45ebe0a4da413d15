"use strict";
/* Everything drawn over the painted ground, on one canvas that follows the map. */

areaplan.Drawing = L.Layer.extend({
  /**
   * @param {object} drawn layers, standoffs and shapes as map_shapes.py wrote them
   * @param {areaplan.Ground} ground painted below
   * @param {number} altitude feet AMSL
   * @param {number} foot_m metres in a foot
   */
  initialize(drawn, ground, altitude, foot_m) {
    const shapes = drawn.shapes.map(areaplan.unpackShape);
    Object.assign(this, { altitude, ground });
    this.layers = areaplan.LAYERS.flatMap((style) => Object.entries(drawn.layers)
      .filter(([key, rows]) => key.split("@")[0] === style.id && rows.length > 0)
      .map(([key, rows]) => this.filled(style, key, rows, shapes)));
    this.altitudes = new Set(Object.keys(drawn.layers).filter((key) => key.includes("@"))
      .map((key) => Number(key.split("@")[1])));
    this.standoffs = new areaplan.Standoffs(drawn.standoffs, shapes, foot_m);
    this.marks = null;
  },

  /**
   * A layer's style with its rows.
   * @param {object} style one of areaplan.LAYERS
   * @param {string} key id of the style; and "@" and feet AMSL where the layer belongs to an altitude
   * @param {object[][]} rows as map_shapes.py wrote them
   * @param {object[]} shapes unpacked
   */
  filled(style, key, rows, shapes) {
    const at = key.includes("@") ? Number(key.split("@")[1]) : null;
    const words = at === null ? style.words : style.words.replace("@", `${areaplan.feet(at)} AMSL`);
    return {
      ...style, words, at, isOn: at === null || at === this.altitude,
      rows: rows.map(([index, name, figures, told]) => ({
        shape: shapes[index], name, figures, told: told || [],
        title: areaplan.shortened(areaplan.paintable((style.prefix || "") + name), 34),
        below: areaplan.shortened(areaplan.paintable(figures), 52),
      })),
    };
  },

  /**
   * Go to an altitude. Where layers belong to it, be they empty, they are switched on and those of
   * others off; any other changes nothing, as nothing drawn would say that nothing is there.
   * @param {number} altitude feet AMSL
   */
  follow(altitude) {
    if (altitude !== this.altitude && this.altitudes.has(altitude)) {
      for (const layer of this.layers.filter((one) => one.at !== null)) {
        layer.isOn = layer.at === altitude;
        if (layer.box) layer.box.checked = layer.isOn;
      }
    }
    this.altitude = altitude;
  },

  onAdd(map) {
    this.canvas = L.DomUtil.create("canvas", "drawing", this.getPane());
    this.canvas.setAttribute("aria-hidden", "true");
    this.context = this.canvas.getContext("2d");
    this.draw();
    return this;
  },

  onRemove() { this.canvas.remove(); },

  getEvents() { return { move: this.draw, moveend: this.draw, zoomend: this.draw, resize: this.draw }; },

  /** Draw at the next frame, once however often it is asked for. */
  later() {
    if (this.frame) return;
    this.frame = requestAnimationFrame(() => { this.frame = 0; this.draw(); });
  },

  /**
   * Marks that follow the pointer's work: the place asked, the way to its field, a measured line.
   * @param {?{at: number[], to: ?number[], measured: number[][]}} marks longitude, latitude, degrees
   */
  mark(marks) { this.marks = marks; this.later(); },

  /** Draw all that is in view. */
  draw() {
    const map = this._map;
    if (!map) return;
    const view = new areaplan.View(map), ratio = window.devicePixelRatio || 1;
    const width = Math.round(view.width * ratio), height = Math.round(view.height * ratio);
    if (this.canvas.width !== width || this.canvas.height !== height) {
      this.canvas.width = width;
      this.canvas.height = height;
      this.canvas.style.width = `${view.width}px`;
      this.canvas.style.height = `${view.height}px`;
    }
    L.DomUtil.setPosition(this.canvas, map.containerPointToLayerPoint([0, 0]));
    const context = this.context;
    context.setTransform(ratio, 0, 0, ratio, 0, 0);
    context.clearRect(0, 0, view.width, view.height);
    // On paper a browser may take a canvas as opaque and hide the tiles below it (Chromium does):
    // there the ground is painted into this canvas as well.
    if (document.documentElement.classList.contains("printing")) this.ground.paintInto(context, view);
    this.standoffs.draw(context, view, this.altitude, ratio);
    for (const layer of this.layers) if (layer.isOn) this.drawLayer(context, view, layer);
    this.drawMarks(context, view);
    this.drawNames(context, view);
  },

  /** Lines and points of one layer, one path for all of them. */
  drawLayer(context, view, layer) {
    const zoom = this._map.getZoom(), isBold = layer.isFixed || layer.isBold;
    const scale = isBold || zoom > 12 ? 1 : 0.65;
    if (zoom < (layer.from || 0)) return;
    if (layer.line.lands || layer.line.enters) { this.drawArrows(context, view, layer, scale); return; }
    if (layer.badge) { areaplan.drawBadges(context, view, layer); return; }
    if (layer.band !== undefined) { areaplan.drawBands(context, view, layer, this.ground.palette); return; }
    context.beginPath();
    const points = [];
    for (const { shape } of layer.rows) {
      if (!view.sees(shape.box, 12)) continue;
      const size = Math.max(shape.box[2] - shape.box[0], shape.box[3] - shape.box[1]) * view.scale;
      if (layer.point && size < 4) { points.push(shape.box); continue; }
      for (const line of shape.lines) view.trace(context, line, false);
      for (const ring of shape.rings) view.trace(context, ring, true);
      for (const point of shape.points) points.push(point);
    }
    areaplan.strokeStyled(context, layer.line, scale);
    if (layer.glyph) areaplan.fillGlyphs(context, view, layer);
    if (layer.line.flows) areaplan.drawFlow(context, view, layer);
    for (const point of points) {
      const x = point[0] * view.scale + view.x, y = point[1] * view.scale + view.y;
      areaplan.markPoint(context, layer.point || "square", x, y, scale);
    }
  },

  /** Strips with the way to land on them; entries, as long on the screen at every zoom. */
  drawArrows(context, view, layer, scale) {
    for (const { shape } of layer.rows) {
      if (!view.sees(shape.box, 12)) continue;
      for (const line of shape.lines) {
        const [from, to] = [0, line.length - 2].map((i) => (
          [line[i] * view.scale + view.x, line[i + 1] * view.scale + view.y]));
        if (layer.line.enters) {
          const share = areaplan.ENTRY_ARROW / Math.hypot(from[0] - to[0], from[1] - to[1]);
          const start = [0, 1].map((k) => to[k] + share * (from[k] - to[k]));
          areaplan.markArrow(context, start, to, 1, false);
        } else areaplan.markArrow(context, from, to, scale);
      }
    }
  },

  /** Names, the layers of the lowest rank first. */
  drawNames(context, view) {
    const labels = new areaplan.Labels(context, view), zoom = this._map.getZoom();
    const ranked = this.layers.filter((layer) => layer.isOn && zoom >= layer.zoom && layer.rank > 0)
      .sort((a, b) => a.rank - b.rank);
    this.keepClear(labels, view);
    let left = 140;
    for (const layer of ranked) {
      for (const row of layer.rows) {
        if (left <= 0) return;
        if (!view.sees(row.shape.box, 0)) continue;
        const [w, n, e, s] = row.shape.box;
        const span = Math.max(e - w, s - n) * view.scale;
        if (!layer.point && !layer.line.enters && span < (layer.least || 26)) continue;
        const hasFigures = row.below !== "" && zoom >= (layer.figuresZoom || 0);
        const lines = hasFigures ? [row.title, row.below] : [row.title];
        const spots = areaplan.labelSpots(row.shape, view);
        const far = (layer.keeps || layer.band !== undefined ? 17 : 5) + 7.5 * lines.length;
        if (layer.hovers || layer.glyph) spots.unshift(...areaplan.besideBox(row.shape.box, view, far));
        if (labels.place(lines, spots)) left--;
      }
    }
  },

  /** No names below what stands on the map, nor over marks that must be seen whole. */
  keepClear(labels, view) {
    for (const layer of this.layers.filter((one) => one.isOn && one.keeps)) {
      for (const { shape: { box: [w, n, e, s] } } of layer.rows) {
        const x = (w + e) / 2 * view.scale + view.x, y = (n + s) / 2 * view.scale + view.y;
        labels.reserve(x - layer.keeps, y - layer.keeps, 2 * layer.keeps, 2 * layer.keeps);
      }
    }
    const frame = this._map.getContainer().getBoundingClientRect();
    for (const part of document.querySelectorAll("#marks, #scale, #answer, .leaflet-control-zoom")) {
      const box = part.getBoundingClientRect();
      labels.reserve(box.x - frame.x, box.y - frame.y, box.width, box.height);
    }
    if (this.marks && this.marks.at) {
      const { x, y } = this._map.latLngToContainerPoint([this.marks.at[1], this.marks.at[0]]);
      labels.reserve(x - 18, y - 18, 36, 36);
    }
  },

  drawMarks(context, view) {
    if (!this.marks) return;
    const onScreen = ([lon, lat]) => [areaplan.worldX(lon) * view.scale + view.x,
      areaplan.worldY(lat) * view.scale + view.y];
    const { at, to, measured } = this.marks;
    const line = (places, dash) => {
      context.beginPath();
      places.map(onScreen).forEach(([x, y], i) => (i ? context.lineTo(x, y) : context.moveTo(x, y)));
      areaplan.strokeStyled(context, { width: 2, dash });
    };
    if (measured && measured.length > 0) {
      if (measured.length > 1) line(measured, []);
      for (const place of measured) areaplan.markPoint(context, "ring", ...onScreen(place));
    }
    if (!at) return;
    if (to) line([at, to], [5, 5]);
    const [x, y] = onScreen(at);
    context.beginPath();
    context.arc(x, y, 9, 0, 2 * Math.PI);
    for (const [dx, dy] of [[1, 0], [-1, 0], [0, 1], [0, -1]]) {
      context.moveTo(x + 5 * dx, y + 5 * dy);
      context.lineTo(x + 16 * dx, y + 16 * dy);
    }
    areaplan.strokeStyled(context, { width: 2 });
  },

  /**
   * What is drawn at a place: shapes that hold it, and lines and points near it.
   * @param {number} lon degrees
   * @param {number} lat degrees
   * @param {boolean} isHover whether only layers that tell themselves below the pointer count
   * @returns {{layer: string, name: string, figures: string, told: string[][]}[]} at most eight
   */
  pick(lon, lat, isHover = false) {
    const x = areaplan.worldX(lon), y = areaplan.worldY(lat), found = [];
    const near = 10 / 2 ** this._map.getZoom();
    for (const layer of [...this.layers].sort((a, b) => a.rank - b.rank)) {
      if (!layer.isOn || layer.isFixed || layer.isMute || (isHover && !layer.hovers)) continue;
      const reach = near * (layer.reach || 1);
      for (const { shape, name, figures, told } of layer.rows) {
        const [w, n, e, s] = shape.box;
        if (x < w - reach || x > e + reach || y < n - reach || y > s + reach) continue;
        const isHit = areaplan.isInside(shape.rings, x, y) || areaplan.nearness(shape, x, y) <= reach;
        if (isHit && found.length < 8) {
          found.push({ layer: layer.words, prefix: layer.prefix || "", name, figures, told });
        }
      }
    }
    return found;
  },
});
