"use strict";
/* The altitude control: a strip of the area's shares by altitude, with the altitude on it. */

areaplan.THUMB = 26;  // width of the control's handle, CSS pixels; the same in page.css

areaplan.AltitudeControl = class {
  /**
   * @param {object} table ends and planned altitudes, feet AMSL
   * @param {{at: function(number): object}} tally shares of the area by altitude
   * @param {areaplan.Palette} palette
   * @param {function(number): void} changed told the new altitude, feet AMSL
   */
  constructor(table, tally, palette, changed) {
    Object.assign(this, { table, tally, palette, changed });
    this.slider = document.getElementById("altitude");
    this.number = document.getElementById("altitude-number");
    this.chart = document.getElementById("altitude-chart");
    this.buttons = [...document.querySelectorAll("#altitude-control [data-altitude]")];
    this.altitude = Number(this.slider.value);
    this.slider.addEventListener("input", () => this.set(Number(this.slider.value)));
    this.slider.addEventListener("keydown", (event) => this.key(event));
    this.number.addEventListener("change", () => this.set(Number(this.number.value)));
    for (const button of this.buttons) {
      button.addEventListener("click", () => this.set(Number(button.dataset.altitude)));
    }
    new ResizeObserver(() => this.drawChart()).observe(this.chart);
    this.show();
  }

  /** Choose an altitude; what is no number or beyond the ends is brought back. */
  set(altitude) {
    const { lowest_ft, highest_ft } = this.table;
    const whole = Number.isFinite(altitude) ? Math.round(altitude) : this.altitude;
    this.altitude = Math.max(lowest_ft, Math.min(highest_ft, whole));
    this.show();
    this.changed(this.altitude);
  }

  /** Page keys go by hundreds of feet; arrows are the slider's own single feet. */
  key(event) {
    const step = { PageUp: 100, PageDown: -100 }[event.key];
    if (!step) return;
    event.preventDefault();
    this.set(this.altitude + step);
  }

  show() {
    this.slider.value = this.number.value = String(this.altitude);
    this.slider.setAttribute("aria-valuetext", `${this.altitude} feet above mean sea level`);
    for (const button of this.buttons) {
      button.setAttribute("aria-pressed", String(Number(button.dataset.altitude) === this.altitude));
    }
    const shares = this.tally.at(this.altitude);
    for (const cell of document.querySelectorAll("[data-share]")) {
      const k = Number(cell.dataset.share);
      cell.textContent = (k === 0 ? areaplan.percentDown : areaplan.percentUp)(shares.classes[k]);
    }
    for (const cell of document.querySelectorAll("[data-sum]")) {
      const key = cell.dataset.sum;
      cell.textContent = (key === "unknown" ? areaplan.percentUp : areaplan.percentDown)(shares[key]);
    }
    const both = `legal with a field: ${areaplan.percentDown(shares.both)} of the area`;
    document.querySelector(".both-now").textContent = both;
    document.getElementById("now-altitude").textContent = `${areaplan.feet(this.altitude)} AMSL`;
    // Spoken only when the control rests, or a screen reader would stutter.
    clearTimeout(this.rest);
    this.rest = setTimeout(() => {
      document.getElementById("altitude-said").textContent =
        `${this.altitude} feet: ${both}, unknown ${areaplan.percentUp(shares.unknown)}`;
    }, 600);
    this.drawChart();
  }

  /** Column of an altitude on the chart, CSS pixels; the middle of the handle stands on it. */
  columnOf(altitude, width) {
    const { lowest_ft, highest_ft } = this.table;
    const along = (altitude - lowest_ft) / (highest_ft - lowest_ft);
    return areaplan.THUMB / 2 + along * (width - areaplan.THUMB);
  }

  /** Shares of the classes at every altitude, stacked from usable (below) to unknown (above). */
  drawChart() {
    const ratio = this.palette.ratio;
    const width = this.chart.clientWidth, height = this.chart.clientHeight, foot = 16;
    if (width === 0) return;
    const context = this.chart.getContext("2d"), size = [width * ratio, height * ratio].map(Math.round);
    if (this.chart.width !== size[0] || this.chart.height !== size[1]) {
      [this.chart.width, this.chart.height] = size;
      this.strip = null;
    }
    this.strip ||= this.paintStrip(size[0], Math.round((height - foot) * ratio), ratio, width);
    context.setTransform(1, 0, 0, 1, 0, 0);
    context.clearRect(0, 0, size[0], size[1]);
    context.putImageData(this.strip, 0, 0);
    context.setTransform(ratio, 0, 0, ratio, 0, 0);
    this.drawScale(context, width, height - foot);
  }

  /** @returns {ImageData} the painted shares, which never change */
  paintStrip(columns, rows, ratio, width) {
    const { lowest_ft, highest_ft } = this.table, { colours, inks, size } = this.palette;
    const image = new ImageData(columns, rows), out = new Uint32Array(image.data.buffer);
    for (let x = 0; x < columns; x++) {
      const along = (x / ratio - areaplan.THUMB / 2) / (width - areaplan.THUMB);
      if (along < 0 || along > 1) continue;
      const shares = this.tally.at(Math.round(lowest_ft + along * (highest_ft - lowest_ft)));
      let k = 0, top = rows - shares.classes[0] * rows;
      for (let y = rows - 1; y >= 0; y--) {
        while (k < 4 && y + 0.5 < top) top -= shares.classes[++k] * rows;
        const ink = inks[(k * size + (y & (size - 1))) * size + (x & (size - 1))];
        out[y * columns + x] = colours[(k << 9) | ink | (areaplan.SHADES >> 1)];
      }
    }
    return image;
  }

  drawScale(context, width, bottom) {
    const { lowest_ft, highest_ft, planned_ft } = this.table, span = highest_ft - lowest_ft;
    const step = [100, 200, 500, 1000, 2000, 5000].find((one) => span / one * 62 <= width) || 10000;
    context.font = areaplan.LABEL_FONT;
    context.textAlign = "center";
    context.textBaseline = "top";
    context.fillStyle = areaplan.INK;
    let free = 0;
    for (let z = Math.ceil(lowest_ft / step) * step; z <= highest_ft; z += step) {
      const x = this.columnOf(z, width);
      context.fillRect(x - 0.5, bottom, 1, 4);
      const half = context.measureText(areaplan.feet(z)).width / 2;
      const middle = Math.max(half, Math.min(width - half, x));
      if (middle - half < free) continue;
      context.fillText(areaplan.feet(z), middle, bottom + 4);
      free = middle + half + 6;
    }
    const rule = (altitude, dash, wide) => {
      const x = this.columnOf(altitude, width);
      for (const [colour, more] of [["#FFFFFF", 3], [areaplan.INK, 0]]) {
        context.strokeStyle = colour;
        context.lineWidth = wide + more;
        context.setLineDash(more ? [] : dash);
        context.beginPath();
        context.moveTo(x, 0);
        context.lineTo(x, bottom);
        context.stroke();
      }
      context.setLineDash([]);
    };
    for (const altitude of planned_ft) rule(altitude, [4, 3], 1.5);
    rule(this.altitude, [], 3);
  }
};
