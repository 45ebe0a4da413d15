"use strict";
/* What the ground is painted with: the classes, how much choice of fields there is, or wind limits. */

/** The five classes; see map_classes.py. */
areaplan.ClassPainting = class {
  /**
   * @param {areaplan.Cells} cells
   * @param {areaplan.Palette} palette
   */
  constructor(cells, palette) {
    Object.assign(this, { cells, palette, key: "classes", unknown: areaplan.UNKNOWN, bare: areaplan.BARE });
  }

  classify(out, altitude, window) { this.cells.classify(out, altitude, window); }

  /** Two cells as one: not legal, or without a field, if either is. */
  join(one, other) { return one | other; }
};

/** Cells in steps, the best first; what a cell's step is, the two kinds below say. */
areaplan.StepPainting = class {
  /**
   * @param {areaplan.Cells} cells
   * @param {object} table key, words and steps as `paintings_json` wrote them, unknown last
   * @param {number} ratio device pixels in a CSS pixel
   */
  constructor(cells, table, ratio) {
    const { key, choice, steps } = table;
    Object.assign(this, { cells, key, choice, steps, unknown: steps.length - 1, bare: steps.length });
    // Weak relief: light and shade must not look like another step.
    this.palette = new areaplan.Palette(steps, ratio, 0.3);
  }

  /** As `Cells.classify`, with the steps in place of the classes. */
  classify(out, altitude, window) {
    const { cols } = this.cells;
    for (let row = window.row0; row < window.row1; row++) {
      const first = row * cols;
      for (let i = first + window.col0; i < first + window.col1; i++) out[i] = this.stepAt(i, altitude);
    }
  }

  /** Two cells as one: the worse of them. */
  join(one, other) { return one > other ? one : other; }

  /**
   * Shares of the area by step, from counting its cells.
   * @param {number} altitude feet AMSL
   * @returns {number[]} from 0 to 1, unknown last
   */
  shares(altitude) {
    const { flags, in_area_bit, count } = this.cells, tally = new Array(this.steps.length).fill(0);
    let cells = 0;
    for (let i = 0; i < count; i++) {
      if ((flags[i] & in_area_bit) === 0) continue;
      tally[this.stepAt(i, altitude)]++;
      cells++;
    }
    return tally.map((one) => one / cells);
  }
};

/** A count of sectors or of fields, at any altitude; see map_choice.py. */
areaplan.ChoicePainting = class extends areaplan.StepPainting {
  constructor(cells, table, ratio) {
    super(cells, table, ratio);
    const { steps } = this;
    this.most = cells.sector_amsl_ft.length;
    this.stepOf = Uint8Array.from({ length: this.most + 1 },
      (_, count) => steps.findIndex((step) => count >= step.least));
    this.seen = new Int16Array(this.most);
  }

  /**
   * How much is in reach; the same counts as `areaplan point` tells.
   * @param {number} i cell
   * @param {number} altitude feet AMSL
   * @returns {number} -1 unknown
   */
  countOf(i, altitude) {
    const { cells, seen, most } = this, { sector_amsl_ft: feet, sector_field: fields } = cells;
    if (cells.glide_required_amsl_ft[i] === cells.unknown_ft) return -1;
    const isFields = this.key === "fields";
    let count = 0;
    for (let k = 0; k < most; k++) {
      const required = feet[k][i];
      if (required > altitude || required === cells.unknown_ft || required === cells.unreachable_ft) continue;
      if (isFields) {
        const field = fields[k][i];
        let n = 0;
        while (n < count && seen[n] !== field) n++;
        if (n < count || field === cells.nobody) continue;
        seen[count] = field;
      }
      count++;
    }
    return count;
  }

  stepAt(i, altitude) {
    const count = this.countOf(i, altitude);
    return count < 0 ? this.unknown : this.stepOf[count];
  }
};

/** The least wind limit of the 16 directions, at one altitude and in the area only; see map_wind.py. */
areaplan.WindPainting = class extends areaplan.StepPainting {
  constructor(cells, table, ratio) {
    super(cells, table, ratio);
    const { steps, unknown } = this, { wind, wind_limit_kt } = cells;
    this.isAreaOnly = true;
    // Outside it is the best step, which spoils no block that it shares with the area.
    this.stepOfCell = Uint8Array.from(wind_limit_kt, (kt) => (kt === wind.outside ? 0
      : kt === wind.unknown ? unknown : steps.findIndex((step) => kt >= step.least)));
  }

  stepAt(i) { return this.stepOfCell[i]; }
};

/** The painting that a table of map_choice.py or map_wind.py describes. */
areaplan.paintingOf = (cells, table, ratio) =>
  new (table.key === "wind" ? areaplan.WindPainting : areaplan.ChoicePainting)(cells, table, ratio);

/** The chooser above the legend, the legends, and the note on the map. */
areaplan.PaintingChooser = class {
  /**
   * @param {areaplan.ClassPainting} classes
   * @param {areaplan.StepPainting[]} others
   * @param {function(object): void} changed told the painting chosen
   */
  constructor(classes, others, changed) {
    this.paintings = new Map([classes, ...others].map((one) => [one.key, one]));
    this.chosen = classes;
    this.note = document.getElementById("painted-now");
    for (const canvas of document.querySelectorAll("canvas[data-step]")) {
      this.paintings.get(canvas.dataset.painting).palette.swatch(canvas, Number(canvas.dataset.step));
    }
    for (const radio of document.querySelectorAll("input[name=painting]")) {
      radio.checked = radio.value === classes.key;  // browsers remember forms; the map starts afresh
      radio.addEventListener("change", () => {
        this.chosen = this.paintings.get(radio.value);
        for (const part of document.querySelectorAll("div.painting")) {
          part.hidden = part.dataset.painting !== radio.value;
        }
        this.note.hidden = this.chosen === classes;
        this.note.textContent = this.chosen === classes ? ""
          : `Painted: ${this.chosen.choice[0].toLowerCase()}${this.chosen.choice.slice(1)}, not what is legal`;
        this.show(this.altitude);
        changed(this.chosen);
      });
    }
  }

  /** Shares at an altitude; reckoned a little later, so that a moving altitude stays fluid. */
  show(altitude) {
    this.altitude = altitude;
    if (!this.chosen.shares || this.wait) return;
    this.wait = setTimeout(() => {
      this.wait = 0;
      if (!this.chosen.shares) return;
      const shares = this.chosen.shares(this.altitude), { key } = this.chosen;
      for (const cell of document.querySelectorAll(`[data-step-share][data-painting=${key}]`)) {
        const k = Number(cell.dataset.stepShare);
        cell.textContent = (k === 0 ? areaplan.percentDown : areaplan.percentUp)(shares[k]);
      }
    }, 80);
  }
};
