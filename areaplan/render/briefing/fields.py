"""Fields in the briefing: those that serve most of the area, and the annex with all of them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

from areaplan.engine.strip_table import DIRECTION_STEP_DEG
from areaplan.planning.briefing import Briefing
from areaplan.planning.briefing_fields import ServingField
from areaplan.planning.briefing_places import Place
from areaplan.planning.field_list import best_index
from areaplan.planning.measured import MeasuredField
from areaplan.render.briefing.places import degrees_minutes, from_aerodrome, true_and_magnetic
from areaplan.render.document.model import Block, Cell, Figure, Paragraph, Part, Section
from areaplan.render.document.model import TableBlock as Table
from areaplan.render.field_text import directions_words, status_words
from areaplan.units import feet_text

_HEADS: Final = ("Land, best", "Usable, needed", "Enough, true", "Slope", "Place")
_MOST_COLUMNS: Final = 3  # of altitudes; more stand in one cell
_NOBODY_PROMISES: Final = (
    "Look at surface, stock, crop and wires from the air: nobody promises a landing."
)


def tenths_down(share: float) -> str:
    """A share in per cent to the tenth, never more than it is."""
    return f"{math.floor(share * 1000.0 + 1e-9) / 10.0:.1f} %"


def serving_section(briefing: Briefing, figures: Sequence[Figure] = ()) -> Section:
    """The fields that serve most of the area, with the map of all of them."""
    return Section("Fields that serve most of the area", (*figures, *_serving(briefing)))


def _serving(briefing: Briefing) -> list[Block]:
    serving = briefing.serving
    if not serving.rows:
        return [
            Paragraph(
                "No glide from the area leads to a field at a planned altitude.", is_grave=True
            )
        ]
    together = _at_altitudes(serving.altitudes_amsl_ft, serving.together)
    words = (
        "A field serves the share of the area from which, at the altitude named, the glide that "
        "leaves in at least one of twelve directions leads to it, no turn counted. Each direction "
        "counts for the one field that asks for the least height; shares overlap. Together these "
        f"serve {together}. {serving.others} more fields serve some of the area: see the annex. "
        f"{_NOBODY_PROMISES}"
    )
    is_apart = len(serving.altitudes_amsl_ft) <= _MOST_COLUMNS
    served = tuple(f"From {feet_text(one)}" for one in serving.altitudes_amsl_ft)
    heads = ("Field", *(served if is_apart else ("Serves",)), *_HEADS, "Consent, remarks")
    rows = tuple(_serving_row(briefing, row, is_apart=is_apart) for row in serving.rows)
    widths = (9, *((7,) * len(served) if is_apart else (12,)), 12, 10, 11, 11, 12, 22)
    traced = f"the glide in every cell of the area; {_traced(briefing)}"
    return [Paragraph(words), Table("The most ground first", heads, rows, widths, traced)]


def _serving_row(briefing: Briefing, row: ServingField, *, is_apart: bool) -> tuple[Cell, ...]:
    name, *others = _field(briefing, row.measured, row.place)
    if is_apart:
        return name, *map(tenths_down, row.shares), *others
    return name, _at_altitudes(briefing.serving.altitudes_amsl_ft, row.shares), *others


def _at_altitudes(altitudes_ft: Sequence[int], shares: Sequence[float]) -> str:
    return ", ".join(
        f"{tenths_down(share)} at {feet_text(altitude)}"
        for altitude, share in zip(altitudes_ft, shares, strict=True)
    )


def all_fields_part(briefing: Briefing) -> Part:
    """The annex: every field of the plan, those that count apart from those that do not."""
    return Part("fields", "Annex: all fields", "", (Section("", tuple(_all_fields(briefing))),))


def _all_fields(briefing: Briefing) -> list[Block]:
    if not briefing.fields:
        return [Paragraph("No field is in the data: there is nowhere to glide to.", is_grave=True)]
    pairs = list(zip(briefing.fields, briefing.field_places, strict=True))
    counting = [pair for pair in pairs if pair[0].counts]
    others = [pair for pair in pairs if not pair[0].counts]
    width_m = briefing.plan.project.fields.width_m
    words = (
        f"{len(counting)} of {len(pairs)} fields count. Strips of {width_m:g} m width; landing "
        f"distance corrected for slope, grass and the wind above. {_NOBODY_PROMISES}"
    )
    blocks: list[Block] = [Paragraph(words)]
    for caption, last, rows in (
        ("Fields that count, the best first", "Consent, remarks", counting),
        ("Fields that do not count", "Why not", others),
    ):
        body = tuple(_field(briefing, row, place) for row, place in rows)
        if body:
            heads = ("Field", *_HEADS, last)
            widths = (9, 13, 12, 15, 16, 14, 21)
            blocks.append(Table(caption, heads, body, widths, _traced(briefing)))
    proposed = len(briefing.plan.candidates)
    if proposed:
        blocks.append(
            Paragraph(
                f"{proposed} places that land cover proposes are not listed: nobody has looked."
            )
        )
    return blocks


def _traced(briefing: Briefing) -> str:
    layers = briefing.plan.layers
    records = (*(one.record for one in layers.fields), *(one.record for one in layers.land_cover))
    paths = ", ".join(path for one in records for path in one.paths)
    return f"{paths}; terrain, woods, wires, structures"


def _field(briefing: Briefing, row: MeasuredField, place: Place) -> tuple[Cell, ...]:
    index = best_index(row)
    towards, lengths, slope = "none", "no clear strip", "unknown"
    if index is not None:
        usable, needed = math.floor(row.strips.usable_m[index]), math.ceil(row.needed_m[index])
        towards = true_and_magnetic(briefing, index * DIRECTION_STEP_DEG)
        lengths = f"{usable} m, {needed} m"
        slope = _slope(float(row.strips.slope[index]), float(row.strips.steepest[index]))
    status = status_words(row)
    told = (
        "" if status == "counts" else status,
        row.field.surface or "surface: nobody has said",
        f"consent: {row.field.consent}" if row.field.consent else "consent: nobody has said",
        row.field.remarks,
    )
    return (
        row.field.name,
        towards,
        lengths,
        directions_words(row),
        slope,
        from_aerodrome(briefing, place) or degrees_minutes(place.lat, place.lon),
        "; ".join(words for words in told if words),
    )


def _slope(slope: float, steepest: float) -> str:
    """Mean slope of the strip in the landing direction, and its steepest rounded up."""
    if math.isnan(slope) or math.isnan(steepest):
        return "unknown"
    way = "up" if slope > 0.0 else "down"
    return f"{abs(slope):.1%} {way}, {math.ceil(steepest * 1000.0 - 1e-9) / 10.0:.1f}% at most"
