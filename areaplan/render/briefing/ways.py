"""The section of the briefing on gates and routes in and out."""

from __future__ import annotations

from areaplan.planning.briefing import Briefing
from areaplan.planning.route_answers import GateAnswer, RouteAnswer
from areaplan.planning.routes import ASSUMPTIONS
from areaplan.render.briefing.places import degrees_minutes
from areaplan.render.document.model import Block, Bullets, Cell, Paragraph, RuledLines
from areaplan.render.document.model import TableBlock as Table
from areaplan.render.route_text import (
    USE_WORDS,
    because_words,
    margin_words,
    route_words,
    stretch_words,
)
from areaplan.render.text import percent_down, verdict_text
from areaplan.units import feet_text


def ways_blocks(briefing: Briefing) -> tuple[Block, ...]:
    """Gates and routes as judged; lines to fill in where the project declares none."""
    ways = briefing.ways
    if ways is None:
        return (
            Paragraph("The project declares neither gates nor routes: none was checked."),
            RuledLines(("Way in, and altitude", "Way out, and altitude")),
        )
    blocks: list[Block] = [
        Paragraph(
            f"{verdict_text(ways.verdict)}, by the same rules and the same glide as the area.",
            is_grave=ways.verdict.value != "MET",
        )
    ]
    if ways.gates:
        heads = ("Gate", "Landmark", "Place", "AMSL", "Verdict", "Legal margin", "Field margin")
        rows = tuple(_gate(one) for one in ways.gates)
        blocks.append(Table("Gates", heads, rows, (11, 14, 16, 8, 11, 20, 20), _TRACED))
    if ways.routes:
        heads = ("Route", "Points", "AMSL", "Verdict", "Legal, field", "Smallest margins", "Fails")
        rows = tuple(_route(one) for one in ways.routes)
        blocks.append(
            Table("Routes, one way at a time", heads, rows, (13, 18, 7, 10, 9, 22, 21), _TRACED)
        )
    return (*blocks, Bullets((*ways.scene.notes, *ASSUMPTIONS)))


_TRACED = "project file; legal and field margins from the surfaces of the plan"


def _gate(answer: GateAnswer) -> tuple[Cell, ...]:
    gate = answer.gate
    return (
        f"{gate.name} ({USE_WORDS[gate.use]})",
        gate.landmark or None,
        degrees_minutes(gate.lat, gate.lon),
        feet_text(gate.altitude_amsl_ft),
        verdict_text(answer.verdict),
        _margin(margin_words(answer.legal), because_words(answer.legal)),
        _margin(margin_words(answer.glide), because_words(answer.glide)),
    )


def _route(answer: RouteAnswer) -> tuple[Cell, ...]:
    route = answer.route
    pairs = list(zip(route.points, route.point_names, strict=True))
    if answer.is_reversed:
        pairs.reverse()
    points = "; ".join(name or degrees_minutes(lat, lon) for (lon, lat), name in pairs)
    fails = "; ".join(stretch_words(one) for one in answer.stretches)
    return (
        f"{route_words(answer)}, {answer.length_nm:.1f} NM",
        f"{points}. {route.remarks}" if route.remarks else points,
        feet_text(route.altitude_amsl_ft),
        verdict_text(answer.verdict),
        f"{percent_down(answer.legal_share)}, {percent_down(answer.field_share)}",
        f"legal {_margin(margin_words(answer.legal), because_words(answer.legal))}; "
        f"field {_margin(margin_words(answer.glide), because_words(answer.glide))}",
        fails or "nowhere",
    )


def _margin(margin: str, because: str) -> str:
    return f"{margin} ({because})" if because else margin
