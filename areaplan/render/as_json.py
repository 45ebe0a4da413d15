"""Plans and point answers as JSON: the keys that other programs may rely on."""

from __future__ import annotations

from datetime import date
from typing import Any

from attrs import asdict

from areaplan.planning.plan import Binder, Finding, Limit, Plan
from areaplan.planning.point import Band, PointAnswer
from areaplan.planning.track import TrackAnswer
from areaplan.sources.layers import SourceRecord


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
        "verdict": plan.verdict.value,
        "planned": [asdict(row) for row in plan.planned],
        "block": None if plan.block is None else asdict(plan.block),
        "best": asdict(plan.best),
        "by_altitude": [asdict(row) for row in plan.by_altitude],
        "findings": [_finding(row) for row in plan.findings],
        "sources": [source_as_json(row, project.day) for row in plan.sources],
        "rules": [_limit(row) for row in plan.limits],
        "warnings": list(plan.warnings),
        "cautions": list(plan.cautions),
        "project_sha256": project.sha256,
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
    return {
        "rule": finding.limit.rule,
        "title": finding.limit.title,
        "severity": finding.limit.severity.value,
        "verdict": finding.verdict.value,
        "altitude_amsl_ft": finding.altitude_amsl_ft,
        "margin_ft": finding.margin_ft,
        "lat": finding.lat,
        "lon": finding.lon,
        "feature": finding.feature,
        "share_met": finding.share_met,
        "quote": finding.limit.quote,
        "document": finding.limit.document,
        "reading": finding.limit.reading,
        "confirm": finding.limit.confirm,
        "sources": list(finding.sources),
    }


def _limit(limit: Limit) -> dict[str, str]:
    return {**asdict(limit), "severity": limit.severity.value}


def source_as_json(record: SourceRecord, day: date) -> dict[str, Any]:
    """The record of a source as plain values, its validity on a day."""
    return {
        "kind": record.kind.value,
        "files": [
            {"path": path, "sha256": digest}
            for path, digest in zip(record.paths, record.sha256, strict=True)
        ],
        "edition": record.edition,
        "effective": record.effective.isoformat() if record.effective else None,
        "expires": record.expires.isoformat() if record.expires else None,
        "is_expired": record.is_expired(day),
        "vertical_datum": record.vertical_datum,
        "rows_read": record.rows_read,
        "rows_used": record.rows_used,
        "rows_rejected": record.rows_rejected,
        "notes": list(record.notes),
    }
