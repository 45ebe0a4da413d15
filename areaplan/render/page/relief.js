"use strict";
/* The ground itself: light and contour lines from the terrain of the cells. */

/** Shade and contour code of any place, from the highest ground of the cells round it. */
areaplan.Relief = class {
  /** @param {areaplan.Cells} cells */
  constructor(cells) {
    this.cells = cells;
    this.shades = new Float32Array(cells.count);
    const range = this.light();
    // Round steps that give some fifteen lines from the lowest to the highest ground.
    this.contour_ft = [10, 20, 50, 100, 200, 500, 1000].find((step) => range / step <= 15) || 2000;
  }

  /**
   * Lambert shading with the light in the north-west, 45 degrees up, as maps have it (common
   * practice); gradients after Horn (1981), "Hill shading and the reflectance map". Slopes are
   * exaggerated so that the steep tenth of the ground takes half of the light's range.
   * @returns {number} highest less lowest ground, feet
   */
  light() {
    const { rows, cols, terrain_amsl_ft: z, unknown_ft: unknown } = this.cells;
    const run_ft = 8 * this.cells.cell_m / this.cells.foot_m;
    const east = new Float32Array(z.length), north = new Float32Array(z.length), slopes = [];
    let lowest = Infinity, highest = -Infinity;
    for (let row = 0; row < rows; row++) {
      const up = Math.max(0, row - 1) * cols, here = row * cols;
      const down = Math.min(rows - 1, row + 1) * cols;
      for (let col = 0; col < cols; col++) {
        const i = here + col, w = Math.max(0, col - 1), e = Math.min(cols - 1, col + 1);
        const near = [z[up + w], z[up + col], z[up + e], z[here + w], z[here + e],
          z[down + w], z[down + col], z[down + e]];
        if (z[i] === unknown || near.includes(unknown)) { east[i] = NaN; continue; }
        lowest = Math.min(lowest, z[i]); highest = Math.max(highest, z[i]);
        east[i] = (near[2] + 2 * near[4] + near[7] - near[0] - 2 * near[3] - near[5]) / run_ft;
        north[i] = (near[0] + 2 * near[1] + near[2] - near[5] - 2 * near[6] - near[7]) / run_ft;
        if (i % 7 === 0) slopes.push(Math.hypot(east[i], north[i]));
      }
    }
    slopes.sort((a, b) => a - b);
    const steep = slopes[Math.floor(slopes.length * 0.9)] || 0;
    this.exaggeration = steep > 0 ? Math.min(12, Math.max(1, 0.5 / steep)) : 1;
    const flat = Math.SQRT1_2;
    for (let i = 0; i < z.length; i++) {
      if (Number.isNaN(east[i])) { this.shades[i] = 0; continue; }
      const dx = east[i] * this.exaggeration, dy = north[i] * this.exaggeration;
      const lit = (0.5 * (dx - dy) + flat) / Math.sqrt(1 + dx * dx + dy * dy);
      this.shades[i] = Math.max(-1, Math.min(1, (lit - flat) * 2.2));
    }
    return highest > lowest ? highest - lowest : 0;
  }

  /**
   * Shade and height between cell centres.
   * @param {number} x metres
   * @param {number} y metres
   * @param {Float64Array} out shade from -1 to 1, height in feet AMSL (NaN where unknown)
   */
  sample(x, y, out) {
    const { rows, cols, cell_m, x_min_m, y_max_m, terrain_amsl_ft: z, unknown_ft } = this.cells;
    const fx = Math.max(0, Math.min(cols - 1.001, (x - x_min_m) / cell_m - 0.5));
    const fy = Math.max(0, Math.min(rows - 1.001, (y_max_m - y) / cell_m - 0.5));
    const col = fx | 0, row = fy | 0, u = fx - col, v = fy - row;
    const a = row * cols + col, b = col + 1 < cols ? a + 1 : a;
    const c = row + 1 < rows ? a + cols : a, d = c + b - a;
    const wa = (1 - u) * (1 - v), wb = u * (1 - v), wc = (1 - u) * v, wd = u * v;
    const s = this.shades;
    out[0] = wa * s[a] + wb * s[b] + wc * s[c] + wd * s[d];
    const isKnown = z[a] !== unknown_ft && z[b] !== unknown_ft && z[c] !== unknown_ft &&
      z[d] !== unknown_ft;
    out[1] = isKnown ? wa * z[a] + wb * z[b] + wc * z[c] + wd * z[d] : NaN;
  }
};
