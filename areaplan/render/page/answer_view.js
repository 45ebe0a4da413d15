"use strict";
/* The answer as people read it. Every word from the data enters by textContent. */

/** Feet as text with thousands apart. @param {number} value whole feet */
areaplan.feet = (value) =>
  `${value < 0 ? "−" : ""}${String(Math.abs(value)).replace(/\B(?=(\d{3})+$)/g, "\u00a0")}\u00a0ft`;

/** A share of what is usable in whole per cent, never more than it is. */
areaplan.percentDown = (share) => `${Math.floor(share * 100 + 1e-9)}\u00a0%`;

/** A share of what is not usable or not known, never less than it is. */
areaplan.percentUp = (share) => `${Math.ceil(share * 100 - 1e-9)}\u00a0%`;

/**
 * An element with text or children.
 * @param {string} tag
 * @param {object} attributes plain attributes
 * @param {...(string|Node)} inside texts are set as text, never as HTML
 * @returns {HTMLElement}
 */
areaplan.make = function (tag, attributes, ...inside) {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) element.setAttribute(name, value);
  element.append(...inside);
  return element;
};

/** A name from the data, kept from turning the direction of the words round it. */
areaplan.name = (text) => areaplan.make("bdi", {}, text);

/** Degrees and decimals with hemisphere, as people read positions. */
areaplan.position = function (lat, lon) {
  const one = (value, plus, minus) => `${Math.abs(value).toFixed(5)}° ${value < 0 ? minus : plus}`;
  return `${one(lat, "N", "S")}, ${one(lon, "E", "W")}`;
};

areaplan.AnswerView = class {
  /**
   * @param {areaplan.Answers} answers
   * @param {areaplan.Palette} palette
   * @param {object} table words of classes and verdicts
   */
  constructor(answers, palette, table) {
    Object.assign(this, { answers, palette, table });
    this.body = document.getElementById("answer-body");
  }

  /**
   * Show an answer.
   * @param {object} answer as `Answers.at` gives it
   * @param {{layer: string, name: string, figures: string, told: string[][]}[]} drawn what is
   *   drawn there
   */
  show(answer, drawn) {
    const { json } = answer, { make } = areaplan;
    const swatch = make("canvas", { class: "swatch", width: 56, height: 36, "aria-hidden": "true" });
    this.palette.swatch(swatch, answer.k);
    const words = this.table.classes[answer.k].words;
    const head = make("div", { class: "answer-class" }, swatch, make("p", {},
      make("strong", {}, words[0].toUpperCase() + words.slice(1)),
      make("br", {}), `at ${areaplan.feet(json.altitude_amsl_ft)} AMSL `, this.badge(json.verdict)));
    const rows = [["Place", areaplan.position(json.lat, json.lon)], ...this.rows(answer)];
    if (drawn.length > 0) rows.push(["Drawn here", this.drawnHere(drawn)]);
    const list = make("dl", {}, ...rows.map(([term, value]) =>
      make("div", {}, make("dt", {}, term), make("dd", {}, ...[].concat(value)))));
    this.body.replaceChildren(head, list);
  }

  badge(verdict) {
    const kind = { MET: "met", NOT_MET: "not-met", UNKNOWN: "unknown" }[verdict];
    return areaplan.make("span", { class: `verdict ${kind}` }, this.table.verdict_words[verdict]);
  }

  rows(answer) {
    const { json } = answer;
    if (!answer.isInside) return [["Data", "This place lies outside the data of this map: unknown."]];
    return [
      ["Ground", this.ground(json)],
      ["Legal floor", this.floor(answer)],
      ["Open bands", this.bands(answer)],
      ["Glide needs", this.glide(answer)],
      ["Field", this.field(json)],
      ["Sectors", this.sectors(answer)],
      ...(answer.wind_kt === null ? [] : [["Wind limit", this.wind(answer.wind_kt)]]),
    ];
  }

  ground(json) {
    if (json.terrain_amsl_ft === null) return "unknown";
    const above = json.altitude_amsl_ft - json.terrain_amsl_ft;
    const where = above < 0 ? `${areaplan.feet(-above)} above you` : `${areaplan.feet(above)} below you`;
    return `${areaplan.feet(json.terrain_amsl_ft)} AMSL, highest in the cell; ${where}`;
  }

  by(binder) {
    if (!binder) return [];
    return [areaplan.make("span", { class: "by" }, areaplan.name(binder.title), ": ",
      areaplan.name(binder.feature), ...this.confirm(binder))];
  }

  /** What must be confirmed of a rule before it is relied on, if anything. */
  confirm(binder) {
    return binder.confirm ? [areaplan.make("strong", {}, " Confirm: "), areaplan.name(binder.confirm)] : [];
  }

  floor(answer) {
    if (answer.bands === null) return "unknown";
    const feet = answer.json.legal_floor_amsl_ft;
    if (feet === null) {
      return [answer.floor_by ? "closed at every altitude" : "unknown", ...this.by(answer.floor_by)];
    }
    if (!answer.floor_by) return "no rule sets one here";
    return [`${areaplan.feet(feet)} AMSL`, ...this.by(answer.floor_by)];
  }

  bands(answer) {
    if (answer.bands === null) return "unknown";
    if (answer.bands.length === 0) return "none at any altitude";
    return areaplan.make("ul", {}, ...answer.bands.map((band) => {
      const low = band.floor_by ? areaplan.feet(band.floor) : "the ground";
      const high = band.ceiling === null ? "no ceiling in the data" : areaplan.feet(band.ceiling);
      const item = areaplan.make("li", {}, `${low} to ${high}${band.ceiling === null ? "" : " AMSL"}`);
      for (const [edge, binder] of [["from", band.floor_by], ["to", band.ceiling_by]]) {
        if (!binder) continue;
        item.append(areaplan.make("span", { class: "by" }, `${edge}: `,
          areaplan.name(binder.title), ": ", areaplan.name(binder.feature),
          ...this.confirm(binder)));
      }
      return item;
    }));
  }

  glide({ json, glide_by: by }) {
    const isChoice = by !== null && by.feature !== this.table.whatever_the_heading;
    if (json.glide_is_unknown) return "unknown";
    if (json.glide_required_amsl_ft === null) {
      return isChoice ? ["no altitude is enough", ...this.by(by)] : "no altitude is enough for every heading";
    }
    const words = `${areaplan.feet(json.glide_required_amsl_ft)} AMSL, whatever the heading`;
    return isChoice ? [`${words}, and for the choice of fields`, ...this.by(by)] : words;
  }

  field(json) {
    if (json.field === null) return json.glide_is_unknown ? "unknown" : "none";
    if (json.field_bearing_true_deg === null) return [areaplan.name(json.field), ", below you"];
    const bearing = String(json.field_bearing_true_deg).padStart(3, "0");
    return [areaplan.name(json.field),
      `, ${json.field_distance_nm.toFixed(2)} NM to its edge, bearing ${bearing}° true`];
  }

  sectors(answer) {
    const { json } = answer;
    if (json.sectors_with_field === null) return "unknown";
    const words = `${json.sectors_with_field} of 12 lead to a field from this altitude` +
      (json.sectors_with_field > 0 ? `, at least ${json.separate_fields_at_least} separate` : "");
    return [this.wheel(answer.sectors), words];
  }

  wind(kt) {
    const { altitude_amsl_ft, highest_kt, not_in_calm, unknown, outside } = this.answers.cells.wind;
    if (kt === outside) return "only found inside the area";
    const at = `at ${areaplan.feet(altitude_amsl_ft)} AMSL`;
    if (kt === unknown) return `unknown ${at}`;
    if (kt === not_in_calm) return `no field within gliding distance even in calm, ${at}`;
    if (kt === 0) return `a field within gliding distance in calm only, ${at}`;
    return `${kt}\u00a0kt from whichever direction tested keeps a field within gliding distance ${at}` +
      (kt === highest_kt ? "; the strongest tested" : "");
  }

  /** Twelve sectors, north up: filled where a field is reached, empty and struck where not. */
  wheel(sectors) {
    const svgTag = (tag, attributes) => {
      const element = document.createElementNS("http://www.w3.org/2000/svg", tag);
      for (const [name, value] of Object.entries(attributes)) element.setAttribute(name, value);
      return element;
    };
    const svg = svgTag("svg", { viewBox: "-32 -32 64 64", width: 64, height: 64, class: "wheel",
      "aria-hidden": "true" });
    const at = (radius, degrees) => {
      const angle = degrees * Math.PI / 180;
      return `${(radius * Math.sin(angle)).toFixed(2)} ${(-radius * Math.cos(angle)).toFixed(2)}`;
    };
    sectors.forEach(({ isReached }, k) => {
      const from = 30 * k - 14, to = 30 * k + 14;
      const shape = `M${at(11, from)}L${at(30, from)}A30 30 0 0 1 ${at(30, to)}L${at(11, to)}A11 11 0 0 0 ${at(11, from)}Z`;
      svg.append(svgTag("path", { d: shape, fill: isReached ? this.table.classes[0].fill : "#FFFFFF",
        stroke: areaplan.INK, "stroke-width": 1 }));
      if (!isReached) {
        svg.append(svgTag("path", { d: `M${at(13, 30 * k)}L${at(28, 30 * k)}`, stroke: areaplan.INK,
          "stroke-width": 1.5, "stroke-dasharray": "2 2" }));
      }
    });
    const north = svgTag("text", { x: 0, y: 4, "text-anchor": "middle", "font-size": 11 });
    north.textContent = "N";
    svg.append(north);
    return svg;
  }

  drawnHere(drawn) {
    const { make } = areaplan;
    return make("ul", {}, ...drawn.map(({ layer, name, figures, told }) => {
      const item = make("li", {}, `${layer}: `, areaplan.name(name));
      if (figures) item.append(make("span", { class: "by" }, areaplan.name(figures)));
      for (const [term, words] of told) {
        item.append(make("span", { class: "by told" }, make("b", {}, `${term}: `), areaplan.name(words)));
      }
      return item;
    }));
  }
};
