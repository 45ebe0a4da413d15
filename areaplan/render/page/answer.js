"use strict";
/* What holds at a place: the same answer, to the foot, as `areaplan point --json` gives. */

areaplan.Answers = class {
  /**
   * @param {areaplan.Cells} cells
   * @param {areaplan.Place} place
   * @param {object} table fields and classes as map.py wrote them
   */
  constructor(cells, place, table) {
    Object.assign(this, { cells, place, fields: table.fields, classes: table.classes });
  }

  /** @param {number} feet @returns {?number} null for unknown and for "no altitude is enough" */
  known(feet) {
    return feet === this.cells.unknown_ft || feet === this.cells.unreachable_ft ? null : feet;
  }

  /**
   * @param {number} index into the binders
   * @returns {?{rule: string, title: string, feature: string, confirm: string}}
   */
  binder(index) {
    if (index === this.cells.nobody) return null;
    const [rule, title, feature] = this.cells.binders[index];
    return { rule, title, feature, confirm: this.cells.confirm[rule] || "" };
  }

  /** Open bands of a cell, low to high; null where unknown. Feet AMSL. */
  bands(i) {
    const { cells } = this, bands = [];
    if (cells.isLegalUnknown(i)) return null;
    for (let b = 0; b < 2 * cells.bands; b += 2) {
      const floor = cells.bands_amsl_ft[b][i], ceiling = cells.bands_amsl_ft[b + 1][i];
      if (floor === cells.no_band_ft) continue;
      bands.push({
        floor, ceiling: ceiling === cells.no_limit_ft ? null : ceiling,
        floor_by: this.binder(cells.bands_binder[b][i]),
        ceiling_by: this.binder(cells.bands_binder[b + 1][i]),
      });
    }
    return bands;
  }

  /**
   * Twelve sectors of a cell: whether a glide that leaves on 30 k degrees true reaches a field.
   * @param {number} i cell
   * @param {number} altitude feet AMSL
   * @returns {{isReached: boolean, field: number}[]}
   */
  sectors(i, altitude) {
    return this.cells.sector_amsl_ft.map((required, k) => ({
      isReached: this.known(required[i]) !== null && required[i] <= altitude,
      field: this.cells.sector_field[k][i],
    }));
  }

  /**
   * Everything known at a place.
   * @param {number} lat degrees WGS 84
   * @param {number} lon degrees WGS 84
   * @param {number} altitude feet AMSL
   * @returns {object} `json` with the keys of `areaplan point --json`; and for the panel `isInside`
   *   (of the data), `floor_by`, `glide_by`, `bands`, `sectors`, `way` (to the field, local metres), `k` and
   *   `wind_kt` (the wind limit as the cells carry it; null where none were asked for)
   */
  at(lat, lon, altitude) {
    const local = this.place.toLocal(lon, lat);
    const i = local ? this.cells.at(local[0], local[1]) : -1;
    if (i < 0) return this.nothing(lat, lon, altitude);
    const { cells } = this;
    const required = cells.glide_required_amsl_ft[i], field = cells.field[i];
    const isGlideUnknown = required === cells.unknown_ft;
    const glideBy = this.binder(cells.glide_binder[i]);
    const floorBy = this.binder(cells.legal_floor_binder[i]), bands = this.bands(i);
    const sectors = this.sectors(i, altitude), reached = sectors.filter((one) => one.isReached);
    const labels = new Set(reached.map((one) => one.field).filter((one) => one !== cells.nobody));
    const way = field === cells.nobody ? null
      : areaplan.wayToField(this.fields[field].rings_m, local[0], local[1]);
    const k = cells.classOf(i, altitude), by = (one) => one && { rule: one.rule, feature: one.feature };
    const json = {
      lat, lon, altitude_amsl_ft: altitude,
      verdict: k === areaplan.UNKNOWN ? "UNKNOWN" : k === 0 ? "MET" : "NOT_MET",
      class: this.classes[k].key,
      terrain_amsl_ft: this.known(cells.terrain_amsl_ft[i]),
      legal_floor_amsl_ft: this.known(cells.legal_floor_amsl_ft[i]),
      binding_rule: floorBy && floorBy.rule,
      binding_confirm: floorBy && floorBy.confirm,
      binding_feature: floorBy && floorBy.feature,
      open_bands_amsl_ft: bands && bands.map((band) => [band.floor, band.ceiling]),
      open_bands_bound_by: bands && bands.map((band) => (
        { floor: by(band.floor_by), ceiling: by(band.ceiling_by) })),
      glide_required_amsl_ft: this.known(required),
      glide_bound_by: by(glideBy),
      glide_is_unknown: isGlideUnknown,
      field: field === cells.nobody ? null : this.fields[field].name,
      field_distance_nm: way && Math.round(way.distance_m / cells.nautical_mile_m * 100) / 100,
      field_bearing_true_deg: way && way.bearing_deg === null ? null
        : way && Math.round(way.bearing_deg) % 360,
      sectors_with_field: isGlideUnknown ? null : reached.length,
      separate_fields_at_least: isGlideUnknown ? null : labels.size,
    };
    const wind_kt = cells.wind ? cells.wind_limit_kt[i] : null;
    return { json, isInside: true, floor_by: floorBy, glide_by: glideBy, bands, sectors, way, local, k, wind_kt };
  }

  /** The answer outside the data: nothing is known there. */
  nothing(lat, lon, altitude) {
    const json = {
      lat, lon, altitude_amsl_ft: altitude, verdict: "UNKNOWN",
      class: this.classes[areaplan.UNKNOWN].key, terrain_amsl_ft: null, legal_floor_amsl_ft: null,
      binding_rule: null, binding_confirm: null, binding_feature: null, open_bands_amsl_ft: null,
      open_bands_bound_by: null, glide_required_amsl_ft: null, glide_bound_by: null,
      glide_is_unknown: true, field: null,
      field_distance_nm: null, field_bearing_true_deg: null, sectors_with_field: null,
      separate_fields_at_least: null,
    };
    return { json, isInside: false, floor_by: null, glide_by: null, bands: null, sectors: null, way: null,
      local: null, k: areaplan.UNKNOWN, wind_kt: null };
  }
};
