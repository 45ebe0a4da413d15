"use strict";
/* The scale bar and the ruler. */

/** Draw three bars of round lengths in nautical miles, feet and metres, true at the map's middle. */
areaplan.ScaleBar = class {
  /**
   * @param {L.Map} map
   * @param {object} lengths foot_m and nautical_mile_m
   */
  constructor(map, lengths) {
    this.map = map;
    this.units = [["NM", lengths.nautical_mile_m], ["ft", lengths.foot_m], ["m", 1]];
    this.canvas = document.getElementById("scale-bar");
    map.on("moveend zoomend resize", () => this.draw());
    this.draw();
  }

  draw() {
    const most = 150, ratio = 2, context = this.canvas.getContext("2d");
    const perMetre = areaplan.worldPerMetre(this.map.getCenter().lat) * 2 ** this.map.getZoom();
    this.canvas.width = 230 * ratio;
    this.canvas.height = 54 * ratio;
    context.scale(ratio, ratio);
    context.font = areaplan.LABEL_FONT;
    context.textBaseline = "middle";
    const said = [];
    this.units.forEach(([unit, metres], row) => {
      const length = areaplan.roundDown(most / (perMetre * metres));
      const width = length * metres * perMetre, y = 10 + row * 17;
      // A bar in quarters, filled and empty by turns, as on a drawn plan.
      for (let i = 0; i < 4; i++) {
        context.fillStyle = i % 2 ? "#FFFFFF" : areaplan.INK;
        context.fillRect(2 + i * width / 4, y - 3, width / 4, 6);
      }
      context.strokeStyle = areaplan.INK;
      context.strokeRect(2, y - 3, width, 6);
      const words = `${String(length).replace(/\B(?=(\d{3})+$)/g, "\u00a0")} ${unit}`;
      context.fillStyle = areaplan.INK;
      context.fillText(words, width + 8, y);
      said.push(words);
    });
    this.canvas.setAttribute("aria-label", `Scale: bars of ${said.join(", ")}`);
  }
};

/** @param {number} value above 0 @returns {number} the largest 1, 2 or 5 times a power of ten below */
areaplan.roundDown = function (value) {
  const power = 10 ** Math.floor(Math.log10(value));
  const digit = [5, 2, 1].find((one) => one * power <= value);
  return Number((digit * power).toPrecision(1));
};

/**
 * Distance and bearing between two places.
 * @param {areaplan.Place} place
 * @param {number[]} from longitude, latitude, degrees
 * @param {number[]} to longitude, latitude, degrees
 * @param {object} lengths foot_m and nautical_mile_m
 * @returns {string} words
 */
areaplan.measured = function (place, from, to, lengths) {
  const a = place.toLocal(...from), b = place.toLocal(...to);
  if (!a || !b) return "One end lies outside the data of this map: not measured.";
  const dx = b[0] - a[0], dy = b[1] - a[1], metres = Math.hypot(dx, dy);
  const bearing = (Math.round(Math.atan2(dx, dy) * 180 / Math.PI) + 360) % 360;
  return `${(metres / lengths.nautical_mile_m).toFixed(2)} NM, ` +
    `${areaplan.feet(Math.round(metres / lengths.foot_m))}, ${Math.round(metres)} m, ` +
    `bearing ${String(bearing).padStart(3, "0")}° true`;
};
