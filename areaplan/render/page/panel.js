"use strict";
/* Switches of the sheet: layers, what the ground shows, folding, printing. */

/**
 * A switch with a sample of what it switches.
 * @param {string|Node} words
 * @param {boolean} isOn
 * @param {?function(HTMLCanvasElement): void} sample draws on a canvas of 44 by 20 CSS pixels
 * @param {function(boolean): void} changed
 * @returns {HTMLElement}
 */
areaplan.layerSwitch = function (words, isOn, sample, changed) {
  const box = areaplan.make("input", { type: "checkbox" });
  box.checked = isOn;
  box.addEventListener("change", () => changed(box.checked));
  const picture = areaplan.make("canvas", { width: 88, height: 40, class: "sample", "aria-hidden": "true" });
  if (sample) sample(picture);
  return areaplan.make("label", { class: "switch" }, box, picture, areaplan.make("span", {}, words));
};

/** A piece of a standoff's outline. @param {HTMLCanvasElement} canvas */
areaplan.drawRing = function (canvas) {
  const context = canvas.getContext("2d");
  context.scale(2, 2);
  context.beginPath();
  context.arc(22, 24, 16, Math.PI, 2 * Math.PI);
  areaplan.strokeStyled(context, { width: 1.8 });
};

/**
 * Fill the list of layers.
 * @param {areaplan.Drawing} drawing
 * @param {areaplan.Ground} ground
 */
areaplan.fillSwitches = function (drawing, ground) {
  const list = document.getElementById("layer-switches");
  const choice = areaplan.make("select", { id: "ground-choice" },
    areaplan.make("option", { value: areaplan.SHOW_ALL }, "on the whole map"),
    areaplan.make("option", { value: areaplan.SHOW_AREA }, "in the practice area only"),
    areaplan.make("option", { value: areaplan.SHOW_BARE }, "nowhere, show the bare ground"));
  choice.addEventListener("change", () => { ground.show = choice.value; ground.repaint(); });
  list.append(areaplan.make("p", {}, areaplan.make("label", { for: "ground-choice" }, "Paint the classes "),
    choice));
  for (const layer of [...drawing.layers].sort((a, b) => a.rank - b.rank)) {
    const count = layer.rows.length > 1 ? ` (${layer.rows.length})` : "";
    const words = layer.words + count + (layer.from >= 13 ? ", nearer in" : "");
    const row = areaplan.layerSwitch(words, layer.isOn,
      (canvas) => areaplan.drawSample(canvas, layer, ground.palette),
      (isOn) => { layer.isOn = isOn; drawing.later(); });
    layer.box = row.querySelector("input");
    list.append(row);
  }
  const { standoffs } = drawing.standoffs;
  if (standoffs.length > 0) {
    list.append(areaplan.make("p", { class: "small" }, "Standoff distances at the altitude chosen. " +
      "Some hold only over certain ground: the painted classes say where they count."));
  }
  for (const standoff of standoffs) {
    list.append(areaplan.layerSwitch(areaplan.name(standoff.title), standoff.isOn, areaplan.drawRing,
      (isOn) => { standoff.isOn = isOn; drawing.later(); }));
  }
  const contour = `Contour lines every ${areaplan.feet(ground.relief.contour_ft)}`;
  list.append(areaplan.layerSwitch(contour, true, (canvas) => {
    const context = canvas.getContext("2d");
    context.scale(2, 2);
    context.strokeStyle = "#6B675C";
    context.beginPath();
    context.moveTo(2, 14);
    context.bezierCurveTo(14, 2, 28, 20, 42, 6);
    context.stroke();
  }, (isOn) => { ground.isContoured = isOn; ground.repaint(); }));
};

/** Let the sheet and the answer fold on small screens. */
areaplan.startFolding = function (map) {
  const root = document.documentElement, toggle = document.getElementById("sheet-toggle");
  toggle.addEventListener("click", () => {
    const isOpen = root.classList.toggle("sheet-open");
    toggle.setAttribute("aria-expanded", String(isOpen));
    toggle.querySelector(".action").textContent = isOpen ? "Map" : "Sheet";
  });
  const fold = document.getElementById("answer-fold"), inside = document.getElementById("answer-inside");
  const set = (isOpen) => {
    inside.hidden = !isOpen;
    fold.setAttribute("aria-expanded", String(isOpen));
    fold.textContent = isOpen ? "Fold" : "Open";
  };
  fold.addEventListener("click", () => set(inside.hidden));
  if (window.innerWidth < 720) set(false);
  new ResizeObserver(() => map.invalidateSize({ animate: false, pan: false }))
    .observe(map.getContainer());
  return { openAnswer: () => set(true), showMap: () => {
    if (root.classList.contains("sheet-open")) toggle.click();
  } };
};

/**
 * Before printing the sheet is unfolded and the map fitted to the paper; afterwards put back.
 * @param {L.Map} map
 * @param {function(number[]): void} fit shows the area with a padding in CSS pixels
 */
areaplan.startPrinting = function (map, fit) {
  const root = document.documentElement;
  let before = null;
  const start = () => {
    if (before) return;
    before = { folds: [...document.querySelectorAll("details")].map((one) => [one, one.open]),
      centre: map.getCenter(), zoom: map.getZoom() };
    root.classList.add("printing");
    for (const [one] of before.folds) one.open = true;
    map.options.zoomSnap = 0.25;
    map.invalidateSize({ animate: false, pan: false });
    fit([24, 78]);  // clear of the marks in the corners
  };
  const end = () => {
    if (!before) return;
    root.classList.remove("printing");
    for (const [one, wasOpen] of before.folds) one.open = wasOpen;
    map.options.zoomSnap = 1;
    map.invalidateSize({ animate: false, pan: false });
    map.setView(before.centre, before.zoom, { animate: false });
    before = null;
  };
  window.addEventListener("beforeprint", start);
  window.addEventListener("afterprint", end);
  window.matchMedia("print").addEventListener("change", (event) => (event.matches ? start() : end()));
};
