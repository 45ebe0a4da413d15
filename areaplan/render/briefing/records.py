"""The parts of the briefing to fill in and to look up: emergencies, gaps, data, rules, cautions."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from areaplan.planning.briefing import Briefing
from areaplan.render.document.model import (
    Block,
    Bullets,
    Paragraph,
    Part,
    RuledLines,
    Section,
)
from areaplan.render.document.model import TableBlock as Table
from areaplan.render.rule_blocks import by_asker, quoted_rule
from areaplan.rules.model import RuleSet
from areaplan.sources.layers import SourceRecord

_DIGITS: Final = 16  # hexadecimal digits in a group, so that a digest can be read and broken
_EMERGENCY_LINES: Final = (
    "Emergency services",
    "School, duty instructor",
    "Search and rescue",
    "Who may be told of a landing in a field",
)
_LOST_LINES: Final = ("In the area", "On the way back", "Solo student, besides")


def emergency_part(briefing: Briefing) -> Part:
    """What the school wrote for emergencies and lost communication, and lines for the rest."""
    words = briefing.words
    return Part(
        "emergency",
        "Emergencies and lost communication",
        "",
        (
            Section("Lost communication", _written(words.lost_communication, _LOST_LINES)),
            Section("Emergencies", _written(words.emergency, _EMERGENCY_LINES)),
        ),
    )


def _written(lines: tuple[str, ...], to_fill_in: tuple[str, ...]) -> tuple[Block, ...]:
    return (*((Bullets(lines),) if lines else ()), RuledLines(to_fill_in))


def unknown_part(briefing: Briefing, *, has_drawings: bool) -> Part:
    """Everything that a reader must not take for known, and what this issue leaves out."""
    plan, words = briefing.plan, briefing.words
    missing = [
        name
        for name, is_given in (
            ("an aerodrome, so no bearings and distances", words.aerodrome is not None),
            ("landmarks of the boundary", bool(words.landmarks)),
            ("frequencies", bool(words.frequencies)),
            ("a revision", bool(words.revision)),
            ("a day of review", words.review_by is not None),
        )
        if not is_given
    ]
    gaps = [f"The project's [briefing] table does not give {name}." for name in missing]
    if briefing.variation.deg_east is None:
        gaps.append(f"Magnetic variation is {briefing.variation.words}.")
    if briefing.wind_limits is None:
        gaps.append("Wind limits are not worked out for this briefing.")
    if briefing.ways is None:
        gaps.append("The project declares no gates and routes: the ways in and out are unchecked.")
    if not has_drawings:
        gaps.append("Maps are not drawn: they need the extra 'pdf' of areaplan.")
    if briefing.sites is None:
        gaps.append("Places for ground-reference work are not worked out for this briefing.")
    return Part(
        "unknown",
        "What is not known",
        "",
        (
            Section("Warnings of the evaluation", (_listed(plan.warnings, "None."),)),
            Section("Not in this briefing", (_listed(tuple(gaps), "Nothing is left out."),)),
        ),
    )


def _listed(sentences: tuple[str, ...], none: str) -> Block:
    return Bullets(sentences) if sentences else Paragraph(none)


def data_part(briefing: Briefing) -> Part:
    """Editions, validity and digests of every file that played a part."""
    plan = briefing.plan
    sources = tuple(_source(row, briefing) for row in plan.sources)
    ruling = tuple(
        (one.title, one.id, name if one.path else "comes with areaplan", digest(one.sha256))
        for one, name in zip(briefing.rule_sets, plan.project.rule_sets, strict=True)
    )
    return Part(
        "data",
        "Annex: data and their editions",
        "",
        (
            Section(
                "",
                (
                    Table(
                        "Sources",
                        ("Kind", "Edition", "Valid", "Rows", "Files and their SHA-256"),
                        sources,
                        (12, 26, 14, 14, 34),
                    ),
                    Table("Rules", ("Set", "Name", "File", "SHA-256"), ruling, (30, 14, 22, 34)),
                    Paragraph(
                        f"Project file {plan.project.path.name}, SHA-256 "
                        f"{digest(plan.project.sha256)}."
                    ),
                ),
            ),
        ),
    )


def digest(sha256: str) -> str:
    """A digest in groups, whole."""
    return " ".join(sha256[i : i + _DIGITS] for i in range(0, len(sha256), _DIGITS))


def _source(record: SourceRecord, briefing: Briefing) -> tuple[str, ...]:
    starts = record.effective.isoformat() if record.effective else "start not stated"
    ends = record.expires.isoformat() if record.expires else "end not stated"
    expired = "EXPIRED: " if record.is_expired(briefing.plan.project.day) else ""
    datum = f"; {record.vertical_datum}" if record.vertical_datum else ""
    files = "; ".join(
        f"{path} {digest(one)}" for path, one in zip(record.paths, record.sha256, strict=True)
    )
    return (
        str(record.kind),
        f"{record.edition}{datum}",
        f"{expired}{starts} to {ends}",
        record.counts,
        files or "no file",
    )


def rules_part(briefing: Briefing) -> Part:
    """Every rule in force with its sentence; law, policy and advisories apart."""
    rules = (rule for one in briefing.rule_sets for rule in one.rules)
    sections = [
        Section(title, tuple(map(quoted_rule, chosen)) or (Paragraph("None in force."),))
        for title, chosen in by_asker(rules)
    ]
    notes = _notes(briefing.rule_sets)
    if notes:
        sections.append(Section("Notes on the rule sets", (Bullets(notes),)))
    return Part("rules", "Annex: rules in force, quoted", "", tuple(sections))


def _notes(rule_sets: Iterable[RuleSet]) -> tuple[str, ...]:
    return tuple(f"{one.id}: {note}" for one in rule_sets for note in one.notes)


def cautions_part(briefing: Briefing) -> Part:
    """The standing cautions."""
    section = Section("", (Bullets(briefing.plan.cautions),))
    return Part("cautions", "Annex: cautions", "", (section,))
