"""Gates and routes as plain values for programs."""

from __future__ import annotations

from typing import Any

from attrs import asdict

from areaplan.planning.route_answers import GateAnswer, InAndOut, RouteAnswer, Stretch, Tightest
from areaplan.planning.routes import ASSUMPTIONS
from areaplan.units import KNOT_MPS


def routes_as_json(answers: InAndOut) -> dict[str, Any]:
    """All gates and routes: whole feet AMSL, nautical miles, degrees, shares from 0 to 1.

    A margin is null where it is not known; its `margin_ft` is null where no altitude would do.
    `has_winds_aloft` says that the glide met the winds of the project's table too.
    """
    scene = answers.scene
    plan, project = scene.plan, scene.glide.project
    return {
        "project": project.name,
        "verdict": answers.verdict.value,
        "wind": {
            "from_deg_true": project.wind.from_deg_true,
            "speed_kt": round(project.wind.speed_mps / KNOT_MPS, 3),
            "source": project.wind_source,
            "has_winds_aloft": bool(project.winds_aloft),
        },
        "notes": list(scene.notes),
        "gates": [gate_as_json(answer) for answer in answers.gates],
        "routes": [route_as_json(answer) for answer in answers.routes],
        "assumptions": list(ASSUMPTIONS),
        "cautions": list(plan.cautions),
        "project_sha256": project.sha256,
    }


def gate_as_json(answer: GateAnswer) -> dict[str, Any]:
    """One gate."""
    return {
        **asdict(answer.gate),
        "use": answer.gate.use.value,
        "verdict": answer.verdict.value,
        "legal": _tightest(answer.legal),
        "glide": _tightest(answer.glide),
        "height_agl_ft": answer.height_agl_ft,
        "to_edge_nm": answer.to_edge_nm,
        "is_in_area": answer.is_in_area,
        "around_needed_m": answer.around_needed_m,
    }


def route_as_json(answer: RouteAnswer) -> dict[str, Any]:
    """One route in one direction; `points` in the order of the project file."""
    route = answer.route
    return {
        "name": route.name,
        "points": [
            {"lat": lat, "lon": lon, "gate": name or None}
            for (lon, lat), name in zip(route.points, route.point_names, strict=True)
        ],
        "altitude_amsl_ft": route.altitude_amsl_ft,
        "use": route.use.value,
        "remarks": route.remarks,
        "is_reversed": answer.is_reversed,
        "verdict": answer.verdict.value,
        "length_nm": answer.length_nm,
        "legal": _tightest(answer.legal),
        "glide": _tightest(answer.glide),
        "lowest_agl_ft": answer.lowest_agl_ft,
        "met_share": answer.met_share,
        "legal_share": answer.legal_share,
        "field_share": answer.field_share,
        "unknown_share": answer.unknown_share,
        "lowest_met_amsl_ft": answer.lowest_met_amsl_ft,
        "stretches": [_stretch(stretch) for stretch in answer.stretches],
        "around_needed_m": answer.around_needed_m,
    }


def _stretch(stretch: Stretch) -> dict[str, Any]:
    return {
        "begin_nm": stretch.begin_nm,
        "end_nm": stretch.end_nm,
        "is_unknown": stretch.is_unknown,
        "is_not_legal": stretch.is_not_legal,
        "is_without_field": stretch.is_without_field,
        "legal": _tightest(stretch.legal),
        "glide": _tightest(stretch.glide),
    }


def _tightest(tightest: Tightest | None) -> dict[str, Any] | None:
    if tightest is None:
        return None
    binder = tightest.binder
    by = None if binder is None else {"rule": binder.limit.rule, "feature": binder.feature}
    place = {"lat": round(tightest.lat, 6), "lon": round(tightest.lon, 6)}  # a tenth of a metre
    return {**asdict(tightest, recurse=False), **place, "binder": by}
