"""The map of a plan with its gates and routes judged, stretch by stretch."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby
from pathlib import Path
from typing import Final

import shapely
from shapely.geometry import LineString
from shapely.geometry.base import BaseGeometry
from shapely.ops import substring

from areaplan.geodesy import LocalFrame
from areaplan.planning.plan import CellClass
from areaplan.planning.project import Project
from areaplan.planning.route_answers import GateAnswer, InAndOut, RouteAnswer, Stretch
from areaplan.planning.routes import ASSUMPTIONS
from areaplan.render.map import map_html
from areaplan.render.map_foreword import Foreword, Part, other_wind
from areaplan.render.map_markup import bullets, entry_html, place_html, said
from areaplan.render.map_shape_table import Drawn
from areaplan.render.map_ways import (
    both_ways,
    gate_point,
    gate_told,
    local_line,
    route_told,
    to_lonlat,
    way_figures,
)
from areaplan.render.route_text import (
    gate_parts,
    gate_words,
    lowest_met_words,
    route_parts,
    route_words,
    stretch_words,
)
from areaplan.render.text import verdict_text
from areaplan.render.whole_file import write_whole
from areaplan.units import NAUTICAL_MILE_M, feet_text

# A stretch is drawn in the style of the class that a cell with the same answers has.
_LAYER: Final = {
    CellClass.LEGAL_WITH_FIELD: ("routes_met", "met"),
    CellClass.LEGAL_NO_FIELD: ("routes_no_field", "no field in reach"),
    CellClass.FIELD_NOT_LEGAL: ("routes_not_legal", "not legal"),
    CellClass.NEITHER: ("routes_neither", "not legal, no field in reach"),
    CellClass.UNKNOWN: ("routes_unknown", "unknown"),
}


def write_route_map(answers: InAndOut, path: Path) -> None:
    """Write the map as one HTML file: gates with verdicts, routes with every stretch's answer.

    Raises
    ------
    InputError
        As `map.map_html`; or the folder is missing or can't be written to.
    """
    write_whole(path, route_map_html(answers), "the map", "--map")


def route_map_html(answers: InAndOut) -> str:
    """The map of `write_route_map` as HTML: the same text for the same answers."""
    return map_html(answers.scene.plan, over=judged_ways(answers), first=_foreword(answers))


def judged_ways(answers: InAndOut) -> dict[str, tuple[Drawn, ...]]:
    """What is drawn of gates and routes judged, by layer of the page; longitude and latitude."""
    plan = answers.scene.plan
    stretches: dict[str, list[Drawn]] = {layer: [] for layer, _ in _LAYER.values()}
    for answer in answers.routes:
        for layer, drawn in _stretches(answer, plan.frame):
            stretches[layer].append(drawn)
    by_route = [list(rows) for _, rows in groupby(answers.routes, key=lambda one: one.route)]
    return {
        "gates": tuple(_gate(one, plan.project) for one in answers.gates),
        "routes": tuple(_route(rows, plan.frame) for rows in by_route),
        **{layer: tuple(rows) for layer, rows in stretches.items()},
    }


def class_of(stretch: Stretch) -> CellClass:
    """The class of a cell that answers like a stretch; what is wrong in places counts all along."""
    if stretch.is_unknown:
        return CellClass.UNKNOWN
    if stretch.is_not_legal:
        return CellClass.NEITHER if stretch.is_without_field else CellClass.FIELD_NOT_LEGAL
    return CellClass.LEGAL_NO_FIELD


def _gate(answer: GateAnswer, project: Project) -> Drawn:
    gate = answer.gate
    figures = f"{verdict_text(answer.verdict)}, {way_figures(gate)}"
    told = (*gate_told(gate), ("Margins", ". ".join(gate_parts(answer, project))))
    return gate_point(gate), gate.name, figures, told


def _route(rows: list[RouteAnswer], frame: LocalFrame) -> Drawn:
    """A route with what it was found to be in each direction."""
    route = rows[0].route
    verdicts = [verdict_text(one.verdict) for one in rows]
    found = (
        verdicts[0]
        if len(set(verdicts)) == 1
        else f"{verdicts[0]} one way, {verdicts[1]} the other"
    )
    told = [(f"Verdict, {route_words(one)}", _judged_words(one)) for one in rows]
    figures = f"{found}, {way_figures(route)}"
    return both_ways(route, frame), route.name, figures, (*route_told(route), *told)


def _judged_words(answer: RouteAnswer) -> str:
    wrong = [stretch_words(one) for one in answer.stretches]
    words = (verdict_text(answer.verdict), *wrong, lowest_met_words(answer))
    return ". ".join(one for one in words if one)


def _stretches(answer: RouteAnswer, frame: LocalFrame) -> Iterator[tuple[str, Drawn]]:
    """Layer and drawing of every stretch, those between that are met as well."""
    line = local_line(answer.route, frame, is_reversed=answer.is_reversed)
    altitude = feet_text(answer.route.altitude_amsl_ft)
    met_from_m = 0.0
    for stretch in answer.stretches:
        begin_m, end_m = (nm * NAUTICAL_MILE_M for nm in (stretch.begin_nm, stretch.end_nm))
        yield from _met(answer, line, met_from_m, begin_m, frame)
        layer, words = _LAYER[class_of(stretch)]
        told = (("Route", route_words(answer)), ("Altitude", f"{altitude} AMSL"))
        shape = _piece(line, begin_m, end_m, frame)
        yield layer, (shape, f"{answer.route.name}: {words}", stretch_words(stretch), told)
        met_from_m = max(met_from_m, end_m)
    yield from _met(answer, line, met_from_m, line.length, frame)


def _met(
    answer: RouteAnswer, line: LineString, begin_m: float, end_m: float, frame: LocalFrame
) -> Iterator[tuple[str, Drawn]]:
    if end_m - begin_m < 1.0:  # rounding, not a stretch
        return
    layer, words = _LAYER[CellClass.LEGAL_WITH_FIELD]
    ends = " to ".join(f"{metres / NAUTICAL_MILE_M:.2f}" for metres in (begin_m, end_m))
    altitude = feet_text(answer.route.altitude_amsl_ft)
    figures = f"{ends} NM: legal, a field in reach"
    told = (("Route", route_words(answer)), ("Altitude", f"{altitude} AMSL"))
    shape = _piece(line, begin_m, end_m, frame)
    yield layer, (shape, f"{answer.route.name}: {words}", figures, told)


def _piece(line: LineString, begin_m: float, end_m: float, frame: LocalFrame) -> BaseGeometry:
    """A stretch of a line, longitude/latitude; a point for a bend of which the turn alone fails."""
    part = substring(line, begin_m, min(end_m, line.length))
    return to_lonlat(shapely.Point(part.coords[0]) if part.length == 0.0 else part, frame)


def _foreword(answers: InAndOut) -> Foreword:
    scene = answers.scene
    project = scene.glide.project
    return Foreword(
        subject="Gates and routes, judged",
        short=f"Gates and routes: {verdict_text(answers.verdict)}",
        verdict=answers.verdict,
        meaning=f"in wind {project.wind} ({project.wind_source}), each at its own altitude.",
        grave=other_wind(scene.notes, scene.plan),
        parts=(Part("ways", "Gates and routes", _ways(answers)),),
    )


def _ways(answers: InAndOut) -> str:
    project = answers.scene.plan.project
    entries = [
        *(_gate_entry(one, project) for one in answers.gates),
        *(_route_entry(one, project) for one in answers.routes),
    ]
    how = (
        "<p class='small'>A band beside a route, to the right as it is flown, says in the classes' "
        "own patterns what was found along it.</p>"
    )
    return how + "".join(entries) + bullets(ASSUMPTIONS)


def _gate_entry(answer: GateAnswer, project: Project) -> str:
    gate = answer.gate
    head = f"Gate <strong>{said(gate_words(gate))}</strong>"
    button = place_html(gate.lat, gate.lon, gate.altitude_amsl_ft)
    return entry_html(answer.verdict, head, way_figures(gate), gate_parts(answer, project), button)


def _route_entry(answer: RouteAnswer, project: Project) -> str:
    """A route with a button for where it is worst."""
    route = answer.route
    head = f"Route <strong>{said(route_words(answer))}</strong>, {answer.length_nm:.1f} NM"
    tightest = [one for one in (answer.legal, answer.glide) if one is not None]
    worst = min(
        tightest,
        key=lambda one: float("-inf") if one.margin_ft is None else one.margin_ft,
        default=None,
    )
    button = "" if worst is None else place_html(worst.lat, worst.lon, route.altitude_amsl_ft)
    return entry_html(
        answer.verdict, head, way_figures(route), route_parts(answer, project), button
    )
