"use strict";
/* Words on the map: placed one after the other, the important ones first, none over another. */

areaplan.LABEL_FONT = "12px system-ui, 'Segoe UI', 'Liberation Sans', Arial, sans-serif";

/**
 * A name made safe to paint: controls that turn the direction of writing or break lines are left
 * out, because a canvas has no isolation between one text and the next.
 * @param {string} text
 * @returns {string}
 */
areaplan.paintable = (text) =>
  text.replace(/[\u0000-\u001f\u007f-\u009f\u061c\u200b-\u200f\u2028-\u202e\u2060-\u2069\ufeff]/g, " ")
    .replace(/\s+/g, " ").trim();

/** Cuts a text to a length and says so. */
areaplan.shortened = (text, most) => (text.length > most ? `${text.slice(0, most - 1)}…` : text);

areaplan.Labels = class {
  /**
   * @param {CanvasRenderingContext2D} context
   * @param {areaplan.View} view
   */
  constructor(context, view) {
    this.context = context;
    this.view = view;
    this.taken = [];
  }

  /** Keep a rectangle of the screen free of words. */
  reserve(x, y, width, height) { this.taken.push([x, y, x + width, y + height]); }

  /**
   * Place words beside or on a point, at the first spot that is free.
   * @param {string[]} lines first one bold
   * @param {[number, number][]} spots centres to try, CSS pixels
   * @returns {boolean} whether it found a place
   */
  place(lines, spots) {
    const { context, view } = this, height = 15 * lines.length;
    const font = (i) => (i === 0 ? `600 ${areaplan.LABEL_FONT}` : areaplan.LABEL_FONT);
    let width = 0;
    lines.forEach((line, i) => {
      context.font = font(i);
      width = Math.max(width, context.measureText(line).width);
    });
    for (const [cx, cy] of spots) {
      const box = [cx - width / 2 - 3, cy - height / 2 - 2, cx + width / 2 + 3, cy + height / 2 + 2];
      if (box[0] < 0 || box[1] < 0 || box[2] > view.width || box[3] > view.height) continue;
      if (this.taken.some((other) => box[0] < other[2] && other[0] < box[2] &&
        box[1] < other[3] && other[1] < box[3])) continue;
      this.taken.push(box);
      context.textAlign = "center";
      context.textBaseline = "middle";
      context.lineJoin = "round";
      context.lineWidth = 4;
      context.strokeStyle = "#FFFFFF";
      context.fillStyle = areaplan.INK;
      for (const paint of ["strokeText", "fillText"]) {
        lines.forEach((line, i) => {
          context.font = font(i);
          context[paint](line, cx, cy + (i - (lines.length - 1) / 2) * 15);
        });
      }
      return true;
    }
    return false;
  }
};

/**
 * Spots below and above a shape's box, so that its words leave what is drawn inside in sight.
 * @param {number[]} box west, north, east, south in world units
 * @param {areaplan.View} view
 * @param {number} far from the box to the middle of the words, CSS pixels
 * @returns {[number, number][]} CSS pixels
 */
areaplan.besideBox = function ([w, n, e, s], view, far) {
  const x = (w + e) / 2 * view.scale + view.x;
  return [[x, s * view.scale + view.y + far], [x, n * view.scale + view.y - far]];
};

/**
 * Spots for the words of a shape: for a polygon its middle and places along its outline, for a
 * line places along it, for a point above and below it.
 * @param {object} shape as unpackShape gives it
 * @param {areaplan.View} view
 * @returns {[number, number][]} CSS pixels
 */
areaplan.labelSpots = function (shape, view) {
  const spots = [], onScreen = (x, y) => [x * view.scale + view.x, y * view.scale + view.y];
  if (shape.rings.length > 0) {
    const [w, n, e, s] = shape.box, x = (w + e) / 2, y = (n + s) / 2;
    if (areaplan.isInside(shape.rings, x, y)) spots.push(onScreen(x, y));
  }
  for (const point of shape.points) {
    const [x, y] = onScreen(point[0], point[1]);
    spots.push([x, y - 26], [x, y + 16], [x + 60, y], [x - 60, y]);
  }
  for (const line of [...shape.lines, ...shape.rings]) {
    const every = Math.max(2, 2 * Math.ceil(line.length / 24));
    const start = line === shape.lines[0] ? 2 * Math.floor(line.length / 4) : 0;
    for (let k = 0; k < line.length; k += every) {
      const i = (start + k) % line.length, j = (i + 2) % line.length;
      spots.push(onScreen(line[i], line[i + 1]));
      spots.push(onScreen((line[i] + line[j]) / 2, (line[i + 1] + line[j + 1]) / 2));
    }
  }
  return spots.filter(([x, y]) => x > 0 && y > 0 && x < view.width && y < view.height);
};
