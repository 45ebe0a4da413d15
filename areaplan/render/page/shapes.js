"use strict";
/* Shapes as the page carries them, unpacked into world units: 1 is one pixel at zoom 0, so that a
   shape is drawn at any scale by one multiplication and one addition. */

areaplan.WORLD = 256;

/** @param {number} lon degrees @returns {number} world units eastward */
areaplan.worldX = (lon) => (lon / 360 + 0.5) * areaplan.WORLD;

/** @param {number} lat degrees @returns {number} world units southward */
areaplan.worldY = (lat) =>
  (0.5 - Math.asinh(Math.tan(lat * Math.PI / 180)) / (2 * Math.PI)) * areaplan.WORLD;

/**
 * World units in a metre of ground: the mean of the east and north scales of WGS 84 on spherical
 * Mercator (radii of curvature after Snyder, USGS PP 1395, eq. 4-18 to 4-20).
 * @param {number} lat degrees
 * @returns {number}
 */
areaplan.worldPerMetre = function (lat) {
  const a = 6378137, e2 = 0.00669437999014, phi = lat * Math.PI / 180;
  const w = 1 - e2 * Math.sin(phi) ** 2;
  const across = a / Math.sqrt(w), along = a * (1 - e2) / w ** 1.5;
  return areaplan.WORLD / (2 * Math.PI * Math.cos(phi)) * 0.5 * (1 / across + 1 / along);
};

/**
 * Unpack one shape.
 * @param {{p?: number[][], l?: number[][], r?: number[][]}} packed as map_shapes.py wrote it
 * @returns {{points: Float64Array[], lines: Float64Array[], rings: Float64Array[], box: number[],
 *   perMetre: number}} flat x, y in world units; box is west, north, east, south
 */
areaplan.unpackShape = function (packed) {
  const box = [Infinity, Infinity, -Infinity, -Infinity];
  let latSum = 0, count = 0;
  const flat = (steps) => {
    const out = new Float64Array(steps.length);
    for (let i = 0, lon = 0, lat = 0; i < steps.length; i += 2) {
      lon += steps[i]; lat += steps[i + 1];
      const x = areaplan.worldX(lon / 1e6), y = areaplan.worldY(lat / 1e6);
      out[i] = x; out[i + 1] = y;
      box[0] = Math.min(box[0], x); box[1] = Math.min(box[1], y);
      box[2] = Math.max(box[2], x); box[3] = Math.max(box[3], y);
      latSum += lat / 1e6; count++;
    }
    return out;
  };
  const [points, lines, rings] = ["p", "l", "r"].map((kind) => (packed[kind] || []).map(flat));
  return { points, lines, rings, box, perMetre: areaplan.worldPerMetre(latSum / count) };
};

/** Where the world lies on the screen just now. */
areaplan.View = class {
  /** @param {L.Map} map */
  constructor(map) {
    const bounds = map.getPixelBounds(), size = map.getSize();
    this.scale = 2 ** map.getZoom();               // CSS pixels in a world unit
    this.x = -bounds.min.x; this.y = -bounds.min.y;  // screen place of the world's corner
    this.width = size.x; this.height = size.y;       // CSS pixels
  }

  /**
   * @param {number[]} box west, north, east, south in world units
   * @param {number} beyond CSS pixels outside the screen that still count
   * @returns {boolean} whether any of it may be in view
   */
  sees(box, beyond) {
    const { scale } = this;
    return box[2] * scale + this.x >= -beyond && box[0] * scale + this.x <= this.width + beyond &&
      box[3] * scale + this.y >= -beyond && box[1] * scale + this.y <= this.height + beyond;
  }

  /**
   * Add a line to the path of a canvas; vertices nearer than half a pixel are passed over.
   * @param {CanvasRenderingContext2D} context
   * @param {Float64Array} line flat x, y in world units
   * @param {boolean} isRing whether to close it
   */
  trace(context, line, isRing) {
    const { scale, x, y } = this, last = line.length - 2;
    let px = line[0] * scale + x, py = line[1] * scale + y;
    context.moveTo(px, py);
    for (let i = 2; i <= last; i += 2) {
      const qx = line[i] * scale + x, qy = line[i + 1] * scale + y;
      if (i < last && Math.abs(qx - px) < 0.5 && Math.abs(qy - py) < 0.5) continue;
      context.lineTo(qx, qy);
      px = qx; py = qy;
    }
    if (last === 0) context.lineTo(px, py);
    if (isRing) context.closePath();
  }
};

/**
 * Whether a place lies inside a shape's rings (even-odd).
 * @param {Float64Array[]} rings world units
 * @param {number} x world units
 * @param {number} y world units
 * @returns {boolean}
 */
areaplan.isInside = function (rings, x, y) {
  let isInside = false;
  for (const ring of rings) {
    for (let i = 0, j = ring.length - 2; i < ring.length; j = i, i += 2) {
      if ((ring[i + 1] > y) !== (ring[j + 1] > y) &&
        x < (ring[j] - ring[i]) * (y - ring[i + 1]) / (ring[j + 1] - ring[i + 1]) + ring[i]) {
        isInside = !isInside;
      }
    }
  }
  return isInside;
};

/**
 * Distance from a place to a shape's points and lines.
 * @returns {number} world units; Infinity for an empty shape
 */
areaplan.nearness = function (shape, x, y) {
  let best = Infinity;
  for (const point of shape.points) best = Math.min(best, Math.hypot(point[0] - x, point[1] - y));
  for (const line of [...shape.lines, ...shape.rings]) {
    for (let i = 0; i + 3 < line.length; i += 2) {
      const dx = line[i + 2] - line[i], dy = line[i + 3] - line[i + 1], l2 = dx * dx + dy * dy;
      const along = l2 === 0 ? 0 : ((x - line[i]) * dx + (y - line[i + 1]) * dy) / l2;
      const t = Math.max(0, Math.min(1, along));
      best = Math.min(best, Math.hypot(line[i] + t * dx - x, line[i + 1] + t * dy - y));
    }
  }
  return best;
};
