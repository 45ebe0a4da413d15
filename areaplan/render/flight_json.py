"""A recorded flight's review as JSON: the keys that other programs may rely on."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from attrs import asdict

from areaplan.planning.flight_judge import RuleMargin
from areaplan.planning.flight_review import FlightReview
from areaplan.planning.flight_spells import Moment, Spell
from areaplan.render.as_json import source_as_json


def flight_as_json(review: FlightReview) -> dict[str, Any]:
    """A review as plain values: times UTC, heights in whole feet, null where unknown."""
    flight, plan = review.flight, review.plan
    return {
        "contradiction": review.altitude_check.contradiction or None,
        "project": plan.project.name,
        "day": plan.project.day.isoformat(),
        "flight": {
            "file": flight.name,
            "form": flight.form,
            "sha256": flight.sha256,
            "begins": _time(review, 0.0),
            "ends": _time(review, float(flight.time_s[-1])),
            "points_read": flight.rows_read,
            "points_rejected": flight.rows_rejected,
        },
        "altitudes": review.altitude_words,
        "altitudes_amsl_ft": None
        if review.altitudes_amsl_ft is None
        else list(review.altitudes_amsl_ft),
        "setting_less_satellites_ft": review.altitude_check.difference_ft,
        "uncertainty_ft": review.uncertainty_ft,
        "verdict": review.verdict.value,
        "seconds": {key: round(value, 1) for key, value in asdict(review.seconds).items()},
        "margins_by_rule": [_rule(row, review) for row in review.by_rule],
        "glide": None
        if review.least_glide is None
        else {
            "margin_ft": review.least_glide_ft,
            **_moment(review.least_glide, review),
        },
        "lowest": [_moment(row, review) for row in review.lowest],
        "spells": [_spell(row, review) for row in review.spells],
        "notes": list(review.notes),
        "sources": [source_as_json(row, plan.project.day) for row in plan.sources],
        "cautions": list(plan.cautions),
        "project_sha256": plan.project.sha256,
    }


def _time(review: FlightReview, time_s: float) -> str:
    moment = review.flight.begins + timedelta(seconds=time_s)
    return moment.isoformat(timespec="seconds").replace("+00:00", "Z")


def _moment(moment: Moment, review: FlightReview) -> dict[str, Any]:
    track = moment.track_deg_true
    return {
        "time": _time(review, moment.time_s),
        "lat": round(moment.lat, 6),
        "lon": round(moment.lon, 6),
        "altitude_amsl_ft": moment.altitude_amsl_ft,
        "height_agl_ft": moment.height_agl_ft,
        "track_deg_true": None if track is None else round(track) % 360,
    }


def _rule(row: RuleMargin, review: FlightReview) -> dict[str, Any]:
    return {
        "rule": row.limit.rule,
        "title": row.limit.title,
        "severity": row.limit.severity.value,
        "quote": row.limit.quote,
        "document": row.limit.document,
        "confirm": row.limit.confirm,
        "feature": row.feature,
        "margin_ft": row.margin_ft,
        "seconds_beyond": round(row.seconds_beyond, 1),
        **_moment(row.nearest, review),
    }


def _spell(row: Spell, review: FlightReview) -> dict[str, Any]:
    return {
        "kind": row.kind.value,
        "begins": _time(review, row.begin_s),
        "ends": _time(review, row.end_s),
        "seconds": round(row.lasts_s, 1),
        "worst_margin_ft": row.worst_margin_ft,
        "is_certain": row.is_certain,
        "rule": row.binder.limit.rule if row.binder else None,
        "feature": row.binder.feature if row.binder else None,
        "worst": _moment(row.worst, review),
    }
