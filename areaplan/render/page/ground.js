"use strict";
/* The painted ground: a Leaflet grid layer whose tiles are classified pixel by pixel. */

areaplan.TILE = 256;  // CSS pixels

/** What the ground shows: classes everywhere, in the area only, or nowhere. */
areaplan.SHOW_ALL = "all";
areaplan.SHOW_AREA = "area";
areaplan.SHOW_BARE = "bare";

/**
 * Degrees of a place on the screen's projection (spherical Mercator, EPSG:3857).
 * @param {number} y from 0 in the north of the world to 1 in the south
 * @returns {number} latitude, degrees
 */
areaplan.latOfMercator = (y) => Math.atan(Math.sinh(Math.PI * (1 - 2 * y))) * 180 / Math.PI;

areaplan.Ground = L.GridLayer.extend({
  /**
   * @param {areaplan.Cells} cells
   * @param {areaplan.Place} place
   * @param {areaplan.Relief} relief
   * @param {object[]} styles of the five classes
   * @param {number} altitude feet AMSL
   */
  initialize(cells, place, relief, styles, altitude) {
    L.GridLayer.prototype.initialize.call(this, {
      tileSize: areaplan.TILE, noWrap: true, keepBuffer: 1, updateWhenIdle: false,
      updateWhenZooming: false, className: "ground",
    });
    Object.assign(this, { cells, place, relief, altitude });
    this.show = areaplan.SHOW_ALL;
    this.isContoured = true;
    const screen = window.innerWidth * window.innerHeight;
    this.ratio = window.devicePixelRatio >= 1.5 && screen <= 600000 ? 2 : 1;
    this.palette = new areaplan.Palette(styles, this.ratio);
    this.painting = new areaplan.ClassPainting(cells, this.palette);
    this.alive = new Map();
    this.levels = [this.level(0)];
    this.on("tileunload", (event) => this.alive.delete(event.tile));
  },

  /**
   * Storage for classes of blocks of 2^n by 2^n cells: a block is as bad as all its cells together.
   * @param {number} n level
   * @returns {{rows: number, cols: number, classes: Uint8Array, inArea: Uint8Array}}
   */
  level(n) {
    const { rows, cols, flags, in_area_bit } = this.cells;
    const level = { rows: -(-rows >> n), cols: -(-cols >> n) };
    level.classes = new Uint8Array(level.rows * level.cols);
    level.inArea = new Uint8Array(level.rows * level.cols);
    for (let row = 0, i = 0; row < rows; row++) {
      const first = (row >> n) * level.cols;
      for (let col = 0; col < cols; col++, i++) {
        if ((flags[i] & in_area_bit) !== 0) level.inArea[first + (col >> n)] = 1;
      }
    }
    return level;
  },

  /** Leaflet asks for a tile. */
  createTile(coords) {
    const canvas = document.createElement("canvas");
    canvas.width = canvas.height = areaplan.TILE * this.ratio;
    const context = canvas.getContext("2d", { willReadFrequently: true });
    const tile = this.lookUp(coords, canvas.width);
    tile.context = context;
    tile.image = context.createImageData(canvas.width, canvas.width);
    tile.pixels = new Uint32Array(tile.image.data.buffer);
    this.alive.set(canvas, tile);
    this.paint(tile);
    return canvas;
  },

  /**
   * Which cell and which shade every pixel of a tile shows; does not depend on the altitude.
   * @param {{x: number, y: number, z: number}} coords of the tile
   * @param {number} size device pixels along its side
   */
  lookUp(coords, size) {
    const { cells, place, relief } = this;
    const tiles = 2 ** coords.z, lat = areaplan.latOfMercator((coords.y + 0.5) / tiles);
    const pixel_m = 40075016.686 * Math.cos(lat * Math.PI / 180) / tiles / size;
    const n = Math.max(0, Math.ceil(Math.log2(pixel_m / cells.cell_m)));
    while (this.levels.length <= n) this.levels.push(this.level(this.levels.length));
    const cols = this.levels[n].cols, out = new Float64Array(2);
    const index = new Int32Array(size * size).fill(-1), shade = new Uint8Array(size * size).fill(32);
    const band = new Int32Array(size * size).fill(-1);
    let row0 = Infinity, row1 = -1, col0 = Infinity, col1 = -1;
    const u0 = place.across(coords.x / tiles * 360 - 180);
    const du = (place.across((coords.x + 1) / tiles * 360 - 180) - u0) / size;
    for (let y = 0, p = 0; y < size; y++, p = y * size) {
      const along = place.alongParallel(areaplan.latOfMercator((coords.y + (y + 0.5) / size) / tiles));
      if (!along) continue;
      for (let x = 0; x < size; x++, p++) {
        const u = u0 + (x + 0.5) * du;
        if (!(u >= -1 && u <= 1)) continue;
        const east = areaplan.horner(along.x, u), north = areaplan.horner(along.y, u);
        const i = cells.at(east, north);
        if (i < 0) continue;
        const row = Math.floor(i / cells.cols), col = i - row * cells.cols;
        index[p] = (row >> n) * cols + (col >> n);
        if (row < row0) row0 = row;
        if (row > row1) row1 = row;
        if (col < col0) col0 = col;
        if (col > col1) col1 = col;
        relief.sample(east, north, out);
        shade[p] = Math.max(0, Math.min(63, Math.round(32 + out[0] * 32)));
        if (out[1] === out[1]) band[p] = Math.floor(out[1] / relief.contour_ft) + 100000;
      }
    }
    areaplan.drawContours(band, shade, size);
    const last = (1 << n) - 1;  // whole blocks only
    const window = {
      row0: row0 & ~last, row1: Math.min(cells.rows, (row1 | last) + 1),
      col0: col0 & ~last, col1: Math.min(cells.cols, (col1 | last) + 1),
    };
    return { z: coords.z, coords, size, n, index, shade, window, isEmpty: row1 < 0, painted: "" };
  },

  /** Classify a tile's cells at the altitude and paint it. */
  paint(tile) {
    const { painting } = this, { palette } = painting, level = this.levels[tile.n];
    if (!tile.isEmpty && this.show !== areaplan.SHOW_BARE) {
      painting.classify(this.levels[0].classes, this.altitude, tile.window);
      if (tile.n > 0) this.gather(tile.n, tile.window);
    }
    const { index, shade, pixels, size } = tile, { colours, inks } = palette;
    const mask = palette.size - 1, side = palette.size, keep = this.isContoured ? 255 : 63;
    const isBare = this.show === areaplan.SHOW_BARE;
    const isArea = painting.isAreaOnly || this.show === areaplan.SHOW_AREA;
    for (let y = 0, p = 0; y < size; y++) {
      const inkRow = (y & mask) * side;
      for (let x = 0; x < size; x++, p++) {
        const i = index[p];
        let k = painting.unknown;
        if (i >= 0) k = isBare || (isArea && level.inArea[i] === 0) ? painting.bare : level.classes[i];
        const ink = inks[k * side * side + inkRow + (x & mask)];
        pixels[p] = colours[(k << 9) | ink | (shade[p] & keep)];
      }
    }
    tile.context.putImageData(tile.image, 0, 0);
    tile.painted = this.wanted();
  },

  /** Join classes of single cells into blocks, each as bad as all its cells together. */
  gather(n, window) {
    const from = this.levels[0], to = this.levels[n], { painting } = this;
    for (let row = window.row0 >> n; row << n < window.row1; row++) {
      to.classes.fill(0, row * to.cols + (window.col0 >> n), row * to.cols + (-(-window.col1 >> n)));
    }
    for (let row = window.row0; row < window.row1; row++) {
      const first = (row >> n) * to.cols;
      for (let col = window.col0, i = row * from.cols + col; col < window.col1; col++, i++) {
        const block = first + (col >> n);
        to.classes[block] = painting.join(to.classes[block], from.classes[i]);
      }
    }
    for (let row = window.row0 >> n; row << n < window.row1; row++) {
      const end = row * to.cols + (-(-window.col1 >> n));
      for (let i = row * to.cols + (window.col0 >> n); i < end; i++) {
        if (to.classes[i] > painting.unknown) to.classes[i] = painting.unknown;
      }
    }
  },

  /** @returns {string} what a tile must have been painted for to be right */
  wanted() { return `${this.painting.key} ${this.altitude} ${this.show} ${this.isContoured}`; },

  /**
   * Repaint the tiles in view at once, the others when there is time.
   * @returns {number} tiles painted
   */
  repaint() {
    const zoom = Math.round(this._map.getZoom()), wanted = this.wanted();
    const view = this._map.getPixelBounds(this._map.getCenter(), zoom);
    let painted = 0, later = 0;
    for (const tile of this.alive.values()) {
      if (tile.painted === wanted) continue;
      const corner = L.point(tile.coords.x, tile.coords.y).multiplyBy(areaplan.TILE);
      const box = L.bounds(corner, corner.add([areaplan.TILE, areaplan.TILE]));
      if (tile.z === zoom && view.intersects(box)) { this.paint(tile); painted++; } else later++;
    }
    clearTimeout(this.rest);
    if (later > 0) this.rest = setTimeout(() => this.repaintRest(), 120);
    return painted;
  },

  /** Bring the tiles out of view up to date. */
  repaintRest() {
    const wanted = this.wanted();
    for (const tile of this.alive.values()) if (tile.painted !== wanted) this.paint(tile);
  },

  /**
   * Paint the tiles of the scale in use into another canvas.
   * @param {CanvasRenderingContext2D} context scaled to CSS pixels
   * @param {areaplan.View} view
   */
  paintInto(context, view) {
    this.repaintRest();
    for (const [canvas, { coords, z }] of this.alive) {
      if (z !== Math.round(this._map.getZoom())) continue;
      const side = areaplan.TILE * view.scale / 2 ** z;
      context.drawImage(canvas, coords.x * side + view.x, coords.y * side + view.y, side, side);
    }
  },

  /** @returns {object} the layer with Leaflet's own events and ours */
  getEvents() {
    const events = L.GridLayer.prototype.getEvents.call(this), moved = events.move;
    events.move = (event) => { if (moved) moved.call(this, event); this.repaint(); };
    return events;
  },
});

/**
 * Mark the pixels where the height passes a contour.
 * @param {Int32Array} band number of the contour step of each pixel, -1 unknown
 * @param {Uint8Array} shade gets the contour bits
 * @param {number} size pixels along the side
 */
areaplan.drawContours = function (band, shade, size) {
  for (let y = 0; y < size - 1; y++) {
    for (let x = 0, p = y * size; x < size - 1; x++, p++) {
      const here = band[p], east = band[p + 1], south = band[p + size];
      if (here < 0 || east < 0 || south < 0 || (here === east && here === south)) continue;
      const top = Math.max(here, east, south);
      shade[p] |= top % 5 === 0 ? areaplan.INDEX_BIT : areaplan.CONTOUR_BIT;
    }
  }
};
