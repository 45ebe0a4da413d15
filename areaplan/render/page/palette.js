"use strict";
/* Fills and patterns of the classes, as pixels. Patterns are laid on the screen, not on the ground,
   so that they look the same at every scale. */

areaplan.BARE = 5;          // the ground without a class
areaplan.PERIOD = 16;       // CSS pixels after which every pattern repeats
areaplan.SHADES = 64;       // steps of the relief
areaplan.CONTOUR_BIT = 64;
areaplan.INDEX_BIT = 128;

/** Whether a pattern inks a pixel; x and y in CSS pixels from 0 up to the period. */
areaplan.PATTERNS = {
  plain: () => false,
  slash: (x, y) => (x + y) % 8 < 1.5,
  backslash: (x, y) => (x - y + 16) % 8 < 1.5,
  cross: (x, y) => (x + y) % 8 < 1.2 || (x - y + 16) % 8 < 1.2,
  dots: (x, y) => {
    const inDot = (cx, cy) => Math.hypot(x - cx, y - cy) < 1.3;
    return inDot(3.5, 3.5) || inDot(11.5, 3.5) || inDot(7.5, 11.5) || inDot(15.5, 11.5) ||
      inDot(-0.5, 11.5);
  },
  sparse: (x, y) => (x + y) % 16 < 1.5,
  level: (x, y) => y % 8 < 1.3,
  counter: (x, y) => (x - y + 16) % 16 < 1.5,
  grid: (x, y) => y % 16 < 1.3 || x % 16 < 1.3,
};

/** Pixels of every class, shade and pattern, ready for ImageData. */
areaplan.Palette = class {
  /**
   * @param {{fill: string, ink: string, pattern: string}[]} styles in order; bare ground is added
   * @param {number} ratio device pixels in a CSS pixel, a power of two
   * @param {number} relief strength of light and shade, 1 when left out
   */
  constructor(styles, ratio, relief = 1) {
    this.ratio = ratio;
    this.size = areaplan.PERIOD * ratio;
    const all = [...styles, { fill: "#E9E7DF", ink: "#E9E7DF", pattern: "plain" }];
    this.colours = new Uint32Array(all.length * 512);
    this.inks = new Uint16Array(all.length * this.size * this.size);
    all.forEach((style, k) => {
      const rgb = [areaplan.rgb(style.fill), areaplan.rgb(style.ink)];
      for (let code = 0; code < 512; code++) {
        this.colours[k * 512 + code] = areaplan.shaded(rgb[code >> 8], code & 255, relief);
      }
      for (let y = 0; y < this.size; y++) {
        for (let x = 0; x < this.size; x++) {
          const isInk = areaplan.PATTERNS[style.pattern](x / ratio, y / ratio);
          this.inks[(k * this.size + y) * this.size + x] = isInk ? 256 : 0;
        }
      }
    });
  }

  /**
   * Paint a rectangle with one class on flat ground: legends.
   * @param {HTMLCanvasElement} canvas
   * @param {number} k class
   */
  swatch(canvas, k) {
    const context = canvas.getContext("2d");
    const image = context.createImageData(canvas.width, canvas.height);
    const out = new Uint32Array(image.data.buffer);
    const flat = areaplan.SHADES >> 1, mask = this.size - 1;
    for (let y = 0, p = 0; y < canvas.height; y++) {
      for (let x = 0; x < canvas.width; x++, p++) {
        const ink = this.inks[(k * this.size + (y & mask)) * this.size + (x & mask)];
        out[p] = this.colours[(k << 9) | ink | flat];
      }
    }
    context.putImageData(image, 0, 0);
  }
};

/** @param {string} text #RRGGBB @returns {number[]} red, green, blue from 0 to 255 */
areaplan.rgb = (text) => [1, 3, 5].map((i) => parseInt(text.slice(i, i + 2), 16));

/**
 * A colour under the light of the relief, with contour lines.
 * @param {number[]} rgb 0 to 255
 * @param {number} code shade in the low six bits (half way is flat ground), contour bits above
 * @param {number} relief strength of light and shade
 * @returns {number} pixel as ImageData keeps it on little-endian machines
 */
areaplan.shaded = function (rgb, code, relief) {
  const shade = ((code & 63) / (areaplan.SHADES / 2) - 1) * relief;  // -1 dark, 0 flat, 1 bright
  const isDark = rgb[0] + rgb[1] + rgb[2] < 300;
  const line = code & areaplan.INDEX_BIT ? 0.38 : code & areaplan.CONTOUR_BIT ? 0.2 : 0;
  const pixel = rgb.map((value) => {
    const lit = shade < 0 ? value * (1 + 0.3 * shade) : value + (255 - value) * 0.28 * shade;
    return Math.round(isDark ? lit + (255 - lit) * line * 0.8 : lit * (1 - line));
  });
  return (255 << 24 | pixel[2] << 16 | pixel[1] << 8 | pixel[0]) >>> 0;
};
