"use strict";
/* Arrays out of text: base64, inflate, undo the guess. The twin of areaplan/render/map_codec.py. */
const areaplan = window.areaplan = {};

/**
 * Bytes of a base64 text, inflated (RFC 1950).
 * @param {string} text base64
 * @returns {Promise<Uint8Array>}
 */
areaplan.inflate = async function (text) {
  const letters = atob(text);
  const bytes = new Uint8Array(letters.length);
  for (let i = 0; i < bytes.length; i++) bytes[i] = letters.charCodeAt(i);
  const stream = new Blob([bytes]).stream().pipeThrough(new DecompressionStream("deflate"));
  return new Uint8Array(await new Response(stream).arrayBuffer());
};

/**
 * One array of the grid's shape: whole feet or labels, row 0 in the north.
 * @param {{guess: "plane"|"north", text: string}} block as packed by map_codec.py
 * @param {number} rows count of rows
 * @param {number} cols count of columns
 * @returns {Promise<Int16Array>} length rows * cols
 */
areaplan.unpack = async function (block, rows, cols) {
  const planes = await areaplan.inflate(block.text);
  const count = rows * cols;
  if (planes.length !== 2 * count) throw new Error("an array of the map's data has the wrong length");
  const values = new Int16Array(count);
  for (let i = 0; i < count; i++) {
    const folded = planes[i] | (planes[count + i] << 8);
    values[i] = (folded >>> 1) ^ -(folded & 1);
  }
  if (block.guess === "plane") {
    for (let row = 0; row < rows; row++) {
      const first = row * cols;
      for (let i = first + 1; i < first + cols; i++) values[i] += values[i - 1];
    }
  }
  for (let i = cols; i < count; i++) values[i] += values[i - cols];
  return values;
};

/**
 * A block of data that stands in the page as JSON.
 * @param {string} id of its script element
 * @returns {object}
 */
areaplan.readJson = (id) => JSON.parse(document.getElementById(id).textContent);
