"""What changed, as sections that the printed page and the sheet of the map share.

One numbering of the things that changed, and one wording of what ground became, for all of them.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from typing import Final, TypeAlias

from areaplan.planning.changes import Changes
from areaplan.planning.changes_things import Change, ThingChange
from areaplan.planning.plan import Verdict
from areaplan.render.document.model import Paragraph, Section, TableBlock, paragraphs
from areaplan.render.quantity_words import decimal_degrees
from areaplan.render.text import percent_down, percent_up
from areaplan.units import feet_text

MOST_THINGS: Final = 60  # listed and marked; the rest is counted, and told as JSON
Numbered: TypeAlias = tuple[tuple[int, ThingChange], ...]
COMPARED: Final = {
    Verdict.MET: "nothing that matters is worse than it was",
    Verdict.NOT_MET: "SOMETHING IS WORSE than it was",
    Verdict.UNKNOWN: "UNKNOWN: nothing is known to be worse, but not all is known",
}
# What a cell became, by the name of its mark.
GROUND_WORDS: Final = {
    "risen": "floor or glide altitude risen, whatever the altitude",
    "gained": "legal with a field in reach now, and was not",
    "lost": "was legal with a field in reach, and is not",
    "unknown": "unknown now, and was known",
}


def numbered_things(changes: Changes) -> Numbered:
    """The things that are listed and marked, each with its number."""
    return tuple(enumerate(changes.things[:MOST_THINGS], 1))


def gravest_sections(changes: Changes) -> Iterator[Section]:
    """What is worse, and what is not known; nothing where neither is."""
    if changes.worse:
        yield Section("Worse than it was", paragraphs(changes.worse, is_grave=True))
    if changes.unknown:
        yield Section("Not known", paragraphs(changes.unknown, is_grave=True))


def shares_section(changes: Changes) -> Section:
    """Shares of each plan's own area by altitude."""
    rows = tuple(
        (
            feet_text(row.after.altitude_amsl_ft),
            then_words(percent_down(row.before.legal_share), percent_down(row.after.legal_share)),
            then_words(percent_down(row.before.safe_share), percent_down(row.after.safe_share)),
            then_words(
                percent_down(row.before.legal_and_safe_share),
                percent_down(row.after.legal_and_safe_share),
            ),
            then_words(percent_up(row.before.unknown_share), percent_up(row.after.unknown_share)),
        )
        for row in changes.shares
    )
    table = TableBlock(
        "",
        ("AMSL", "legal", "field in reach", "both", "unknown"),
        rows,
        (2, 3, 3, 3, 3),
        right=(1, 2, 3, 4),
    )
    return Section("Shares of the area, before and now", (table,))


def then_words(before: str, after: str) -> str:
    """What was and what is, once where they are the same."""
    return before if before == after else f"{before} -> {after}"


def ground_section(changes: Changes) -> Section:
    """What cells became by altitude, as shares of the ground that both areas hold."""
    rows = tuple(
        (
            feet_text(row.altitude_amsl_ft),
            share_words(row.lost_share),
            share_words(row.gained_share),
            share_words(row.newly_unknown_share),
            "-" if row.lat is None or row.lon is None else decimal_degrees(row.lat, row.lon),
        )
        for row in changes.classes
    )
    overlay = changes.overlay
    said = []
    if not overlay.is_same_grid:
        said.append(
            f"The areas or grids differ: {percent_down(overlay.new_area_share)} of the new area "
            f"and {percent_down(overlay.old_area_share)} of the old one are compared, each new "
            "cell with the old one under its centre. Along edges a difference as wide as a cell "
            "may be the grids', not the world's."
        )
    table = TableBlock(
        "",
        ("AMSL", "lost", "gained", "newly unknown", "deepest in the lost"),
        rows,
        (2, 3, 3, 3, 4),
        right=(1, 2, 3, 4),
    )
    lost = (
        "Lost: was legal with a field in reach, and is known not to be. Shares are of the ground "
        "that both areas hold."
    )
    return Section("Ground, cell by cell", (*paragraphs(said), table, Paragraph(lost)))


def share_words(share: float) -> str:
    """A share of the ground to a hundredth of a per cent, never 0 for some."""
    return "0" if share == 0.0 else f"{share:.2%}" if share >= 0.0001 else "under 0.01%"


def things_section(changes: Changes, numbered: Numbered) -> Section:
    """The list of things, each with its number, layer, name, change, place and how it changed."""
    rows = tuple(
        (
            str(number),
            row.kind,
            row.name,
            row.change.value,
            decimal_degrees(row.lat, row.lon),
            how_words(row),
        )
        for number, row in numbered
    )
    heads = ("no.", "layer", "name", "change", "place", "how")
    table = TableBlock("", heads, rows, (2, 5, 9, 4, 8, 14))
    left = left_words(changes, numbered)
    return Section(
        "Obstacles, airspace, structures, wires, fields, zones",
        (
            Paragraph(counted_words(changes)),
            *((table,) if rows else ()),
            *((Paragraph(left),) if left else ()),
        ),
    )


def counted_words(changes: Changes) -> str:
    """How many things of each layer changed, and how."""
    counted = Counter((row.kind, row.change) for row in changes.things)
    summary = "; ".join(
        f"{kind}, {change}: {counted[kind, change]}"
        for kind in dict.fromkeys(row.kind for row in changes.things)
        for change in Change
        if (kind, change) in counted
    )
    return f"{summary}." if summary else "No thing in any layer changed."


def left_words(changes: Changes, numbered: Numbered) -> str:
    """How many things are not listed; "" where all are."""
    left = len(changes.things) - len(numbered)
    return f"{left} more are told by --json." if left else ""


def how_words(row: ThingChange) -> str:
    """How a thing changed."""
    return "; ".join(_how(row))


def _how(row: ThingChange) -> Iterator[str]:
    if row.moved_m is not None:
        yield f"moved by {row.moved_m} m"
    if row.taller_ft is not None:
        yield f"{'taller' if row.taller_ft > 0 else 'lower'} by {feet_text(abs(row.taller_ft))}"
    yield from row.words
