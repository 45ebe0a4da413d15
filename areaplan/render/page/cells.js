"use strict";
/* What every cell answers, and the class of a cell at an altitude. Whole feet AMSL throughout. */

/** Classes as in planning/plan.py: bit 0 is "no field", bit 1 is "not legal", 4 is unknown. */
areaplan.UNKNOWN = 4;
areaplan.NO_FIELD_BIT = 1;
areaplan.NOT_LEGAL_BIT = 2;

/** The arrays of the plan, one value a cell, row 0 in the north. */
areaplan.Cells = class {
  /**
   * @param {object} table as map_cells.py wrote it
   * @returns {Promise<areaplan.Cells>}
   */
  static async read(table) {
    const cells = new areaplan.Cells();
    Object.assign(cells, table);
    const names = Object.keys(table.arrays);
    const unpacked = await Promise.all(names.map((name) => Promise.all(
      table.arrays[name].map((block) => areaplan.unpack(block, table.rows, table.cols)))));
    names.forEach((name, i) => { cells[name] = unpacked[i]; });
    for (const name of ["terrain_amsl_ft", "legal_floor_amsl_ft", "legal_floor_binder",
      "glide_required_amsl_ft", "glide_binder", "field", "flags"]) cells[name] = cells[name][0];
    if (cells.wind) cells.wind_limit_kt = cells.wind_limit_kt[0];  // only when limits were asked for
    delete cells.arrays;
    cells.count = table.rows * table.cols;
    cells.bands = cells.bands_amsl_ft.length / 2;
    return cells;
  }

  /**
   * The cell that holds a place; the same as `Grid.cell_of`.
   * @param {number} x metres
   * @param {number} y metres
   * @returns {number} index, or -1 outside the grid
   */
  at(x, y) {
    const col = (x - this.x_min_m) / this.cell_m, row = (this.y_max_m - y) / this.cell_m;
    if (!(col >= 0 && col < this.cols && row >= 0 && row < this.rows)) return -1;
    return Math.floor(row) * this.cols + Math.floor(col);
  }

  /** @param {number} i cell @returns {boolean} whether legality is unknown there */
  isLegalUnknown(i) { return (this.flags[i] & this.unknown_bit) !== 0; }

  /**
   * Class of a cell at an altitude.
   * @param {number} i cell
   * @param {number} altitude feet AMSL
   * @returns {number} 0 to 4
   */
  classOf(i, altitude) {
    const required = this.glide_required_amsl_ft[i];
    if ((this.flags[i] & this.unknown_bit) !== 0 || required === this.unknown_ft) {
      return areaplan.UNKNOWN;
    }
    let answer = areaplan.NOT_LEGAL_BIT;
    for (let b = 0; b < 2 * this.bands; b += 2) {
      const floor = this.bands_amsl_ft[b][i];
      if (floor !== this.no_band_ft && floor <= altitude && altitude <= this.bands_amsl_ft[b + 1][i]) {
        answer = 0;
        break;
      }
    }
    const isSafe = required !== this.unreachable_ft && required <= altitude;
    return isSafe ? answer : answer | areaplan.NO_FIELD_BIT;
  }

  /**
   * Classes of a window of cells at an altitude.
   * @param {Uint8Array} out one a cell of the grid; written inside the window only
   * @param {number} altitude feet AMSL
   * @param {{row0: number, row1: number, col0: number, col1: number}} window ends excluded
   */
  classify(out, altitude, window) {
    for (let row = window.row0; row < window.row1; row++) {
      const first = row * this.cols;
      for (let i = first + window.col0; i < first + window.col1; i++) {
        out[i] = this.classOf(i, altitude);
      }
    }
  }

  /**
   * Counts of the area's cells at every whole foot, exactly, from the edges of their bands.
   * @returns {{cells: number, at: function(number): object}} `at` takes feet AMSL and gives shares
   *   from 0 to 1: legal, safe, both, unknown, and classes, an array of five
   */
  tally() {
    const lowest = -32768, count = 65536;
    const steps = () => new Int32Array(count + 1);
    const legal = steps(), safe = steps(), both = steps(), knownLegal = steps(), knownSafe = steps();
    const add = (array, floor, ceiling) => {
      if (floor > ceiling) return;
      array[floor - lowest]++;
      array[ceiling + 1 - lowest]--;
    };
    let cells = 0, unknown = 0;
    for (let i = 0; i < this.count; i++) {
      if ((this.flags[i] & this.in_area_bit) === 0) continue;
      cells++;
      const required = this.glide_required_amsl_ft[i];
      const isGlideKnown = required !== this.unknown_ft, isLegalKnown = !this.isLegalUnknown(i);
      const canReach = isGlideKnown && required !== this.unreachable_ft;
      if (!isGlideKnown || !isLegalKnown) unknown++;
      if (canReach) {
        add(safe, required, count + lowest - 1);
        if (isLegalKnown) add(knownSafe, required, count + lowest - 1);
      }
      for (let b = 0; isLegalKnown && b < 2 * this.bands; b += 2) {
        const floor = this.bands_amsl_ft[b][i], ceiling = this.bands_amsl_ft[b + 1][i];
        if (floor === this.no_band_ft) continue;
        add(legal, floor, ceiling);
        if (isGlideKnown) add(knownLegal, floor, ceiling);
        if (canReach) add(both, Math.max(floor, required), ceiling);
      }
    }
    for (const array of [legal, safe, both, knownLegal, knownSafe]) {
      for (let i = 1; i <= count; i++) array[i] += array[i - 1];
    }
    const at = (altitude) => {
      const i = altitude - lowest;
      const counts = [both[i], knownLegal[i] - both[i], knownSafe[i] - both[i]];
      const neither = cells - unknown - counts[0] - counts[1] - counts[2];
      return {
        legal: legal[i] / cells, safe: safe[i] / cells, both: both[i] / cells,
        unknown: unknown / cells,
        classes: [...counts, neither, unknown].map((one) => one / cells),
      };
    };
    return { cells, at };
  }
};
