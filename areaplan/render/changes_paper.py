"""Two plans compared, as a document: plain text, or a page with maps of the difference."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Final

from areaplan.planning.changes import Changes, FindingChange
from areaplan.planning.changes_cells import Extreme, SurfaceChange
from areaplan.planning.changes_sides import side_words
from areaplan.planning.plan import Block, Finding
from areaplan.planning.result import Result
from areaplan.render.changes_map import changes_svg
from areaplan.render.changes_sections import (
    COMPARED,
    Numbered,
    gravest_sections,
    ground_section,
    numbered_things,
    share_words,
    shares_section,
    then_words,
    things_section,
)
from areaplan.render.document.model import (
    Document,
    Figure,
    Paragraph,
    Part,
    Section,
    TableBlock,
    Terms,
    paragraphs,
)
from areaplan.render.document.text import document_as_text
from areaplan.render.document.writing import write_document
from areaplan.render.finding_words import cause_words
from areaplan.render.quantity_words import decimal_degrees
from areaplan.render.text import percent_down, verdict_text
from areaplan.units import feet_text, signed_feet_text

MAP_WIDTH_MM: Final = 115.0  # leaves room for what stands before it on the first page


def changes_text(changes: Changes) -> str:
    """What changed as plain text: no maps, and no words for them."""
    return document_as_text(changes_document(changes, has_maps=False))


def write_changes_page(
    changes: Changes, path: Path, paper: str = "letter", option: str = "--page"
) -> None:
    """Write the review page whole or not at all; the same bytes for the same inputs.

    Parameters
    ----------
    changes : Changes
    path : Path
        Ending in .html or .pdf.
    paper : str
        "letter" or "a4".
    option : str
        The command-line option that names the file.

    Raises
    ------
    InputError
        Neither .html nor .pdf; or .pdf, and the typesetter is not installed; or the folder is
        missing or can't be written to.
    ValueError
        Another paper.
    """
    write_document(changes_document(changes), path, paper, "the page of the changes", option)


def changes_document(changes: Changes, *, has_maps: bool = True) -> Document:
    """What the document says, section by section, the gravest first.

    Parameters
    ----------
    changes : Changes
    has_maps : bool
        Whether to draw a map for each altitude at which ground changed.
    """
    old, new = changes.old, changes.new
    numbered = numbered_things(changes)
    sections = (
        *gravest_sections(changes),
        shares_section(changes),
        ground_section(changes),
        _surfaces(changes),
        _findings(changes),
        *(_maps(changes, numbered) if has_maps else ()),
        things_section(changes, numbered),
        _rules(changes),
        _settings(changes),
        _sources(changes),
        _cautions(changes),
    )
    return Document(
        title=f"What changed: {new.project.name} - {new.project.school}",
        subtitle="",
        identity=Terms(()),
        verdict=f"Compared: {COMPARED[changes.verdict]}.",
        caution="Planning aid only, not for navigation: for the school's periodic review; current "
        "charts, notices and the pilot in command decide.",
        alarms=(),
        running=f"What changed: {new.project.name}, judged for {new.project.day}",
        parts=(Part("changes", "", "", sections),),
        lead=(f"Before: {_which(old)}.", f"Now: {_which(new)}.", *changes.notes),
        is_dense=True,
    )


def _which(result: Result) -> str:
    project = result.project
    return (
        f"{side_words(result)}, judged for {project.day} with wind "
        f"{project.wind}: {verdict_text(result.verdict)}, {_block(result.block)}"
    )


def _block(block: Block | None) -> str:
    if block is None:
        return "no altitude legal and safe everywhere"
    ceiling = block.ceiling_amsl_ft
    top = "up" if ceiling is None else f"to {feet_text(ceiling)}"
    return f"legal and safe everywhere from {feet_text(block.floor_amsl_ft)} {top}"


def _surfaces(changes: Changes) -> Section:
    rows = [row for one in changes.surfaces for row in _surface_rows(one)]
    table = TableBlock(
        "",
        ("surface", "by", "where", "share", "what binds"),
        tuple(rows),
        (7, 4, 8, 4, 20),
        right=(1, 2, 3),
    )
    same = Paragraph("The same at every cell that both plans know.")
    return Section("Floors and glide, the greatest changes", (table if rows else same,))


def _surface_rows(one: SurfaceChange) -> Iterator[tuple[str, ...]]:
    for extreme, share in (
        (one.greatest_rise, one.risen_share),
        (one.greatest_fall, one.fallen_share),
    ):
        if extreme is not None:
            yield (one.surface, *_extreme(extreme), share_words(share), _binder_words(extreme))
    for share, words in (
        (one.closed_share, "no altitude will do now, and one did"),
        (one.opened_share, "an altitude will do now, and none did"),
        (one.newly_unknown_share, "unknown now, and was known"),
        (one.newly_known_share, "known now, and was unknown"),
    ):
        if share:
            yield (one.surface, "-", "-", share_words(share), words)


def _extreme(extreme: Extreme) -> tuple[str, str]:
    return signed_feet_text(extreme.by_ft), decimal_degrees(extreme.lat, extreme.lon)


def _binder_words(extreme: Extreme) -> str:
    if extreme.binder is None:
        return "the ground"
    when = "now" if extreme.by_ft > 0 else "before"
    return f"{when} {extreme.binder.limit.title} [{extreme.binder.limit.rule}]: " + (
        extreme.binder.feature
    )


def _findings(changes: Changes) -> Section:
    rows = tuple(_finding_row(row) for row in changes.findings)
    table = TableBlock(
        "",
        ("rule", "AMSL", "verdict", "margin", "gained", "met over", "where and what"),
        rows,
        (9, 4, 8, 8, 4, 7, 20),
        right=(1, 3, 4, 5),
    )
    title = "Rules whose verdict or margin changed"
    return Section(title, (table if rows else Paragraph("None."),))


def _finding_row(row: FindingChange) -> tuple[str, ...]:
    told = row.told
    place = "" if told.lat is None or told.lon is None else decimal_degrees(told.lat, told.lon)
    return (
        f"{'WORSE: ' if row.is_worse else ''}{told.limit.rule}",
        feet_text(told.altitude_amsl_ft),
        then_words(*(_verdict(one) for one in (row.before, row.after))),
        then_words(*(_margin(one) for one in (row.before, row.after))),
        signed_feet_text(row.gained_ft) if row.gained_ft else "-",
        then_words(*(_met_over(one) for one in (row.before, row.after))),
        "; ".join(words for words in (told.limit.title, place, cause_words(told)) if words),
    )


def _verdict(finding: Finding | None) -> str:
    return "not judged" if finding is None else verdict_text(finding.verdict)


def _margin(finding: Finding | None) -> str:
    if finding is None or finding.margin_ft is None:
        return "none"
    return signed_feet_text(finding.margin_ft)


def _met_over(finding: Finding | None) -> str:
    return "none" if finding is None else percent_down(finding.share_met)


def _maps(changes: Changes, numbered: Numbered) -> Iterator[Section]:
    """One for each altitude at which ground changed; one in any case where a thing did."""
    moved = [
        index
        for index, row in enumerate(changes.classes)
        if row.lost_share or row.gained_share or row.newly_unknown_share
    ]
    if not moved and (numbered or bool(changes.is_risen.any())):
        moved = [0]
    for index in moved:
        row = changes.classes[index]
        altitude = feet_text(row.altitude_amsl_ft)
        figure = Figure(
            name=f"changes-{index}",
            svg=changes_svg(changes, index, numbered),
            caption=f"What changed at {altitude} AMSL",
            described=f"Of the ground that both areas hold: lost {share_words(row.lost_share)}, "
            f"gained {share_words(row.gained_share)}, newly unknown "
            f"{share_words(row.newly_unknown_share)}. Things carry the numbers of the list below.",
            width_mm=MAP_WIDTH_MM,
        )
        yield Section(f"Map of the difference at {altitude} AMSL", (figure,))


def _rules(changes: Changes) -> Section:
    said = tuple(
        f"{row.change}: {row.title} [{row.rule}]{': ' if row.words else ''}{'; '.join(row.words)}"
        for row in changes.rules
    )
    return Section("Rules in force", paragraphs(said or ("The same.",)))


def _settings(changes: Changes) -> Section:
    return Section("The school's settings", paragraphs(changes.settings or ("The same.",)))


def _sources(changes: Changes) -> Section:
    said = tuple(
        f"{row.change}: {row.kind} {', '.join(row.paths)}"
        f"{': ' if row.words else ''}{'; '.join(row.words)}"
        for row in changes.sources
    )
    return Section("Files", paragraphs(said or ("The same bytes.",)))


def _cautions(changes: Changes) -> Section:
    missing = (
        "A thing that is in no file any more may still stand, and what was never in one may have "
        "changed: look from the air, and walk the fields."
    )
    return Section("Cautions", paragraphs((missing, *changes.new.cautions)), is_small=True)
