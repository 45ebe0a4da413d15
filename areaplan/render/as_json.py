"""Plans and point answers as JSON: the keys that other programs may rely on."""

from __future__ import annotations

from datetime import date
from typing import Any, Final

from cattrs.preconf.json import make_converter

from areaplan.planning.plan import Binder, Finding, Plan
from areaplan.planning.point import Band, PointAnswer
from areaplan.planning.project import StatedWeather
from areaplan.planning.track import TrackAnswer
from areaplan.sources.layers import SourceRecord

# Value objects to plain values: dates in ISO 8601, words for enumerations, lists for tuples.
_PLAIN: Final = make_converter()


def plan_as_json(plan: Plan) -> dict[str, Any]:
    """A plan as plain values: heights in whole feet AMSL, shares from 0 to 1.

    `block` is null where no altitude is legal and safe everywhere; its `ceiling_amsl_ft` is null
    where the data have no ceiling.
    """
    project = plan.project
    return {
        "project": project.name,
        "school": project.school,
        "day": project.day.isoformat(),
        "flight": project.flight.value,
        "weather": weather_as_json(project.weather),
        "verdict": plan.verdict.value,
        "planned": _PLAIN.unstructure(plan.planned),
        "block": _PLAIN.unstructure(plan.block),
        "best": _PLAIN.unstructure(plan.best),
        "by_altitude": _PLAIN.unstructure(plan.by_altitude),
        "findings": [_finding(row) for row in plan.findings],
        "sources": [source_as_json(row, project.day) for row in plan.sources],
        "rules": _PLAIN.unstructure(plan.limits),
        "warnings": list(plan.warnings),
        "cautions": list(plan.cautions),
        "project_sha256": project.sha256,
    }


def weather_as_json(weather: StatedWeather | None) -> dict[str, str] | None:
    """Stated weather in the words of the project file; null where it states none."""
    if weather is None:
        return None
    return {
        "visibility": weather.visibility_text,
        "ceiling": weather.ceiling_text,
        "source": weather.source,
    }


def point_as_json(answer: PointAnswer) -> dict[str, Any]:
    """A point answer as plain values; null where not known or where no altitude would do."""
    return {
        "lat": answer.lat,
        "lon": answer.lon,
        "altitude_amsl_ft": answer.altitude_amsl_ft,
        "verdict": answer.verdict.value,
        "class": answer.cell_class.name.lower(),
        "terrain_amsl_ft": answer.terrain_amsl_ft,
        "legal_floor_amsl_ft": answer.legal_floor_amsl_ft,
        "binding_rule": answer.floor_by.limit.rule if answer.floor_by else None,
        "binding_confirm": answer.floor_by.limit.confirm if answer.floor_by else None,
        "binding_feature": answer.floor_by.feature if answer.floor_by else None,
        "open_bands_amsl_ft": None
        if answer.bands is None
        else [[band.floor_amsl_ft, band.ceiling_amsl_ft] for band in answer.bands],
        "open_bands_bound_by": None
        if answer.bands is None
        else [_band_binders(band) for band in answer.bands],
        "glide_required_amsl_ft": answer.glide_required_amsl_ft,
        "glide_bound_by": _binder(answer.glide_bound_by),
        "glide_is_unknown": answer.is_glide_unknown,
        "field": answer.field,
        "field_distance_nm": answer.field_distance_nm,
        "field_bearing_true_deg": answer.field_bearing_true_deg,
        "sectors_with_field": answer.sectors_with_field,
        "separate_fields_at_least": answer.separate_fields,
    }


def track_as_json(answer: TrackAnswer | None) -> dict[str, Any]:
    """What a place asks for on one track, where that was asked."""
    if answer is None:
        return {}
    return {
        "track_true_deg": answer.track_deg_true,
        "glide_required_on_track_amsl_ft": answer.glide_required_amsl_ft,
    }


def _band_binders(band: Band) -> dict[str, Any]:
    return {"floor": _binder(band.floor_by), "ceiling": _binder(band.ceiling_by)}


def _binder(binder: Binder | None) -> dict[str, str] | None:
    return None if binder is None else {"rule": binder.limit.rule, "feature": binder.feature}


def _finding(finding: Finding) -> dict[str, Any]:
    """The finding with the rule's own words beside its verdict."""
    plain: dict[str, Any] = _PLAIN.unstructure(finding)
    del plain["names"]  # how people are told of the feature; `feature` is the same name as ever
    return {**plain.pop("limit"), **plain}


def source_as_json(record: SourceRecord, day: date) -> dict[str, Any]:
    """The record of a source as plain values, its validity on a day."""
    plain: dict[str, Any] = _PLAIN.unstructure(record)
    files = zip(plain.pop("paths"), plain.pop("sha256"), strict=True)
    return {
        **plain,
        "files": [{"path": path, "sha256": digest} for path, digest in files],
        "is_expired": record.is_expired(day),
    }
