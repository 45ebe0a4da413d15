"""The fields on the day sheet: which way to land on those that the area leans on most."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

from areaplan.planning.day_fields import FieldToday
from areaplan.render.day_words import signed
from areaplan.render.document.model import Paragraph, Section, TableBlock, paragraphs
from areaplan.render.text import percent_down
from areaplan.units import bearing_text

# As many as leave the sheet on one page, without sites and with them.
MOST_FIELDS: Final = 10
FEWER_FIELDS: Final = 4
MOST_OUT: Final = 2
CROSS_WINDS: Final = "Cross winds are judged only with a crosswind limit in the project."


def fields_section(fields: Sequence[FieldToday], most: int = MOST_FIELDS) -> Section:
    """The section of the sheet."""
    counting = [row for row in fields if row.counts]
    others = [row for row in fields if not row.counts]
    heads = (
        "field",
        "share of area",
        "landing true",
        "magnetic",
        "usable / needed",
        "head / cross",
        "most into wind",
        "surface and remarks",
    )
    shown = counting[:most]
    left = len(counting) - len(shown)
    more_count = (
        f"{left} more count (areaplan fields); these serve the greatest shares of the area. "
        if left
        else ""
    )
    after = [f"{more_count}{CROSS_WINDS}"] if shown else []
    if others:
        more = len(others) - MOST_OUT
        listed = "; ".join(_why_not(row) for row in others[:MOST_OUT])
        after.append(f"Do not count today: {listed}{f'; and {more} more' if more > 0 else ''}.")
    rows = tuple(_field_row(row) for row in shown)
    table = TableBlock("", heads, rows, (9, 5, 6, 6, 9, 10, 6, 20), right=(1, 2, 3, 4, 5, 6))
    return Section(
        f"Fields today: {len(counting)} of {len(fields)} count",
        (table if shown else Paragraph("No field counts today."), *paragraphs(after)),
    )


def _field_row(row: FieldToday) -> tuple[str, ...]:
    magnetic = row.landing_deg_magnetic
    lengths = winds = "-"
    if row.usable_m is not None and row.needed_m is not None:
        lengths = f"{math.floor(row.usable_m)} / {math.ceil(row.needed_m)} m"
    if row.headwind_kt is not None and row.crosswind_kt is not None:
        winds = f"{signed(row.headwind_kt)} / {_cross(row.crosswind_kt)}"
    return (
        row.name,
        percent_down(row.leaning_share),
        "-" if row.landing_deg_true is None else bearing_text(row.landing_deg_true),
        "unknown" if magnetic is None else bearing_text(magnetic),
        lengths,
        winds,
        "-" if row.into_wind_deg_true is None else bearing_text(row.into_wind_deg_true),
        "; ".join(words for words in (row.surface, row.remarks) if words),
    )


def _cross(crosswind_kt: float) -> str:
    """Crosswind with the side that it comes from."""
    rounded = round(abs(crosswind_kt))
    side = "" if rounded == 0 else (" right" if crosswind_kt > 0 else " left")
    return f"{rounded} kt{side}"


def _why_not(row: FieldToday) -> str:
    return f"{row.name} ({row.why_not[0]})" if row.why_not else row.name
