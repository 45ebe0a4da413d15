"""Gates and routes as plain text."""

from __future__ import annotations

import math
import textwrap
from typing import Final

from areaplan.planning.gates import Gate, Use
from areaplan.planning.plan import Verdict
from areaplan.planning.project import Project
from areaplan.planning.project_file import AROUND
from areaplan.planning.route_answers import GateAnswer, InAndOut, RouteAnswer, Stretch, Tightest
from areaplan.planning.routes import ASSUMPTIONS
from areaplan.render.text import WIDTH, bullets, percent_down, percent_up, verdict_text
from areaplan.units import NAUTICAL_MILE_M, feet_text, signed_feet_text

USE_WORDS: Final = {Use.IN: "in", Use.OUT: "out", Use.BOTH: "in and out"}


def routes_text(answers: InAndOut) -> str:
    """All gates and routes with their verdicts, smallest margins and what fails."""
    plan = answers.scene.plan
    project = answers.scene.glide.project
    told = f"wind {project.wind} ({project.wind_source})"
    lines = [f"{project.name}: gates and routes, {told}"]
    lines += bullets(answers.scene.notes)
    lines += ["", f"Verdict: {verdict_text(answers.verdict)}"]
    for gate in answers.gates:
        lines += ["", *_gate_lines(gate, plan.project)]
    for route in answers.routes:
        lines += ["", *_route_lines(route, plan.project)]
    return "\n".join([*lines, "", *bullets((*ASSUMPTIONS, *plan.cautions))])


def place_words(lat: float, lon: float) -> str:
    """A place in degrees, as `areaplan point` takes it."""
    return f"{lat:.4f} {lon:.4f}"


def gate_words(gate: Gate) -> str:
    """Name, use and landmark of a gate."""
    words = f"{gate.name} ({USE_WORDS[gate.use]})"
    return f"{words}, {gate.landmark}" if gate.landmark else words


def route_words(answer: RouteAnswer) -> str:
    """Name of a route and which way it is flown, by its gates where it ends at some."""
    route = answer.route
    first, last = route.point_names[0], route.point_names[-1]
    if answer.is_reversed:
        first, last = last, first
    ends = " ".join([f"from {first}"] * bool(first) + [f"to {last}"] * bool(last))
    way = ends or ("from its last point" if answer.is_reversed else "from its first point")
    return f"{route.name}, {way}"


def margin_words(tightest: Tightest | None) -> str:
    """A margin with its sign; what stands in for it where there is none."""
    if tightest is None:
        return "unknown"
    if tightest.margin_ft is None:
        return "no altitude would do"
    return signed_feet_text(tightest.margin_ft)


def because_words(tightest: Tightest | None) -> str:
    """What sets a legal margin, or what the glide asks for; "" where nothing is known."""
    if tightest is None:
        return ""
    if tightest.binder is not None:
        limit = tightest.binder.limit
        return f"{limit.title} [{limit.rule}]: {tightest.binder.feature}"
    if tightest.required_amsl_ft is None:
        return ""
    asked = f"the glide needs {feet_text(tightest.required_amsl_ft)} AMSL"
    return f"{asked}, to {tightest.field}" if tightest.field else asked


def around_words(around_needed_m: float | None, project: Project) -> str:
    """How to enlarge the grid so that it holds what is beyond it; "" where that is not why."""
    if around_needed_m is None:
        return ""
    now_nm = project.around_m / NAUTICAL_MILE_M
    needed_nm = math.ceil(around_needed_m / NAUTICAL_MILE_M * 10.0 - 1e-9) / 10.0
    words = "Beyond the grid, or too near its edge for a turn"
    if not AROUND.hold(needed_nm * NAUTICAL_MILE_M):
        return f"{words}: farther than a project's grid may reach ({AROUND.high}); end it nearer"
    fix = f'write [grid] around = "{needed_nm:g} NM" (now {now_nm:.3g} NM)'
    return f"{words}: {fix}, with data that reach as far"


def _gate_lines(answer: GateAnswer, project: Project) -> list[str]:
    gate = answer.gate
    head = f"Gate {gate_words(gate)}; {place_words(gate.lat, gate.lon)} at "
    head += f"{feet_text(gate.altitude_amsl_ft)} AMSL: {verdict_text(answer.verdict)}"
    return [*textwrap.wrap(head, WIDTH), *_lines(gate_parts(answer, project))]


def gate_parts(answer: GateAnswer, project: Project) -> tuple[str, ...]:
    """What is told of a gate: margins, height, where it lies, and what would make it known."""
    side = "inside" if answer.is_in_area else "outside"
    parts = (
        f"legal margin {margin_words(answer.legal)}{_colon(because_words(answer.legal))}",
        f"field margin whatever the heading {margin_words(answer.glide)}"
        f"{_colon(because_words(answer.glide))}",
        f"{_height(answer.height_agl_ft)}; {answer.to_edge_nm:.1f} NM {side} the area's edge",
        around_words(answer.around_needed_m, project),
    )
    return tuple(part for part in parts if part)


def _route_lines(answer: RouteAnswer, project: Project) -> list[str]:
    route = answer.route
    head = f"Route {route_words(answer)}; {answer.length_nm:.1f} NM at "
    head += f"{feet_text(route.altitude_amsl_ft)} AMSL: {verdict_text(answer.verdict)}"
    return [*textwrap.wrap(head, WIDTH), *_lines(route_parts(answer, project))]


def route_parts(answer: RouteAnswer, project: Project) -> tuple[str, ...]:
    """What is told of a route: shares, margins, what fails, and what would mend it."""
    parts = (
        f"legal along {percent_down(answer.legal_share)}; smallest margin "
        f"{margin_words(answer.legal)}{_where(answer.legal)}{_colon(because_words(answer.legal))}",
        f"a field within gliding distance along {percent_down(answer.field_share)}; smallest "
        f"margin {margin_words(answer.glide)}{_where(answer.glide)}"
        f"{_colon(because_words(answer.glide))}",
        f"lowest {_height(answer.lowest_agl_ft)}",
        f"unknown along {percent_up(answer.unknown_share)}" if answer.unknown_share else "",
        *(stretch_words(stretch) for stretch in answer.stretches),
        lowest_met_words(answer),
        around_words(answer.around_needed_m, project),
        f"Remarks: {answer.route.remarks}" if answer.route.remarks else "",
    )
    return tuple(part for part in parts if part)


def stretch_words(stretch: Stretch) -> str:
    """Where a stretch begins and ends, what is wrong with it, and by how much."""
    begin, end = f"{stretch.begin_nm:.2f}", f"{stretch.end_nm:.2f}"
    where = f"{begin} to {end} NM" if begin != end else f"At {begin} NM"
    wrong = ["unknown"] if stretch.is_unknown else []
    if stretch.is_not_legal:
        wrong.append(f"not legal, at worst {margin_words(stretch.legal)}")
        wrong[-1] += _bracketed(because_words(stretch.legal))
    if stretch.is_without_field:
        wrong.append(f"no field in reach, at worst {margin_words(stretch.glide)}")
        wrong[-1] += _bracketed(because_words(stretch.glide))
    return f"{where}: {'; '.join(wrong)}"


def lowest_met_words(answer: RouteAnswer) -> str:
    """The lowest altitude at which a route that is not met would be; "" for the others."""
    if answer.verdict is not Verdict.NOT_MET:
        return ""
    if answer.lowest_met_amsl_ft is None:
        return "Met all along at no altitude that the glides were computed for"
    lowest = feet_text(answer.lowest_met_amsl_ft)
    return f"Lowest altitude at which it is met all along: {lowest} AMSL"


def _where(tightest: Tightest | None) -> str:
    if tightest is None:
        return ""
    place = place_words(tightest.lat, tightest.lon)
    track = f"track {round(tightest.track_deg_true) % 360:03d}"
    return f" at {tightest.along_nm:.2f} NM ({place}, {track})"


def _height(feet: int | None) -> str:
    if feet is None:
        return "height above the ground unknown"
    return f"{feet_text(feet)} above the highest ground below"


def _colon(words: str) -> str:
    return f": {words}" if words else ""


def _bracketed(words: str) -> str:
    return f" ({words})" if words else ""


def _lines(parts: tuple[str, ...]) -> list[str]:
    return [
        line
        for part in parts
        for line in textwrap.wrap(part, WIDTH, initial_indent="  ", subsequent_indent="    ")
    ]
