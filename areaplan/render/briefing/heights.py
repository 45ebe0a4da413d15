"""The part of the briefing on minimum heights, what stands up, forced landings and wind limits."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import Final

from areaplan.engine.strip_table import DIRECTION_STEP_DEG
from areaplan.planning.briefing import Briefing
from areaplan.planning.briefing_places import Place, Standing
from areaplan.planning.field_list import best_index
from areaplan.planning.measured import MeasuredField
from areaplan.render.briefing.area import asked_by, beyond_words
from areaplan.render.briefing.places import (
    degrees_minutes,
    from_aerodrome,
    gap,
    true_and_magnetic,
    wind_words,
)
from areaplan.render.briefing.site_blocks import NOT_WORKED_OUT
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
from areaplan.render.field_text import directions_words, status_words
from areaplan.render.text import feet_text, percent_down
from areaplan.render.wind_rose import wind_rose_svg
from areaplan.render.wind_text import (
    ASSUMPTIONS,
    COMPASS,
    SHARE_SPEEDS_KT,
    limit_words,
    place_words,
    year_words,
)
from areaplan.rules.asking import Severity
from areaplan.rules.briefing_headings import Topic, advice_on
from areaplan.rules.model import Rule, RuleKind
from areaplan.rules.text import asked_in_words, binding_in_words
from areaplan.sources.layers import SourceRecord
from areaplan.units import FOOT_M, KNOT_MPS, NAUTICAL_MILE_M

_HEIGHT_KINDS: Final = (
    RuleKind.HEIGHT_ABOVE_SURFACE,
    RuleKind.HIGHEST_IN_RADIUS,
    RuleKind.SLANT_DISTANCE,
    RuleKind.LATERAL_DISTANCE,
    RuleKind.EMERGENCY_LANDING,
    RuleKind.CLOSED_OVER,
    RuleKind.FIELD_IN_EVERY_DIRECTION,
)


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
        Section("Fields", (*figures, *_fields(briefing))),
        Section("Wind limits", tuple(_wind(briefing))),
    )
    return Part("heights", heading.title, asked_by(heading), sections)


def _minimum_heights(briefing: Briefing) -> list[Block]:
    rules = [
        rule
        for one in briefing.rule_sets
        for rule in one.rules
        if rule.kind in _HEIGHT_KINDS and rule.severity is not Severity.ADVISORY
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
    return [table, Paragraph(beyond_words(briefing.obstacles_beyond))]


def _wires(briefing: Briefing) -> list[Block]:
    if not briefing.plan.layers.wires:
        return [Paragraph("No wires are in the data: look for them everywhere.", is_grave=True)]
    traced = _paths(layer.record for layer in briefing.plan.layers.wires)
    table = _standing_table("Wires drawn, the highest first", briefing, briefing.wires, traced)
    return [table, Paragraph(beyond_words(briefing.wires_beyond))]


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
        ("Kept above ground, trees, wires", f"{margins.glide_clearance_m / FOOT_M:.0f} ft"),
        ("Height at the field", _arrival(briefing)),
        (
            "Landing distance over 50 ft",
            None
            if aircraft.landing_distance_m is None
            else f"{aircraft.landing_distance_m / FOOT_M:.0f} ft{source('landing_distance')}",
        ),
    )


def _arrival(briefing: Briefing) -> str:
    project = briefing.plan.project
    words = f"{project.margins.arrival_height_m / FOOT_M:.0f} ft above its highest ground"
    if not project.fields.is_key_asked:
        return f"{words}, anywhere over it; the way from there on to a strip is not proven"
    return f"a key position beside a strip, from which the landing was flown; at least {words}"


def _fields(briefing: Briefing) -> list[Block]:
    if not briefing.fields:
        return [Paragraph("No field is in the data: there is nowhere to glide to.", is_grave=True)]
    pairs = list(zip(briefing.fields, briefing.field_places, strict=True))
    counting = [pair for pair in pairs if pair[0].counts]
    others = [pair for pair in pairs if not pair[0].counts]
    width_m = briefing.plan.project.fields.width_m
    words = (
        f"{len(counting)} of {len(pairs)} fields count. Strips of {width_m:g} m width; landing "
        "distance corrected for slope, grass and the wind above. Look at surface, stock, crop and "
        "wires from the air: nobody promises a landing."
    )
    layers = briefing.plan.layers
    records = (
        *(one.record for one in layers.fields),
        *(one.record for one in layers.land_cover),
    )
    traced = f"{_paths(records)}; terrain, woods, wires, structures"
    blocks: list[Block] = [Paragraph(words)]
    for caption, last, rows in (
        ("Fields that count, the best first", "Consent, remarks", counting),
        ("Fields that do not count", "Why not", others),
    ):
        heads = ("Field", "Land, best", "Usable, needed", "Enough, true", "Slope", "Place", last)
        body = tuple(_field(briefing, row, place) for row, place in rows)
        if body:
            blocks.append(Table(caption, heads, body, (9, 13, 12, 15, 16, 14, 21), traced))
    proposed = len(briefing.plan.candidates)
    if proposed:
        blocks.append(
            Paragraph(
                f"{proposed} places that land cover proposes are not listed: nobody has looked."
            )
        )
    return blocks


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


def _wind(briefing: Briefing) -> list[Block]:
    limits = briefing.wind_limits
    if limits is None:
        return [Paragraph(NOT_WORKED_OUT)]
    rows = tuple(
        (
            f"{name} {one.from_deg_true:05.1f}",
            limit_words(one, limits.highest_kt),
            *(percent_down(limits.share_of_area(number, speed)) for speed in SHARE_SPEEDS_KT),
            place_words(one) or "nowhere",
        )
        for number, (name, one) in enumerate(zip(COMPASS, limits.directions, strict=True))
    )
    verdict = limits.verdict.value.replace("_", " ")
    altitude = feet_text(limits.altitude_amsl_ft)
    shares = (f"Area kept to {speed} kt" for speed in SHARE_SPEEDS_KT)
    heads = ("From, true", "Limit", *shares, "Lost first")
    widths = (14, 20, *(9 for _ in SHARE_SPEEDS_KT), 39)
    rose = Figure(
        "wind-rose",
        wind_rose_svg(limits),
        f"Wind limits at {altitude} AMSL",
        "The limits of the table above as a rose.",
    )
    return [
        Paragraph(
            f"At {altitude} AMSL, the planned altitude at which most of the area is usable: the "
            "strongest wind with which every point of the area keeps a field. The project's wind, "
            f"{limits.own_wind}: {verdict}."
        ),
        Table("Limits by direction", heads, rows, widths, "the glide, in every wind tested"),
        rose,
        Bullets((*((year_words(limits.year),) if limits.year else ()), *ASSUMPTIONS)),
    ]
