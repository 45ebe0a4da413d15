"use strict";
/* From longitude and latitude to the project's own metres, by the polynomial of map_place.py. */

/** The frame of the plan: local metres, x east and y north. */
areaplan.Place = class {
  /** @param {object} fit coefficients in metres and the box in degrees that they hold for */
  constructor(fit) {
    this.fit = fit;
    this.degree = fit.x_m.length - 1;
  }

  /**
   * The polynomial along one parallel.
   * @param {number} lat degrees WGS 84
   * @returns {?{x: Float64Array, y: Float64Array}} coefficients in metres by power of u; null
   *   outside the box
   */
  alongParallel(lat) {
    const v = (lat - this.fit.lat_mid_deg) / this.fit.lat_half_deg;
    if (!(v >= -1 && v <= 1)) return null;
    const x = new Float64Array(this.degree + 1), y = new Float64Array(this.degree + 1);
    for (let i = 0; i <= this.degree; i++) {
      for (let j = this.degree - i; j >= 0; j--) {
        x[i] = x[i] * v + this.fit.x_m[i][j];
        y[i] = y[i] * v + this.fit.y_m[i][j];
      }
    }
    return { x, y };
  }

  /**
   * Where a longitude lies in the box.
   * @param {number} lon degrees WGS 84
   * @returns {number} -1 in the west to 1 in the east, beyond them outside
   */
  across(lon) { return (lon - this.fit.lon_mid_deg) / this.fit.lon_half_deg; }

  /**
   * @param {number} lon degrees WGS 84
   * @param {number} lat degrees WGS 84
   * @returns {?[number, number]} x and y in metres; null outside the box
   */
  toLocal(lon, lat) {
    const u = this.across(lon), along = this.alongParallel(lat);
    if (!along || !(u >= -1 && u <= 1)) return null;
    return [areaplan.horner(along.x, u), areaplan.horner(along.y, u)];
  }

  /**
   * The way back, by Newton's method on the polynomial.
   * @param {number} x metres
   * @param {number} y metres
   * @returns {?[number, number]} longitude and latitude, degrees; null outside the box
   */
  toLonLat(x, y) {
    let lon = this.fit.lon_mid_deg, lat = this.fit.lat_mid_deg;
    const step = 1e-4;
    for (let round = 0; round < 8; round++) {
      const here = this.toLocal(lon, lat), east = this.toLocal(lon + step, lat);
      const north = this.toLocal(lon, lat + step);
      if (!here || !east || !north) return null;
      const ex = (east[0] - here[0]) / step, ey = (east[1] - here[1]) / step;
      const nx = (north[0] - here[0]) / step, ny = (north[1] - here[1]) / step;
      const dx = x - here[0], dy = y - here[1], whole = ex * ny - nx * ey;
      if (Math.hypot(dx, dy) < 0.01) return [lon, lat];
      lon += (dx * ny - dy * nx) / whole;
      lat += (dy * ex - dx * ey) / whole;
    }
    return [lon, lat];
  }
};

/**
 * Value of a polynomial.
 * @param {Float64Array} coefficients by power
 * @param {number} u where
 * @returns {number}
 */
areaplan.horner = function (coefficients, u) {
  let value = 0;
  for (let i = coefficients.length - 1; i >= 0; i--) value = value * u + coefficients[i];
  return value;
};

/**
 * Straight way from a place to the nearest edge of a field.
 * @param {number[][]} rings flat x, y in local metres; closed
 * @param {number} x metres
 * @param {number} y metres
 * @returns {{distance_m: number, bearing_deg: ?number, x: number, y: number}} inside the field 0
 *   and null, as `areaplan point` says
 */
areaplan.wayToField = function (rings, x, y) {
  let best = Infinity, bestX = x, bestY = y, isInside = false;
  for (const ring of rings) {
    for (let i = 0; i + 3 < ring.length; i += 2) {
      const ax = ring[i], ay = ring[i + 1], bx = ring[i + 2], by = ring[i + 3];
      if ((ay > y) !== (by > y) && x < (bx - ax) * (y - ay) / (by - ay) + ax) isInside = !isInside;
      const dx = bx - ax, dy = by - ay, length2 = dx * dx + dy * dy;
      const along = length2 === 0 ? 0 : ((x - ax) * dx + (y - ay) * dy) / length2;
      const t = Math.min(1, Math.max(0, along));
      const px = ax + t * dx, py = ay + t * dy, d = Math.hypot(px - x, py - y);
      if (d < best) { best = d; bestX = px; bestY = py; }
    }
  }
  if (isInside || best === 0) return { distance_m: 0, bearing_deg: null, x, y };
  const bearing = Math.atan2(bestX - x, bestY - y) * 180 / Math.PI;
  return { distance_m: best, bearing_deg: (bearing + 360) % 360, x: bestX, y: bestY };
};
