"""Two plans compared, as a document: plain text, or an HTML page with a map of the difference."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from areaplan.planning.changes import Changes, FindingChange
from areaplan.planning.changes_cells import Extreme, SurfaceChange
from areaplan.planning.plan import Block, Finding, Plan
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
from areaplan.render.paper import Paper, Section, Table, paper_html, paper_text
from areaplan.render.text import feet_text, percent_down, verdict_text
from areaplan.render.whole_file import write_whole


def changes_text(changes: Changes) -> str:
    """What changed as plain text."""
    return paper_text(changes_paper(changes))


def changes_html(changes: Changes) -> str:
    """What changed as one HTML page, with a map for each altitude at which ground changed."""
    return paper_html(changes_paper(changes))


def write_changes_page(changes: Changes, path: Path) -> None:
    """Write the page whole or not at all; the same bytes for the same inputs.

    Raises
    ------
    InputError
        The folder is missing or can't be written to.
    """
    write_whole(path, changes_html(changes), "the map of the changes", "--map")


def changes_paper(changes: Changes) -> Paper:
    """What the document says, section by section, the gravest first."""
    old, new = changes.old, changes.new
    numbered = numbered_things(changes)
    maps = tuple(_maps(changes, numbered))
    return Paper(
        title=f"What changed: {new.project.name} - {new.project.school}",
        lines=(
            f"Before: {_which(old)}.",
            f"Now: {_which(new)}.",
            "Planning aid only, not for navigation: for the school's periodic review; current "
            "charts, notices and the pilot in command decide.",
        ),
        verdict=f"Compared: {COMPARED[changes.verdict]}.",
        sections=(
            *gravest_sections(changes),
            shares_section(changes),
            ground_section(changes),
            _surfaces(changes),
            _findings(changes),
            *maps,
            things_section(changes, numbered),
            _rules(changes),
            _settings(changes),
            _sources(changes),
            _cautions(changes),
        ),
    )


def _which(plan: Plan) -> str:
    project = plan.project
    return (
        f"{project.path} (SHA-256 {project.sha256[:16]}), judged for {project.day} with wind "
        f"{project.wind}: {verdict_text(plan.verdict)}, {_block(plan.block)}"
    )


def _block(block: Block | None) -> str:
    if block is None:
        return "no altitude legal and safe everywhere"
    ceiling = block.ceiling_amsl_ft
    top = "up" if ceiling is None else f"to {feet_text(ceiling)}"
    return f"legal and safe everywhere from {feet_text(block.floor_amsl_ft)} {top}"


def _surfaces(changes: Changes) -> Section:
    rows = [row for one in changes.surfaces for row in _surface_rows(one)]
    return Section(
        "Floors and glide, the greatest changes",
        table=Table(("surface", "by", "where", "share", "what binds"), tuple(rows), left=(4,))
        if rows
        else None,
        sentences=() if rows else ("The same at every cell that both plans know.",),
        is_wide=True,
    )


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
    return f"{extreme.by_ft:+d} ft", f"{extreme.lat:.5f}, {extreme.lon:.5f}"


def _binder_words(extreme: Extreme) -> str:
    if extreme.binder is None:
        return "the ground"
    when = "now" if extreme.by_ft > 0 else "before"
    return f"{when} {extreme.binder.limit.title} [{extreme.binder.limit.rule}]: " + (
        extreme.binder.feature
    )


def _findings(changes: Changes) -> Section:
    rows = tuple(_finding_row(row) for row in changes.findings)
    return Section(
        "Rules whose verdict or margin changed",
        table=Table(
            ("rule", "AMSL", "verdict", "margin", "gained", "met over", "where and what"),
            rows,
            (2, 6),
        )
        if rows
        else None,
        sentences=() if rows else ("None.",),
        is_wide=True,
    )


def _finding_row(row: FindingChange) -> tuple[str, ...]:
    told = row.told
    place = "" if told.lat is None else f"{told.lat:.5f}, {told.lon:.5f}"
    return (
        f"{'WORSE: ' if row.is_worse else ''}{told.limit.rule}",
        feet_text(told.altitude_amsl_ft),
        then_words(*(_verdict(one) for one in (row.before, row.after))),
        then_words(*(_margin(one) for one in (row.before, row.after))),
        f"{row.gained_ft:+d} ft" if row.gained_ft else "-",
        then_words(*(_met_over(one) for one in (row.before, row.after))),
        "; ".join(words for words in (told.limit.title, place, told.feature) if words),
    )


def _verdict(finding: Finding | None) -> str:
    return "not judged" if finding is None else verdict_text(finding.verdict)


def _margin(finding: Finding | None) -> str:
    if finding is None or finding.margin_ft is None:
        return "none"
    return f"{finding.margin_ft:+d} ft"


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
        altitude = feet_text(changes.classes[index].altitude_amsl_ft)
        yield Section(
            f"Map of the difference at {altitude} AMSL",
            figure=changes_svg(changes, index, numbered),
            is_wide=True,
        )


def _rules(changes: Changes) -> Section:
    said = tuple(
        f"{row.change}: {row.title} [{row.rule}]{': ' if row.words else ''}{'; '.join(row.words)}"
        for row in changes.rules
    )
    return Section("Rules in force", sentences=said or ("The same.",), is_wide=True)


def _settings(changes: Changes) -> Section:
    return Section(
        "The school's settings", sentences=changes.settings or ("The same.",), is_wide=True
    )


def _sources(changes: Changes) -> Section:
    said = tuple(
        f"{row.change}: {row.kind} {', '.join(row.paths)}"
        f"{': ' if row.words else ''}{'; '.join(row.words)}"
        for row in changes.sources
    )
    return Section("Files", sentences=said or ("The same bytes.",), is_wide=True)


def _cautions(changes: Changes) -> Section:
    return Section(
        "Cautions",
        sentences=(
            "A thing that is in no file any more may still stand, and what was never in one may "
            "have changed: look from the air, and walk the fields.",
            *changes.new.cautions,
        ),
        is_wide=True,
        is_small=True,
    )
