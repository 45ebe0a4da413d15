"use strict";
/* Standoff distances round things, as they are at the altitude: exact buffers, drawn as strokes. */

/**
 * How far a thing closes the ground round itself at an altitude; see `Standoff` in planning/plan.py.
 * @param {object} standoff profile, radius_m, height_m
 * @param {?number} top_m top of the thing, metres AMSL; null unknown, taken as above everything
 * @param {number} spread_m how much nearer it may stand, metres
 * @param {number} z_m altitude, metres AMSL
 * @returns {number} metres; 0 where it closes nothing
 */
areaplan.standoffRadius = function (standoff, top_m, spread_m, z_m) {
  const reach = standoff.radius_m + spread_m;
  if (top_m === null) return reach;
  if (standoff.profile === "level") return z_m < top_m + standoff.height_m ? reach : 0;
  const above = z_m - top_m;
  if (above <= 0) return reach;
  if (above >= standoff.radius_m) return 0;
  return Math.sqrt(standoff.radius_m ** 2 - above ** 2) + spread_m;
};

areaplan.Standoffs = class {
  /**
   * @param {object[]} standoffs as map_shapes.py wrote them
   * @param {object[]} shapes unpacked
   * @param {number} foot_m metres in a foot
   */
  constructor(standoffs, shapes, foot_m) {
    this.standoffs = standoffs;
    this.shapes = shapes;
    this.foot_m = foot_m;
    this.sheet = document.createElement("canvas");
  }

  /**
   * Draw the outline of all ground closed by each rule: one line for the law, two for a policy,
   * a dotted one for advice.
   * @param {CanvasRenderingContext2D} context of the map's drawing, scaled to CSS pixels
   * @param {areaplan.View} view
   * @param {number} altitude feet AMSL
   * @param {number} ratio device pixels in a CSS pixel
   */
  draw(context, view, altitude, ratio) {
    for (const standoff of this.standoffs) {
      const groups = this.byRadius(standoff, view, altitude * this.foot_m);
      if (groups.size === 0) continue;
      const sheet = this.cleared(view, ratio);
      const isTwin = standoff.severity === "policy";
      this.fill(sheet, view, groups, 1.2, "#FFFFFF", "source-over");
      this.fill(sheet, view, groups, 0, areaplan.INK, "source-over");
      if (isTwin) {
        this.fill(sheet, view, groups, -1.3, "#FFFFFF", "source-over");
        this.fill(sheet, view, groups, -2.6, areaplan.INK, "source-over");
        this.fill(sheet, view, groups, -3.9, "#000000", "destination-out");
      } else {
        this.fill(sheet, view, groups, -1.8, "#FFFFFF", "source-over");
        this.fill(sheet, view, groups, -3, "#000000", "destination-out");
      }
      context.globalAlpha = standoff.severity === "advisory" ? 0.45 : 0.85;
      context.drawImage(this.sheet, 0, 0, view.width, view.height);
      context.globalAlpha = 1;
    }
  }

  /** Things in view by their radius on the screen, rounded to a quarter of a pixel. */
  byRadius(standoff, view, z_m) {
    const groups = new Map();
    for (const [index, top_m, spread_m] of standoff.rows) {
      const shape = this.shapes[index];
      const radius_m = areaplan.standoffRadius(standoff, top_m, spread_m, z_m);
      const radius = Math.round(4 * radius_m * shape.perMetre * view.scale) / 4;
      if (radius < 3 || !view.sees(shape.box, radius + 3)) continue;
      if (!groups.has(radius)) groups.set(radius, []);
      groups.get(radius).push(shape);
    }
    return groups;
  }

  /** The side sheet, empty and of the map's size. */
  cleared(view, ratio) {
    const width = Math.round(view.width * ratio), height = Math.round(view.height * ratio);
    if (this.sheet.width !== width || this.sheet.height !== height) {
      this.sheet.width = width;
      this.sheet.height = height;
    }
    const context = this.sheet.getContext("2d");
    context.setTransform(1, 0, 0, 1, 0, 0);
    context.globalCompositeOperation = "source-over";
    context.clearRect(0, 0, width, height);
    context.setTransform(ratio, 0, 0, ratio, 0, 0);
    context.lineJoin = context.lineCap = "round";
    return context;
  }

  /** Paint every thing widened by its radius and some pixels more: a stroke of twice that width. */
  fill(context, view, groups, more, colour, how) {
    context.globalCompositeOperation = how;
    context.fillStyle = context.strokeStyle = colour;
    for (const [radius, shapes] of groups) {
      const reach = radius + more;
      if (reach <= 0) continue;
      context.lineWidth = 2 * reach;
      context.beginPath();
      for (const shape of shapes) {
        for (const point of shape.points) view.trace(context, point, false);
        for (const line of shape.lines) view.trace(context, line, false);
        for (const ring of shape.rings) view.trace(context, ring, true);
      }
      context.stroke();
      for (const shape of shapes) {
        if (shape.rings.length === 0) continue;
        context.beginPath();
        for (const ring of shape.rings) view.trace(context, ring, true);
        context.fill("evenodd");
      }
    }
  }
};
