"use strict";
/* Ground that changed, and things that did: marks that say what they mean without any colour. */

areaplan.GLYPH_STEP = 34;  // CSS pixels from one mark of a filled shape to the next

/** Strokes of each mark round its middle, CSS pixels; and where in a step it stands. */
areaplan.GLYPHS = {
  lost: { lines: [[-4, 0, 4, 0]], at: 0.25, isBoxed: true },
  gained: { lines: [[-4, 0, 4, 0], [0, -4, 0, 4]], at: 0.25, isBoxed: true },
  unknown: { lines: [[-2.4, -2.4, -1, -4, 1, -4, 2.4, -2.4, 2.2, -1, 0, 0.6, 0, 1.6], [0, 4.1, 0, 4.2]],
    at: 0.25, isBoxed: true },
  risen: { lines: [[0, 4.5, 0, -4.5], [-3.2, -1, 0, -4.5, 3.2, -1]], at: 0.75 },
};

/**
 * Draw one mark.
 * @param {CanvasRenderingContext2D} context
 * @param {"lost"|"gained"|"unknown"|"risen"} glyph
 * @param {number} x CSS pixels
 * @param {number} y CSS pixels
 */
areaplan.drawGlyph = function (context, glyph, x, y) {
  context.setLineDash([]);
  context.lineCap = context.lineJoin = "round";
  const { lines, isBoxed } = areaplan.GLYPHS[glyph];
  if (isBoxed) {
    for (const [colour, half] of [["#FFFFFF", 9], [areaplan.INK, 7.8], ["#FFFFFF", 6.6]]) {
      context.fillStyle = colour;
      context.fillRect(x - half, y - half, 2 * half, 2 * half);
    }
  }
  for (const [colour, width] of [["#FFFFFF", 4.4], [areaplan.INK, isBoxed ? 2.2 : 1.4]]) {
    context.strokeStyle = colour;
    context.lineWidth = width;
    context.beginPath();
    for (const line of lines) {
      context.moveTo(x + line[0], y + line[1]);
      for (let i = 2; i < line.length; i += 2) context.lineTo(x + line[i], y + line[i + 1]);
    }
    context.stroke();
  }
  context.lineCap = "butt";
};

/**
 * Fill a layer's shapes with its marks, which stay where they are on the ground while the map moves.
 * A shape that none falls into gets one in its middle, where no other is near.
 * @param {CanvasRenderingContext2D} context
 * @param {areaplan.View} view
 * @param {object} layer
 */
areaplan.fillGlyphs = function (context, view, layer) {
  const step = areaplan.GLYPH_STEP, { at } = areaplan.GLYPHS[layer.glyph], taken = new Set();
  for (const { shape } of layer.rows) {
    if (!view.sees(shape.box, 0)) continue;
    const [west, north, east, south] = shape.box.map((value, i) => (
      value * view.scale + (i % 2 ? view.y : view.x)));
    const marks = [];
    const first = (low, origin) => origin + Math.ceil((low - origin) / step) * step;
    const x0 = first(Math.max(west, 0), view.x + at * step);
    const y0 = first(Math.max(north, 0), view.y + at * step);
    for (let y = y0; y <= Math.min(south, view.height); y += step) {
      for (let x = x0; x <= Math.min(east, view.width); x += step) {
        const inside = areaplan.isInside(shape.rings, (x - view.x) / view.scale, (y - view.y) / view.scale);
        if (inside) marks.push([x, y]);
      }
    }
    const isSmall = Math.max(east - west, south - north) < 2 * step;
    const middle = isSmall ? [[(west + east) / 2, (north + south) / 2]] : [];
    for (const [x, y] of marks.length > 0 ? marks : middle) {
      const key = `${Math.floor(x / 20)} ${Math.floor(y / 20)}`;
      if (!taken.has(key)) areaplan.drawGlyph(context, layer.glyph, x, y);
      taken.add(key);
    }
  }
};

/** Radius of a badge, CSS pixels. */
areaplan.BADGE = 9;

/**
 * A number in a circle: dark for what was added, light for what changed, dashed for what is gone.
 * @param {CanvasRenderingContext2D} context
 * @param {"added"|"changed"|"removed"} badge
 * @param {number} x CSS pixels
 * @param {number} y CSS pixels
 * @param {string} words at most three characters
 */
areaplan.drawBadge = function (context, badge, x, y, words) {
  const isDark = badge === "added";
  context.setLineDash([]);
  context.beginPath();
  context.arc(x, y, areaplan.BADGE + 1.5, 0, 2 * Math.PI);
  context.fillStyle = "#FFFFFF";
  context.fill();
  context.beginPath();
  context.arc(x, y, areaplan.BADGE, 0, 2 * Math.PI);
  context.fillStyle = isDark ? areaplan.INK : "#FFFFFF";
  context.fill();
  context.setLineDash(badge === "removed" ? [2.5, 2.5] : []);
  context.lineWidth = 1.6;
  context.strokeStyle = areaplan.INK;
  context.stroke();
  context.setLineDash([]);
  context.font = `600 ${areaplan.LABEL_FONT}`;
  context.textAlign = "center";
  context.textBaseline = "middle";
  context.fillStyle = isDark ? "#FFFFFF" : areaplan.INK;
  context.fillText(words, x, y + 0.5);
};

/** Badges of a layer, each with its name. */
areaplan.drawBadges = function (context, view, layer) {
  for (const { shape, title } of layer.rows) {
    if (!view.sees(shape.box, 12)) continue;
    const x = (shape.box[0] + shape.box[2]) / 2 * view.scale + view.x;
    const y = (shape.box[1] + shape.box[3]) / 2 * view.scale + view.y;
    areaplan.drawBadge(context, layer.badge, x, y, title);
  }
};
