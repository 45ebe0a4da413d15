"use strict";
/* Brings the page to life: reads the data, paints the ground, joins the controls. */

/**
 * Called by the last line of the page's script.
 * @param {L.Map} map the map that folium made
 */
areaplan.start = function (map) {
  areaplan.open(map).then(
    () => { document.documentElement.dataset.ready = "yes"; },
    (error) => areaplan.trouble(error));
};

/** Say loudly that the map does not work, and why; a silent empty map would look like no limits. */
areaplan.trouble = function (error) {
  const box = document.getElementById("trouble");
  const old = typeof DecompressionStream === "undefined"
    ? " This browser is too old to unpack the data: use one from 2023 or later." : "";
  box.textContent = `This map could not be opened: do not use it.${old} (${error.message})`;
  box.hidden = false;
  document.documentElement.dataset.ready = "failed";
  console.error(error);
};

areaplan.open = async function (map) {
  const table = areaplan.readJson("areaplan-table");
  const cells = await areaplan.Cells.read(areaplan.readJson("areaplan-cells"));
  const [west, south, east, north] = table.fit_box;
  const fit = (padding = [24, 24]) =>
    map.fitBounds([[south, west], [north, east]], { animate: false, padding });
  const [gw, gs, ge, gn] = table.grid_box;
  const padded = L.latLngBounds([[gs, gw], [gn, ge]]).pad(1);
  map.setMaxBounds(padded);
  map.setMinZoom(map.getBoundsZoom([[gs, gw], [gn, ge]]));
  fit();
  const place = new areaplan.Place(table.place), altitude = Number(document.getElementById("altitude").value);
  const ground = new areaplan.Ground(cells, place, new areaplan.Relief(cells), table.classes, altitude);
  ground.addTo(map);
  const drawing = new areaplan.Drawing(areaplan.readJson("areaplan-drawn"), ground, altitude, cells.foot_m);
  drawing.addTo(map);
  const answers = new areaplan.Answers(cells, place, table);
  areaplan.join(map, { table, cells, place, ground, drawing, answers, fit });
};

/** Join the parts: altitude to ground, clicks to answers. */
areaplan.join = function (map, { table, cells, place, ground, drawing, answers, fit }) {
  const view = new areaplan.AnswerView(answers, ground.palette, table);
  for (const canvas of document.querySelectorAll("canvas[data-class]")) {
    ground.palette.swatch(canvas, Number(canvas.dataset.class));
  }
  for (const canvas of document.querySelectorAll("canvas[data-sample]")) {
    const layer = areaplan.LAYERS.find((one) => one.id === canvas.dataset.sample);
    areaplan.drawSample(canvas, layer, ground.palette);
  }
  let asked = null, frame = 0;
  const folding = areaplan.startFolding(map);
  const show = () => {
    if (!asked) return;
    const answer = answers.at(asked[1], asked[0], control.altitude);
    view.show(answer, drawing.pick(...asked));
    const to = answer.way && answer.way.bearing_deg !== null
      ? place.toLonLat(answer.way.x, answer.way.y) : null;
    drawing.mark({ at: asked, to, measured: [] });
  };
  const control = new areaplan.AltitudeControl(table, cells.tally(), ground.palette, (altitude) => {
    ground.altitude = altitude;
    drawing.follow(altitude);
    chooser.show(altitude);
    if (frame) return;
    frame = requestAnimationFrame(() => {
      frame = 0;
      ground.repaint();
      drawing.draw();
      show();
    });
  });
  const chooser = new areaplan.PaintingChooser(ground.painting,
    table.paintings.map((one) => areaplan.paintingOf(cells, one, ground.ratio)),
    (painting) => { ground.painting = painting; ground.repaint(); drawing.later(); });
  chooser.show(control.altitude);
  const ask = (lat, lon) => {
    asked = [lon, lat];
    folding.openAnswer();
    show();
    areaplan.keepInSight(map, asked);
  };
  for (const button of document.querySelectorAll("button[data-lat]")) {
    button.addEventListener("click", () => {
      const { lat, lon, at } = button.dataset;
      folding.showMap();
      if (at !== undefined) control.set(Number(at));
      map.setView([Number(lat), Number(lon)], Math.max(map.getZoom(), 13), { animate: false });
      ask(Number(lat), Number(lon));
    });
  }
  window.areaplanAnswer = (lat, lon, altitudeFt) => answers.at(lat, lon, altitudeFt).json;
  areaplan.parts = { map, ground, drawing, control, answers, chooser };
  areaplan.startAsking(map, ask);
  areaplan.startHovering(map, drawing);
  areaplan.startMeasuring(map, ask, (measured) => {
    drawing.mark({ at: null, to: null, measured });
    const words = measured.length < 2 ? "Choose the second end on the map."
      : areaplan.measured(place, measured[0], measured[1], cells);
    document.getElementById("answer-body").replaceChildren(areaplan.make("p", {}, words));
    asked = null;
  });
  new areaplan.ScaleBar(map, cells);
  areaplan.fillSwitches(drawing, ground);
  areaplan.startPrinting(map, fit);
};

/** Move the map when the answer's card, or the edge, hides the place asked. */
areaplan.keepInSight = function (map, [lon, lat]) {
  const frame = map.getContainer().getBoundingClientRect();
  const card = document.getElementById("answer").getBoundingClientRect();
  const point = map.latLngToContainerPoint([lat, lon]), margin = 24;
  // On a small screen the card lies over the map's lower part; beside the map it hides nothing.
  const isOver = card.left < frame.right && card.right > frame.left;
  const bottom = isOver ? card.top - frame.top : frame.height;
  const isOutside = point.x < margin || point.y < margin || point.x > frame.width - margin ||
    point.y > bottom - margin;
  if (isOutside) map.panBy(point.subtract([frame.width / 2, bottom / 2]), { animate: false });
};

/** A word on the field below the pointer: its name, and how to land or why it does not count. */
areaplan.startHovering = function (map, drawing) {
  const tip = document.getElementById("hover");
  let frame = 0;
  map.on("mousemove", ({ latlng, containerPoint }) => {
    cancelAnimationFrame(frame);
    frame = requestAnimationFrame(() => {
      const [found] = drawing.pick(latlng.lng, latlng.lat, true);
      tip.hidden = !found;
      if (!found) return;
      const words = found.figures ? [areaplan.make("br", {}), areaplan.name(found.figures)] : [];
      tip.replaceChildren(areaplan.make("b", {}, found.prefix, areaplan.name(found.name)), ...words);
      const isRight = containerPoint.x > map.getSize().x / 2;
      tip.style.left = `${containerPoint.x + (isRight ? -12 - tip.offsetWidth : 14)}px`;
      tip.style.top = `${containerPoint.y + 16}px`;
    });
  });
  map.on("mouseout movestart click", () => { cancelAnimationFrame(frame); tip.hidden = true; });
};

/** The form for a typed place, and the button for the map's centre. */
areaplan.startAsking = function (map, ask) {
  const place = document.getElementById("ask-place"), trouble = document.getElementById("ask-trouble");
  document.getElementById("ask").addEventListener("submit", (event) => {
    event.preventDefault();
    const match = place.value.match(/^\s*([+\-−]?\d+(?:\.\d+)?)\s*[,;\s]\s*([+\-−]?\d+(?:\.\d+)?)\s*$/);
    const [lat, lon] = match ? match.slice(1).map((text) => Number(text.replace("−", "-"))) : [];
    const isPlace = match && Math.abs(lat) <= 90 && Math.abs(lon) <= 180;
    trouble.textContent = isPlace ? "" : "Type degrees such as 45.5123, -35.25 (south and west negative).";
    place.setAttribute("aria-invalid", String(!isPlace));
    if (isPlace) ask(lat, lon);
  });
  document.getElementById("ask-centre").addEventListener("click", () => {
    const { lat, lng } = map.getCenter();
    ask(lat, lng);
  });
};

/** Clicks ask, or measure while the ruler is on. */
areaplan.startMeasuring = function (map, ask, show) {
  const button = document.getElementById("measure");
  let isOn = false, ends = [];
  button.addEventListener("click", () => {
    isOn = !isOn;
    ends = [];
    button.setAttribute("aria-pressed", String(isOn));
    if (isOn) document.getElementById("answer-body").replaceChildren(
      areaplan.make("p", {}, "Choose two places on the map."));
  });
  map.on("click", ({ latlng }) => {
    if (!isOn) { ask(latlng.lat, latlng.lng); return; }
    ends = [...(ends.length > 1 ? [] : ends), [latlng.lng, latlng.lat]];
    show(ends);
  });
};
