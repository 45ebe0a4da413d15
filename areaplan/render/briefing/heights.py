"""The part of the briefing on minimum heights, what stands up, and forced landings."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from areaplan.planning.briefing import Briefing
from areaplan.planning.briefing_places import Standing
from areaplan.render.briefing.fields import serving_section
from areaplan.render.briefing.places import degrees_minutes, from_aerodrome, gap, wind_words
from areaplan.render.briefing.wording import asked_by, beyond_words
from areaplan.render.document.model import (
    Block,
    Bullets,
    Cell,
    Figure,
    Paragraph,
    Part,
    RuledLines,
    Section,
    Terms,
)
from areaplan.render.document.model import TableBlock as Table
from areaplan.rules.asking import Severity
from areaplan.rules.briefing_headings import Topic, advice_on
from areaplan.rules.model import HEIGHT_KINDS, Rule
from areaplan.rules.text import asked_in_words, binding_in_words
from areaplan.sources.layers import SourceRecord
from areaplan.units import FOOT_M, KNOT_MPS, NAUTICAL_MILE_M, feet_text


def heights_part(briefing: Briefing, figures: Sequence[Figure] = ()) -> Part:
    """Minimum heights, what stands up, and what a practice forced landing rests on.

    Parameters
    ----------
    briefing : Briefing
    figures : sequence of Figure
        Drawings to stand with the fields.
    """
    heading = briefing.headings[Topic.HEIGHTS]
    advice = tuple(f"{row.text} ({row.source})" for row in advice_on(Topic.HEIGHTS))
    sections = (
        Section("Minimum heights and distances", tuple(_minimum_heights(briefing))),
        Section("Obstacles", tuple(_obstacles(briefing))),
        Section("Wires", tuple(_wires(briefing))),
        Section("The glide that was worked out", (Terms(_glide(briefing)),)),
        Section(
            "Simulated engine failure",
            (
                Bullets(advice),
                RuledLines(
                    ("Lowest height of a practice approach", "Who may close the throttle, and how")
                ),
            ),
        ),
        serving_section(briefing, figures),
    )
    return Part("heights", heading.title, asked_by(heading), sections)


def _minimum_heights(briefing: Briefing) -> list[Block]:
    rules = [
        rule
        for one in briefing.rule_sets
        for rule in one.rules
        if rule.kind in HEIGHT_KINDS and rule.severity is not Severity.ADVISORY
    ]
    if not rules:
        return [Paragraph("No rule set in force holds a minimum height.", is_grave=True)]
    heads = ("Rule", "Limit", "Applies", "From")
    rows = tuple(_height_row(rule) for rule in rules)
    return [
        Table("Law and policy; advisories are quoted at the end", heads, rows, (24, 30, 26, 20))
    ]


def _height_row(rule: Rule) -> tuple[Cell, ...]:
    applies = asked_in_words(rule).partition("Applies: ")[2]
    words = f"{rule.title} [{rule.id}, {rule.severity}]"
    return words, binding_in_words(rule), applies, f"{rule.document} {rule.section}"


def _obstacles(briefing: Briefing) -> list[Block]:
    if not briefing.plan.layers.obstacles:
        return [Paragraph("No obstacle file was given.", is_grave=True)]
    traced = _paths(layer.record for layer in briefing.plan.layers.obstacles)
    table = _standing_table(
        "Obstacles on file, the highest first", briefing, briefing.obstacles, traced
    )
    beyond = Paragraph(beyond_words(briefing.obstacles_beyond, len(briefing.obstacles)))
    return [table, beyond] if table.rows else [beyond]


def _wires(briefing: Briefing) -> list[Block]:
    if not briefing.plan.layers.wires:
        return [Paragraph("No wires are in the data: look for them everywhere.", is_grave=True)]
    traced = _paths(layer.record for layer in briefing.plan.layers.wires)
    table = _standing_table("Wires drawn, the highest first", briefing, briefing.wires, traced)
    beyond = Paragraph(beyond_words(briefing.wires_beyond, len(briefing.wires)))
    return [table, beyond] if table.rows else [beyond]


def _paths(records: Iterable[SourceRecord]) -> str:
    return ", ".join(path for record in records for path in record.paths)


def _standing_table(
    caption: str, briefing: Briefing, rows: Sequence[Standing], traced: str
) -> Table:
    heads = (
        "Name",
        "Top AMSL",
        "Above ground",
        "Latitude, longitude",
        "From the aerodrome",
        "Lies; remarks",
    )
    body = tuple(
        (
            row.name,
            "unknown" if row.top_amsl_ft is None else feet_text(row.top_amsl_ft),
            "not published" if row.top_agl_ft is None else feet_text(row.top_agl_ft),
            degrees_minutes(row.place.lat, row.place.lon),
            from_aerodrome(briefing, row.place),
            f"{gap(row.place)}; {row.remarks}",
        )
        for row in rows
    )
    how = f"{traced}; tops as used: published, ground and accuracy, whichever is higher"
    return Table(caption, heads, body, (18, 11, 11, 20, 20, 20), how)


def _glide(briefing: Briefing) -> tuple[tuple[str, Cell], ...]:
    project = briefing.plan.project
    aircraft, margins = project.aircraft, project.margins
    sources = aircraft.figure_sources

    def source(key: str) -> str:
        return f" ({sources[key]})" if key in sources else ""

    used = aircraft.glide_ratio_used
    return (
        (
            "Best glide",
            f"{aircraft.best_glide_speed_mps / KNOT_MPS:.0f} kt{source('best_glide_speed')}, "
            f"{aircraft.best_glide_ratio:g}:1{source('best_glide_ratio')}",
        ),
        (
            "Taken off",
            f"{aircraft.glide_derating:.0%}{source('glide_derating')}: {used:.1f}:1 is left, "
            f"in still air {used * 1000 * FOOT_M / NAUTICAL_MILE_M:.1f} NM for each 1 000 ft",
        ),
        ("Wind", f"{wind_words(project.wind)} ({project.wind_source})"),
        ("Seconds before the turn", f"{margins.reaction_time_s:g} s"),
        ("Bank of the gliding turn", f"{margins.turn_bank_deg:g} degrees"),
        (
            "Kept above ground, trees, wires",
            feet_text(round(margins.glide_clearance_m / FOOT_M)),
        ),
        ("Height at the field", _arrival(briefing)),
        (
            "Landing distance over 50 ft",
            None
            if aircraft.landing_distance_m is None
            else feet_text(round(aircraft.landing_distance_m / FOOT_M))
            + source("landing_distance"),
        ),
    )


def _arrival(briefing: Briefing) -> str:
    project = briefing.plan.project
    words = (
        f"{feet_text(round(project.margins.arrival_height_m / FOOT_M))} above its highest ground"
    )
    if not project.fields.is_key_asked:
        return f"{words}, anywhere over it; the way from there on to a strip is not proven"
    return f"a key position beside a strip, from which the landing was flown; at least {words}"
