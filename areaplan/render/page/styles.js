"use strict";
/* How each layer is drawn. Lines are told apart by their dashes and their words, not by colour
   alone; each lies on a white casing so that it reads on every class. Widths in CSS pixels. */

/**
 * `line.dash` in pixels; one that `isBare` has no casing; `line.twin` leaves a white middle; `line.ticks` draws short strokes across;
 * `line.lands` marks the threshold at its first end and points an arrow out of its last; `line.enters`
 * draws an arrow of one length on the screen whose head is at its last end; a layer that
 * `isMute` has no names and answers no click, one that `hovers` tells itself below the pointer;
 * `flows` draws heads of arrows along each line, `band` a band beside it in a class's pattern, `glyph`
 * fills with marks and `badge` writes the name into a circle; `least` pixels across have a name;
 * `reach` widens what counts as a click on it; no words come nearer than `keeps` pixels to its marks;
 * one that `isBold` is as wide from afar; "@" in words is the altitude that a layer belongs to;
 * `from` is the zoom from which the layer is drawn, `zoom` from which its names are, `figuresZoom`
 * from which the figures below them are; names of a low `rank` come first.
 */
areaplan.LAYERS = [
  { id: "congested", words: "Congested areas", line: { width: 2.5, dash: [3, 3] }, wash: true,
    zoom: 12, rank: 5, prefix: "congested: " },
  { id: "sparse", words: "Sparsely populated areas", line: { width: 2, dash: [1, 6], cap: "round" },
    zoom: 12, rank: 6, prefix: "sparsely populated: " },
  { id: "assemblies", words: "Open-air assemblies", line: { width: 2.5, dash: [10, 4] }, wash: true,
    zoom: 12, rank: 5, prefix: "assembly: " },
  { id: "noise", words: "Noise-sensitive places", line: { width: 2, dash: [8, 3, 2, 3] },
    zoom: 12, rank: 6, prefix: "noise: " },
  { id: "woods", words: "Woods", line: { width: 1.2, dash: [2, 2] }, zoom: 13, rank: 9,
    prefix: "wood: " },
  { id: "roads", words: "Roads and railways", line: { width: 1.6 }, zoom: 13, rank: 8,
    figuresZoom: 15 },
  { id: "airways", words: "Airways", line: { width: 1.6, dash: [22, 6] }, zoom: 11, rank: 7,
    prefix: "airway " },
  { id: "wires", words: "Wires", line: { width: 1.2, ticks: true }, zoom: 12, rank: 6,
    figuresZoom: 13, prefix: "wires: " },
  { id: "airspace_open", words: "Airspace, open", line: { width: 1.4, dash: [9, 5] }, zoom: 12,
    rank: 4, figuresZoom: 13 },
  { id: "airspace_closed", words: "Airspace, closed", line: { width: 2.6, dash: [16, 4, 3, 4] },
    zoom: 9, rank: 2 },
  { id: "candidates", words: "Candidates, not confirmed", line: { width: 1.8, dash: [5, 4] },
    zoom: 14, rank: 7, from: 13, figuresZoom: 15, prefix: "not confirmed: ", hovers: true },
  { id: "fields_not_counted", words: "Fields that do not count",
    line: { width: 4.4, twin: 2, dash: [6, 4] }, zoom: 14, rank: 7, hovers: true },
  { id: "fields", words: "Fields to land in", line: { width: 5, twin: 2 }, zoom: 11, rank: 1,
    figuresZoom: 14, hovers: true },
  { id: "strips", words: "Best strip in the wind, with the way to land",
    line: { width: 2.2, lands: true }, zoom: 99, rank: 1, from: 12, isMute: true },
  { id: "structures", words: "Structures", line: { width: 1 }, point: "square", zoom: 15, rank: 10,
    from: 13 },
  { id: "persons", words: "Persons, vessels, vehicles", line: { width: 1.5, dash: [4, 2] },
    point: "ring", zoom: 14, rank: 8, from: 11 },
  { id: "obstacles", words: "Obstacles", line: { width: 1 }, point: "mast", zoom: 12, rank: 3,
    figuresZoom: 13 },
  { id: "flown", words: "Recorded flight, for debriefing", line: { width: 3.6, flows: true }, zoom: 99,
    rank: 11, isMute: true, isFixed: true },
  { id: "flown_spells", words: "Spells of the flight: not legal, no field, not known",
    line: { width: 8, dash: [3, 2] }, zoom: 99, rank: 11, hovers: true, isFixed: true },
  { id: "flown_times", words: "Times and altitudes of the flight", line: { width: 1.8 }, point: "ring",
    zoom: 10, rank: 0.7, figuresZoom: 12, hovers: true, isBold: true, keeps: 5 },
  { id: "site_references", words: "What the figures are flown by", line: { width: 2.6, dash: [12, 5] },
    point: "ring", zoom: 99, rank: 6, isBold: true },
  { id: "site_tracks", words: "Tracks of the figures", line: { width: 3.2 }, zoom: 99, rank: 5,
    hovers: true, isBold: true },
  { id: "site_entries", words: "Entries, with the best site's number", line: { width: 2.8, enters: true },
    zoom: 10, rank: 0.6, figuresZoom: 14, hovers: true, isBold: true },
  { id: "ground_risen", words: "Floor or glide altitude risen, whatever the altitude", glyph: "risen",
    line: { width: 0.9, isBare: true }, zoom: 12, rank: 9, least: 120,
    figuresZoom: 16 },
  { id: "ground_gained", words: "Gained at @: legal with a field in reach now, and was not",
    glyph: "gained", line: { width: 1.8, dash: [9, 3] }, zoom: 10, rank: 0.8, least: 30,
    figuresZoom: 16 },
  { id: "ground_lost", words: "Lost at @: was legal with a field in reach, and is not", glyph: "lost",
    line: { width: 2.4 }, zoom: 10, rank: 0.6, least: 30, figuresZoom: 16 },
  { id: "ground_unknown", words: "Unknown now at @, and was known", glyph: "unknown",
    line: { width: 2.4, dash: [2.4, 2.4] }, zoom: 10, rank: 0.7, least: 30,
    figuresZoom: 16 },
  { id: "routes_met", words: "Route: legal, a field in reach", band: 0, line: {}, zoom: 99, rank: 5,
    reach: 1.8, hovers: true },
  { id: "routes_no_field", words: "Route: legal, but no field in reach", band: 1, line: {}, zoom: 10,
    rank: 0.5, reach: 1.8, least: 6, hovers: true },
  { id: "routes_not_legal", words: "Route: a field in reach, but not legal", band: 2, line: {}, zoom: 10,
    rank: 0.5, reach: 1.8, least: 6, hovers: true },
  { id: "routes_neither", words: "Route: not legal, no field in reach", band: 3, line: {}, zoom: 10,
    rank: 0.5, reach: 1.8, least: 6, hovers: true },
  { id: "routes_unknown", words: "Route: unknown", band: 4, line: {}, zoom: 10, rank: 0.5, reach: 1.8,
    least: 6, hovers: true },
  { id: "routes", words: "Routes in and out", line: { width: 3, flows: true }, zoom: 10, rank: 0.9,
    figuresZoom: 11, prefix: "route: ", hovers: true, isBold: true },
  { id: "area_before", words: "Practice area as it was", line: { width: 2.4, dash: [7, 5] }, zoom: 11,
    rank: 4, isBold: true },
  { id: "area", words: "Practice area", line: { width: 3.6 }, zoom: 9, rank: 0, isFixed: true },
  { id: "gates", words: "Gates", line: { width: 2 }, point: "gate", zoom: 10, rank: 1, figuresZoom: 11,
    prefix: "gate: ", hovers: true, isBold: true, keeps: 12 },
  { id: "things_removed", words: "Things removed, with their numbers in the list", badge: "removed",
    line: {}, zoom: 99, rank: 3, hovers: true, keeps: 11 },
  { id: "things_changed", words: "Things changed, with their numbers in the list", badge: "changed",
    line: {}, zoom: 99, rank: 3, hovers: true, keeps: 11 },
  { id: "things_added", words: "Things added, with their numbers in the list", badge: "added",
    line: {}, zoom: 99, rank: 3, hovers: true, keeps: 11 },
];
areaplan.INK = "#1C2326";

/**
 * Stroke the path of a canvas in the style of a layer: casing first.
 * @param {CanvasRenderingContext2D} context
 * @param {object} line style
 * @param {number} scale of its widths, 1 when left out
 */
areaplan.strokeStyled = function (context, line, scale = 1) {
  const pass = (colour, width, dash) => {
    context.strokeStyle = colour;
    context.lineWidth = width * scale;
    context.setLineDash(dash.map((length) => length * scale));
    context.stroke();
  };
  context.lineJoin = "round";
  context.lineCap = "butt";
  if (!line.isBare) pass("#FFFFFF", line.width + 3, []);
  context.lineCap = line.cap || "butt";
  pass(areaplan.INK, line.width, line.dash || []);
  if (line.twin) pass("#FFFFFF", line.width - 2 * line.twin + 1, []);
  if (line.ticks) pass(areaplan.INK, 7, [1.6, 9]);
  context.setLineDash([]);
  context.lineCap = "butt";
};

/**
 * Draw an arrow from the first end of a line to the last, a threshold across its first end for a
 * landing.
 * @param {CanvasRenderingContext2D} context
 * @param {number[]} from x and y of the first end, CSS pixels
 * @param {number[]} to x and y of the last end, CSS pixels
 * @param {number} scale of its size, 1 when left out
 * @param {boolean} hasThreshold true when left out
 */
areaplan.markArrow = function (context, from, to, scale = 1, hasThreshold = true) {
  const [dx, dy] = [to[0] - from[0], to[1] - from[1]], length = Math.hypot(dx, dy);
  if (length < 8) return;
  const ux = dx / length, uy = dy / length, half = 5 * scale, barb = Math.min(8 * scale, 0.4 * length);
  context.setLineDash([]);
  context.lineCap = "round";
  for (const [colour, width] of [["#FFFFFF", 5.2], [areaplan.INK, 2.2]]) {
    context.strokeStyle = colour;
    context.lineWidth = width * scale;
    context.beginPath();
    context.moveTo(...from);
    context.lineTo(...to);
    const bars = [from, [from[0] + 3.5 * scale * ux, from[1] + 3.5 * scale * uy]];
    for (const [x, y] of hasThreshold ? bars : []) {
      context.moveTo(x - half * uy, y + half * ux);
      context.lineTo(x + half * uy, y - half * ux);
    }
    context.moveTo(to[0] - barb * (ux + 0.6 * uy), to[1] - barb * (uy - 0.6 * ux));
    context.lineTo(...to);
    context.lineTo(to[0] - barb * (ux - 0.6 * uy), to[1] - barb * (uy + 0.6 * ux));
    context.stroke();
  }
  context.lineCap = "butt";
};

/** Length of the arrow at an entry, CSS pixels. */
areaplan.ENTRY_ARROW = 30;

/**
 * Mark a point.
 * @param {CanvasRenderingContext2D} context
 * @param {"square"|"ring"|"mast"|"gate"} kind
 * @param {number} x CSS pixels
 * @param {number} y CSS pixels
 * @param {number} scale of its size, 1 when left out
 */
areaplan.markPoint = function (context, kind, x, y, scale = 1) {
  context.setLineDash([]);
  if (kind === "square") {
    context.fillStyle = "#FFFFFF";
    context.fillRect(x - 3, y - 3, 6, 6);
    context.fillStyle = areaplan.INK;
    context.fillRect(x - 2, y - 2, 4, 4);
    return;
  }
  const draw = (colour, width) => {
    context.strokeStyle = context.fillStyle = colour;
    context.lineWidth = width;
    context.lineCap = "round";
    context.beginPath();
    if (kind === "ring") context.arc(x, y, 4.5 * scale, 0, 2 * Math.PI);
    else if (kind === "gate") areaplan.traceGate(context, x, y);
    else {
      const up = (height) => y - height * scale, half = 5 * scale, arm = 3 * scale;
      context.moveTo(x - half, y); context.lineTo(x + half, y);
      context.moveTo(x, y); context.lineTo(x, up(15));
      context.moveTo(x - arm, up(10)); context.lineTo(x + arm, up(10));
    }
    context.stroke();
  };
  draw("#FFFFFF", 5);
  draw(areaplan.INK, 2);
  context.lineCap = "butt";
};

/**
 * A short piece of a layer's line, for the list of layers.
 * @param {HTMLCanvasElement} canvas
 * @param {object} layer
 * @param {areaplan.Palette} palette of the classes
 */
areaplan.drawSample = function (canvas, layer, palette) {
  const context = canvas.getContext("2d"), w = canvas.width / 2, h = canvas.height / 2;
  context.scale(2, 2);
  if (layer.point) { areaplan.markPoint(context, layer.point, w / 2, layer.point === "mast" ? h - 2 : h / 2); return; }
  if (layer.line.lands || layer.line.enters) {
    areaplan.markArrow(context, [6, h / 2], [w - 5, h / 2], 1, !layer.line.enters);
    return;
  }
  if (layer.badge) { areaplan.drawBadge(context, layer.badge, w / 2, h / 2, "1"); return; }
  if (layer.band !== undefined) {
    const pattern = areaplan.bandPattern(context, palette, layer.band);
    const width = layer.band === 0 ? areaplan.BAND.met : areaplan.BAND.width;
    areaplan.strokeBand(context, [[5, h / 2], [w - 5, h / 2]], pattern, width);
    return;
  }
  if (layer.glyph) areaplan.drawGlyph(context, layer.glyph, w / 2, h / 2);
  context.beginPath();
  if (layer.glyph) context.rect(3, 3, w - 6, h - 6);
  else { context.moveTo(2, h / 2); context.lineTo(w - 2, h / 2); }
  areaplan.strokeStyled(context, layer.line);
  if (layer.line.flows) areaplan.drawHead(context, w / 2 + 4, h / 2, 1, 0);
};
