"""A place under several rule sets, as text and as JSON."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from typing import Any

from areaplan.planning.comparing import PlaceUnderSet
from areaplan.render.as_json import point_as_json
from areaplan.render.quantity_words import decimal_degrees
from areaplan.render.text import WIDTH, floor_words


def places_as_json(rows: Sequence[PlaceUnderSet]) -> list[dict[str, Any]]:
    """One point answer for each set, with the sentence that binds."""
    return [
        {
            "rule_set": row.rule_set,
            "unknown_airspace": list(row.unknown_airspace),
            "binding_quote": row.answer.floor_by.limit.quote if row.answer.floor_by else None,
            **point_as_json(row.answer),
        }
        for row in rows
    ]


def places_text(rows: Sequence[PlaceUnderSet]) -> str:
    """The legal floor under each set and what binds, with its sentence."""
    first = rows[0].answer
    lines = [
        f"At {decimal_degrees(first.lat, first.lon)} the legal floor is, under each set alone:"
    ]
    for row in rows:
        words = f"{row.rule_set}: {floor_words(row.answer)}"
        lines += textwrap.wrap(words, WIDTH, initial_indent="  ", subsequent_indent="      ")
        for words in row.unknown_airspace:
            lines += _indented(f"UNKNOWN airspace: {words}")
        if row.answer.floor_by is not None and row.answer.floor_by.limit.quote:
            limit = row.answer.floor_by.limit
            lines += _indented(f"“{limit.quote}” {limit.document}")
            if limit.confirm:
                lines += _indented(f"CONFIRM: {limit.confirm}")
    return "\n".join(lines)


def _indented(words: str) -> list[str]:
    return textwrap.wrap(words, WIDTH, initial_indent="      ", subsequent_indent="      ")
