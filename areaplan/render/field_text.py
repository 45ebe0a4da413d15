"""Lists of fields as text: what each can take, which way to land, and what speaks against it."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Iterable
from typing import Final

from areaplan.engine.strip_table import DIRECTIONS
from areaplan.planning.field_list import FieldList, best_index
from areaplan.planning.field_words import direction_words
from areaplan.planning.measured import MeasuredField
from areaplan.planning.plan import Verdict
from areaplan.render.landing_words import needed_length_words
from areaplan.render.text import WIDTH, bullets

CANDIDATE_CAUTION: Final = (
    "Nobody has looked at these: land cover proposes them, and about one pixel of it in four is "
    "wrong. Wires, ditches, fences, stock and crops are not in it. Look before you rely on one."
)
_VERDICTS: Final = {
    Verdict.MET: "at least one field counts",
    Verdict.NOT_MET: "no field counts",
    Verdict.UNKNOWN: "unknown: the terrain data do not speak here",
}


def fields_text(found: FieldList, *, has_candidates: bool = True) -> str:
    """Fields best first, candidates under a heading of their own.

    Parameters
    ----------
    found : FieldList
    has_candidates : bool
        Whether to list the candidates; those that count are warned of in any case.
    """
    project = found.project
    counting = sum(row.counts for row in found.fields)
    lines = [
        f"{project.name}: fields on {project.day} with wind {project.wind} ({project.wind_source})",
        f"Verdict: {_VERDICTS[found.verdict]}.",
        "",
        f"Fields: {counting} of {len(found.fields)} count. The best first:",
    ]
    lines += _rows(found.fields) or ["  none"]
    if has_candidates:
        lines += ["", f"Candidates from land cover, to confirm: {len(found.candidates)}"]
        lines += _indented(CANDIDATE_CAUTION, "  ")
        lines += _rows(found.candidates) or ["  none"]
    lines += ["", "How strips are judged:", *bullets(needed_length_words(project))]
    if found.warnings:
        lines += ["", "Warnings:", *bullets(found.warnings)]
    return "\n".join([*lines, "", "Cautions:", *bullets(found.cautions)])


def directions_words(row: MeasuredField) -> str:
    """Landing directions that are enough as ranges, such as "100-140, 280-330"; "none"."""
    enough = row.is_enough
    if all(enough):
        return "any direction"
    starts = [i for i in range(DIRECTIONS) if enough[i] and not enough[i - 1]]
    ranges = []
    for start in starts:
        end = start
        while enough[(end + 1) % DIRECTIONS]:
            end += 1
        first, last = (
            direction_words(start),
            direction_words(end % DIRECTIONS),
        )
        ranges.append(first if first == last else f"{first}-{last}")
    return ", ".join(ranges) or "none"


def strip_words(row: MeasuredField) -> str:
    """The strip that speaks for a field: landing direction, usable and needed length."""
    index = best_index(row)
    if index is None:
        return "no clear strip of the needed width"
    strips = row.strips
    usable, needed = math.floor(strips.usable_m[index]), math.ceil(row.needed_m[index])
    lost = math.ceil(strips.lost_before_m[index]) + math.ceil(strips.lost_after_m[index])
    words = f"landing {direction_words(index)} true: {usable} m usable, {needed} m needed"
    return f"{words}, {lost} m lost at the ends" if lost else words


def status_words(row: MeasuredField) -> str:
    """Whether a field counts, or why it does not."""
    if row.counts:
        return "COUNTS, UNCONFIRMED" if row.is_candidate else "counts"
    return f"does not count: {'; '.join(row.why_not)}"


def clearance_words(row: MeasuredField) -> str:
    """How far the wire, structure or obstacle nearest to the strip is; "" where none is near."""
    if not row.nearest_solid:
        return ""
    return f"{row.nearest_solid}, {math.floor(row.nearest_solid_m)} m from the strip"


def _rows(rows: Iterable[MeasuredField]) -> list[str]:
    return [line for number, row in enumerate(rows, 1) for line in field_lines(number, row)]


def field_lines(number: int, row: MeasuredField) -> list[str]:
    """One field under its number: whether it counts, its strip and its five looks."""
    five, field = row.five_s, row.field
    lines = _indented(f"{number}. {field.name}: {status_words(row)}", "  ", "     ")
    told = [
        ("strip", strip_words(row)),
        ("enough", directions_words(row)),
        ("size", five.size),
        ("shape", five.shape),
        ("surface", five.surface),
        ("surrounds", five.surrounds),
        ("nearest", clearance_words(row)),
        ("slope", five.slope),
        ("consent", field.consent),
        ("remarks", field.remarks),
    ]
    for label, words in told:
        if words:
            lines += _indented(f"{label:<10} {words}", " " * 5, " " * 16)
    return lines


def _indented(words: str, first: str, others: str | None = None) -> list[str]:
    more = first if others is None else others
    return textwrap.wrap(words, WIDTH, initial_indent=first, subsequent_indent=more)
