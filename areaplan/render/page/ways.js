"use strict";
/* Gates, routes with the way they are flown, and bands beside them that say what was found. */

/** The path of a gate: two posts with the place between them. */
areaplan.traceGate = function (context, x, y) {
  for (const side of [-8, 8]) {
    context.moveTo(x + side, y - 7);
    context.lineTo(x + side, y + 7);
    context.moveTo(x + side - Math.sign(side) * 3, y + 7);
    context.lineTo(x + side, y + 7);
  }
  context.moveTo(x, y - 0.5);
  context.lineTo(x, y + 0.5);
};

/** A line on the screen without the vertices that lie on the one before. */
areaplan.onScreen = function (line, view) {
  const points = [];
  for (let i = 0; i < line.length; i += 2) {
    const point = [line[i] * view.scale + view.x, line[i + 1] * view.scale + view.y];
    const last = points[points.length - 1];
    if (!last || Math.hypot(point[0] - last[0], point[1] - last[1]) > 0.01) points.push(point);
  }
  return points;
};

/**
 * The head of an arrow.
 * @param {CanvasRenderingContext2D} context
 * @param {number} x of its point, CSS pixels
 * @param {number} y of its point
 * @param {number} ux way that it points, of length 1
 * @param {number} uy way that it points
 */
areaplan.drawHead = function (context, x, y, ux, uy) {
  context.setLineDash([]);
  context.lineCap = context.lineJoin = "round";
  for (const [colour, width] of [["#FFFFFF", 5.2], [areaplan.INK, 2.2]]) {
    context.strokeStyle = colour;
    context.lineWidth = width;
    context.beginPath();
    context.moveTo(x - 9 * ux + 5.5 * uy, y - 9 * uy - 5.5 * ux);
    context.lineTo(x, y);
    context.lineTo(x - 9 * ux - 5.5 * uy, y - 9 * uy + 5.5 * ux);
    context.stroke();
  }
  context.lineCap = "butt";
};

/** CSS pixels from one head to the next along a route. */
areaplan.HEAD_STEP = 110;

/**
 * Heads of arrows along the lines of a layer, at least one on each. A route flown both ways has a
 * line for each: their heads stand apart.
 */
areaplan.drawFlow = function (context, view, layer) {
  for (const { shape } of layer.rows) {
    if (!view.sees(shape.box, 12)) continue;
    for (const line of shape.lines) {
      const points = areaplan.onScreen(line, view);
      const lengths = points.slice(1).map((point, i) => (
        Math.hypot(point[0] - points[i][0], point[1] - points[i][1])));
      const total = lengths.reduce((sum, one) => sum + one, 0);
      if (total < 24) continue;
      const count = Math.max(1, Math.floor(total / areaplan.HEAD_STEP));
      // A third of the way along each piece: heads of the other way then never meet these.
      let wanted = total / count * (shape.lines.length > 1 ? 0.36 : 0.56), along = 0;
      lengths.forEach((length, i) => {
        const [ux, uy] = [0, 1].map((k) => (points[i + 1][k] - points[i][k]) / length);
        for (; wanted <= along + length; wanted += total / count) {
          const far = wanted - along;
          areaplan.drawHead(context, points[i][0] + far * ux, points[i][1] + far * uy, ux, uy);
        }
        along += length;
      });
    }
  }
};

/** Distance of a band from its route, to the right, and widths: what is not met is the wider. CSS pixels. */
areaplan.BAND = { beside: 5, met: 6, width: 12 };

/**
 * A class's pattern to stroke with.
 * @param {CanvasRenderingContext2D} context
 * @param {areaplan.Palette} palette
 * @param {number} k class
 * @returns {CanvasPattern}
 */
areaplan.bandPattern = function (context, palette, k) {
  const tile = document.createElement("canvas");
  tile.width = tile.height = palette.size;
  palette.swatch(tile, k);
  const pattern = context.createPattern(tile, "repeat");
  pattern.setTransform(new DOMMatrix().scale(1 / palette.ratio));
  return pattern;
};

/**
 * A line moved to its right, corners kept as far from it as the rest.
 * @param {number[][]} points CSS pixels
 * @param {number} far CSS pixels
 * @returns {number[][]}
 */
areaplan.besideLine = function (points, far) {
  const ways = points.slice(1).map((point, i) => {
    const dx = point[0] - points[i][0], dy = point[1] - points[i][1], length = Math.hypot(dx, dy);
    return [dx / length, dy / length];
  });
  return points.map(([x, y], i) => {
    const before = ways[Math.max(0, i - 1)], after = ways[Math.min(ways.length - 1, i)];
    const nx = -before[1] - after[1], ny = before[0] + after[0];
    // Longer by the half angle's cosine; in a hairpin no more than twice.
    const scale = far / Math.max(0.5 * (nx * nx + ny * ny), 0.5);
    return [x + nx * scale, y + ny * scale];
  });
};

/** A line made longer at both ends. @param {number[][]} points @param {number} more CSS pixels */
areaplan.longer = function (points, more) {
  const beyond = ([x, y], [fromX, fromY]) => {
    const share = more / Math.hypot(x - fromX, y - fromY);
    return [x + share * (x - fromX), y + share * (y - fromY)];
  };
  const last = points.length - 1;
  return [beyond(points[0], points[1]), ...points.slice(1, last), beyond(points[last], points[last - 1])];
};

/**
 * Stroke a band along points, framed all round so that it reads on ground of its own class.
 * @param {CanvasRenderingContext2D} context
 * @param {number[][]} points CSS pixels
 * @param {CanvasPattern} pattern
 * @param {number} width CSS pixels
 */
areaplan.strokeBand = function (context, points, pattern, width) {
  context.setLineDash([]);
  context.lineCap = "butt";
  context.lineJoin = "round";
  for (const [style, more] of [["#FFFFFF", 4], [areaplan.INK, 2], [pattern, 0]]) {
    context.strokeStyle = style;
    context.lineWidth = width + 2 * more;
    context.beginPath();
    areaplan.longer(points, more).forEach(([x, y], i) => (i ? context.lineTo(x, y) : context.moveTo(x, y)));
    context.stroke();
  }
};

/** Bands of a layer; where the turn of a bend alone fails, a ring round the bend. */
areaplan.drawBands = function (context, view, layer, palette) {
  const pattern = areaplan.bandPattern(context, palette, layer.band);
  const width = layer.band === 0 ? areaplan.BAND.met : areaplan.BAND.width;
  for (const { shape } of layer.rows) {
    if (!view.sees(shape.box, 24)) continue;
    for (const line of shape.lines) {
      const points = areaplan.onScreen(line, view);
      if (points.length > 1) {
        const beside = areaplan.besideLine(points, areaplan.BAND.beside + width / 2);
        areaplan.strokeBand(context, beside, pattern, width);
      }
    }
    for (const point of shape.points) {
      const x = point[0] * view.scale + view.x, y = point[1] * view.scale + view.y;
      const ring = Array.from({ length: 25 }, (_, i) => (
        [x + 14 * Math.cos(i * Math.PI / 12), y + 14 * Math.sin(i * Math.PI / 12)]));
      areaplan.strokeBand(context, ring, pattern, areaplan.BAND.met);
    }
  }
};
