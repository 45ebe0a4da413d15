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

/** Buffers narrower than this are left out, CSS pixels: they would only speckle the map. */
areaplan.SMALLEST_STANDOFF = 14;

/** From this many small things on, discs are reckoned pixel by pixel instead of stroked. */
areaplan.MANY = 80;

/**
 * Rings of a buffer from outside to inside: CSS pixels added to the radius, and colour; inside the
 * last one nothing is painted.
 */
areaplan.STANDOFF_RINGS = {
  single: [[1.3, "#FFFFFF"], [0, areaplan.INK], [-2, ""]],
  twin: [[1.3, "#FFFFFF"], [0, areaplan.INK], [-1.4, "#FFFFFF"], [-2.8, areaplan.INK], [-4.2, ""]],
};

areaplan.Standoffs = class {
  /**
   * @param {object[]} standoffs as map_shapes.py wrote them
   * @param {object[]} shapes unpacked
   * @param {number} foot_m metres in a foot
   */
  constructor(standoffs, shapes, foot_m) {
    // Level ones hold only over the ground that their rule names: drawn when asked for.
    this.standoffs = standoffs.map((one) => ({ ...one, isOn: one.profile === "slant" }));
    this.shapes = shapes;
    this.foot_m = foot_m;
    this.sheet = document.createElement("canvas");
    this.discs = new areaplan.Discs();
  }

  /**
   * Draw the outline of all ground closed by each rule: one line, two for a school's own policy,
   * a faint one for advice.
   * @param {CanvasRenderingContext2D} context of the map's drawing, scaled to CSS pixels
   * @param {areaplan.View} view
   * @param {number} altitude feet AMSL
   * @param {number} ratio device pixels in a CSS pixel
   */
  draw(context, view, altitude, ratio) {
    for (const standoff of this.standoffs) {
      if (!standoff.isOn) continue;
      const { wide, small } = this.inView(standoff, view, altitude * this.foot_m);
      if (wide.size === 0 && small.length === 0) continue;
      const sheet = this.cleared(view, ratio);
      const rings = areaplan.STANDOFF_RINGS[standoff.severity === "policy" ? "twin" : "single"];
      // Everything painted before anything is erased: touching buffers join into one outline.
      if (small.length > 0) this.discs.measure(small, view);
      for (const [more, colour] of rings) {
        if (colour === "") continue;
        this.stroke(sheet, view, wide, more, colour);
      }
      if (small.length > 0) this.discs.paint(sheet, view, rings);
      sheet.globalCompositeOperation = "destination-out";
      const inner = rings[rings.length - 1][0];
      this.stroke(sheet, view, wide, inner, "#000000");
      if (small.length > 0) this.discs.paint(sheet, view, [[inner, "#000000"]]);
      context.globalAlpha = standoff.severity === "advisory" ? 0.45 : 0.9;
      context.drawImage(this.sheet, 0, 0, view.width, view.height);
      context.globalAlpha = 1;
    }
  }

  /**
   * Things in view: those with an extent on the screen by their radius in CSS pixels, and the small
   * ones as `[x, y, radius]`, their extent added to the radius, which is the cautious side.
   */
  inView(standoff, view, z_m) {
    const wide = new Map(), small = [];
    const widen = (shape, radius) => {
      const rounded = Math.round(4 * radius) / 4;
      if (!wide.has(rounded)) wide.set(rounded, []);
      wide.get(rounded).push(shape);
    };
    for (const [index, top_m, spread_m] of standoff.rows) {
      const shape = this.shapes[index], { box } = shape;
      const radius_m = areaplan.standoffRadius(standoff, top_m, spread_m, z_m);
      const radius = radius_m * shape.perMetre * view.scale;
      if (radius < areaplan.SMALLEST_STANDOFF || !view.sees(box, radius + 3)) continue;
      const width = (box[2] - box[0]) * view.scale, height = (box[3] - box[1]) * view.scale;
      if (width < 3 && height < 3) {
        small.push([0.5 * (box[0] + box[2]), 0.5 * (box[1] + box[3]),
          radius + 0.5 * Math.hypot(width, height)]);
      } else widen(shape, radius);
    }
    if (small.length >= areaplan.MANY) {
      return { wide, small: small.map(([x, y, radius]) => (
        [x * view.scale + view.x, y * view.scale + view.y, radius])) };
    }
    for (const [x, y, radius] of small) {
      widen({ points: [Float64Array.of(x, y)], lines: [], rings: [] }, radius);
    }
    return { wide, small: [] };
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

  /** Paint every wide thing grown by its radius and some pixels: a stroke of twice that width. */
  stroke(context, view, groups, more, colour) {
    context.fillStyle = context.strokeStyle = colour;
    for (const [radius, shapes] of groups) {
      if (radius + more <= 0) continue;
      context.lineWidth = 2 * (radius + more);
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

/** Many discs at once: for each pixel how deep it lies inside the deepest disc over it. */
areaplan.Discs = class {
  constructor() { this.canvas = document.createElement("canvas"); }

  /**
   * @param {number[][]} discs x, y, radius in CSS pixels
   * @param {areaplan.View} view
   */
  measure(discs, view) {
    const { width, height } = view, rim = 2;
    if (this.canvas.width !== width || this.canvas.height !== height) {
      this.canvas.width = width;
      this.canvas.height = height;
      this.depth = new Float32Array(width * height);
    }
    const { depth } = this;
    depth.fill(-rim);
    for (const [x, y, radius] of discs) {
      const reach = radius + rim;
      const x0 = Math.max(0, Math.floor(x - reach)), x1 = Math.min(width - 1, Math.ceil(x + reach));
      const y0 = Math.max(0, Math.floor(y - reach)), y1 = Math.min(height - 1, Math.ceil(y + reach));
      for (let py = y0; py <= y1; py++) {
        const dy = py + 0.5 - y, dy2 = dy * dy;
        for (let px = x0, p = py * width + x0; px <= x1; px++, p++) {
          const dx = px + 0.5 - x, inside = radius - Math.sqrt(dx * dx + dy2);
          if (inside > depth[p]) depth[p] = inside;
        }
      }
    }
  }

  /**
   * Paint the measured discs in rings, as `stroke` paints the wide things.
   * @param {CanvasRenderingContext2D} context scaled to CSS pixels
   * @param {areaplan.View} view
   * @param {[number, string][]} rings pixels added to the radius, and colour; "" is nothing
   */
  paint(context, view, rings) {
    const own = this.canvas.getContext("2d"), image = own.createImageData(view.width, view.height);
    const out = new Uint32Array(image.data.buffer), { depth } = this, last = rings.length - 1;
    const colours = rings.map(([, colour]) => (colour ? areaplan.rgb(colour) : null));
    for (let p = 0; p < depth.length; p++) {
      const over = depth[p] + rings[0][0];
      if (over <= -0.5) continue;
      let ring = 0;
      while (ring < last && depth[p] + rings[ring + 1][0] > 0) ring++;
      if (!colours[ring]) continue;
      const [r, g, b] = colours[ring], alpha = Math.round(255 * Math.min(1, over + 0.5));
      out[p] = (alpha << 24 | b << 16 | g << 8 | r) >>> 0;
    }
    own.putImageData(image, 0, 0);
    context.drawImage(this.canvas, 0, 0, view.width, view.height);
  }
};
