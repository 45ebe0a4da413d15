"""Lists of fields for programs, and candidates as GeoJSON for a person to confirm."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any, Final

import numpy as np
from attrs import asdict

from areaplan.engine.strip_table import DIRECTION_STEP_DEG, DIRECTIONS
from areaplan.geodesy import LocalFrame
from areaplan.planning.field_list import FieldList, best_index
from areaplan.planning.measured import MeasuredField
from areaplan.render.as_json import source_as_json
from areaplan.render.geojson import feature, geojson_bytes
from areaplan.render.landing_words import needed_length_words
from areaplan.render.whole_file import write_whole
from areaplan.units import FOOT_M, KNOT_MPS

TO_CONFIRM: Final = "to confirm"
_DECIMALS: Final = 7  # of a degree: a centimetre


def fields_as_json(found: FieldList, *, has_candidates: bool = True) -> dict[str, Any]:
    """Fields and candidates as plain values, the best first; null where unknown.

    Lengths are metres, usable ones rounded down and needed ones up; directions degrees true.
    """
    project = found.project
    return {
        "project": project.name,
        "day": project.day.isoformat(),
        "wind": str(project.wind),
        "judged_by": list(needed_length_words(project)),
        "verdict": found.verdict.value,
        "candidates_count": project.fields.is_candidate_counted,
        "fields": [_field(row, found.frame) for row in found.fields],
        "candidates": [_field(row, found.frame) for row in found.candidates]
        if has_candidates
        else None,
        "sources": [source_as_json(row, project.day) for row in found.sources],
        "warnings": list(found.warnings),
        "cautions": list(found.cautions),
        "project_sha256": project.sha256,
    }


def write_candidates(found: FieldList, path: Path) -> None:
    """Write the candidates as GeoJSON (RFC 7946), the best first, for a person to confirm.

    Who has looked at one sets `confirmed` to true and writes its name, surface and consent; the
    file then serves as a source of fields, of which only the confirmed rows are fields.

    Raises
    ------
    InputError
        The folder is missing or can't be written to.
    """
    content = geojson_bytes(map(_feature, found.candidates), {})
    write_whole(path, content, "the candidates", "--export")


def _field(row: MeasuredField, frame: LocalFrame) -> dict[str, Any]:
    field, index = row.field, best_index(row)
    return {
        "name": field.name,
        "is_candidate": row.is_candidate,
        "counts": row.counts,
        "why_not": list(row.why_not),
        "best_direction_deg_true": row.best_direction_deg_true,
        "usable_m": None if index is None else math.floor(row.strips.usable_m[index]),
        "needed_m": None if index is None else math.ceil(row.needed_m[index]),
        "area_m2": math.floor(row.area_m2),
        "density_altitude_ft": None
        if math.isnan(row.density_altitude_m)
        else math.ceil(row.density_altitude_m / FOOT_M),
        "crossed_by": [{"kind": kind, "name": name} for kind, name in row.across],
        "nearest_solid": row.nearest_solid or None,
        "nearest_solid_m": math.floor(row.nearest_solid_m) if row.nearest_solid else None,
        "five_s": asdict(row.five_s),
        "surface": field.surface,
        "consent": field.consent,
        "remarks": field.remarks,
        "land_cover": field.cover,
        "land_cover_rank": field.cover_rank or None,
        "strips": [_strip(row, i, frame) for i in range(DIRECTIONS)],
    }


def _strip(row: MeasuredField, i: int, frame: LocalFrame) -> dict[str, Any]:
    strips = row.strips
    return {
        "direction_deg_true": round(i * DIRECTION_STEP_DEG),
        "length_m": math.floor(strips.length_m[i]),
        "lost_before_m": math.ceil(strips.lost_before_m[i]),
        "lost_after_m": math.ceil(strips.lost_after_m[i]),
        "usable_m": math.floor(strips.usable_m[i]),
        "needed_m": math.ceil(row.needed_m[i]),
        "crosswind_kt": math.ceil(row.crosswind_mps[i] / KNOT_MPS * 10.0 - 1e-6) / 10.0,
        "is_enough": row.is_enough[i],
        "slope": _number(strips.slope[i], 4),
        "steepest": _number(strips.steepest[i], 4),
        "roughness_m": _number(strips.roughness_m[i], 2),
        "touchdown": _place(strips.touchdown_m[i], frame),
        "rollout": _place(strips.rollout_m[i], frame),
    }


def _number(value: float, digits: int) -> float | None:
    return None if math.isnan(value) else round(float(value), digits)


def _place(xy_m: Any, frame: LocalFrame) -> list[float] | None:
    """Longitude, latitude of a place in local metres."""
    if np.isnan(xy_m).any():
        return None
    lon, lat = frame.to_lonlat(float(xy_m[0]), float(xy_m[1]))
    return [round(float(lon), _DECIMALS), round(float(lat), _DECIMALS)]


def _feature(row: MeasuredField) -> dict[str, Any]:
    field, index = row.field, best_index(row)
    properties = {
        "name": field.name,
        "status": TO_CONFIRM,
        "confirmed": False,
        "surface": "",
        "consent": "",
        "remarks": "",
        "rank": field.cover_rank,
        "class": field.cover,
        "best_direction_deg_true": row.best_direction_deg_true,
        "usable_length_m": None if index is None else math.floor(row.strips.usable_m[index]),
        "needed_length_m": None if index is None else math.ceil(row.needed_m[index]),
        "why_not": "; ".join(row.why_not),
    }
    return feature(field.geometry, properties)
