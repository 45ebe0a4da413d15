"""The part of the briefing on the area itself: boundary, heights, airspace, what is flown there."""

from __future__ import annotations

from collections.abc import Sequence

from areaplan.planning.briefing import Briefing
from areaplan.planning.judging import overall_verdict
from areaplan.planning.manoeuvres import ManoeuvreAnswer
from areaplan.render.briefing.closed_blocks import airspace_blocks, closed_blocks
from areaplan.render.briefing.places import (
    degrees_minutes,
    from_aerodrome,
    gap,
)
from areaplan.render.briefing.site_blocks import site_blocks
from areaplan.render.briefing.ways import ways_blocks
from areaplan.render.briefing.wording import asked_by, beyond_words, confirm_words
from areaplan.render.document.model import Block, Bullets, Cell, Figure, Paragraph, Part, Section
from areaplan.render.document.model import TableBlock as Table
from areaplan.render.manoeuvres import entry_words
from areaplan.render.text import percent_down, percent_up, verdict_text
from areaplan.rules.briefing_headings import Topic
from areaplan.rules.model import Counted
from areaplan.rules.text import limit_in_words
from areaplan.units import feet_text


def area_part(
    briefing: Briefing,
    maps: Sequence[Figure] = (),
    profile: Sequence[Figure] = (),
    sites: Sequence[Figure] = (),
) -> Part:
    """Description and use of the area.

    Parameters
    ----------
    briefing : Briefing
    maps, profile, sites : sequence of Figure
        Drawings to stand with the boundary, with floor and ceiling, and with the places for
        ground-reference work.
    """
    heading = briefing.headings[Topic.AREA]
    sections = [
        Section("Boundary", (*_boundary(briefing), *maps)),
        Section("Floor and ceiling", (*_heights(briefing), *profile)),
        Section("What closes part of the area", closed_blocks(briefing)),
        Section("Airspace in and round the area", airspace_blocks(briefing)),
        Section("Gates and routes in and out", ways_blocks(briefing)),
        Section("Altitudes by manoeuvre", tuple(_manoeuvres(briefing))),
        Section("Places for ground-reference work", (*sites, *site_blocks(briefing))),
        Section("Noise-sensitive places", tuple(_quiet(briefing))),
    ]
    return Part("area", heading.title, asked_by(heading), tuple(sections))


def _boundary(briefing: Briefing) -> tuple[Block, ...]:
    aerodrome = briefing.words.aerodrome
    seen = "an aerodrome, which the project does not name" if aerodrome is None else aerodrome.name
    words = (
        f"From corner to corner straight on the chart, in the order below and back to the first. "
        f"WGS 84, degrees and minutes. Bearings from {seen}, true and magnetic; variation "
        f"{briefing.variation.words}."
    )
    rows = tuple(
        (
            str(row.number),
            row.landmark or None,
            degrees_minutes(row.place.lat, row.place.lon),
            from_aerodrome(briefing, row.place),
        )
        for row in briefing.corners
    )
    heads = ("Corner", "Landmark", "Latitude, longitude", "From the aerodrome")
    traced = f"{_paths(briefing.plan.layers.area.record.paths)}; landmarks: project file"
    return (Paragraph(words), Table("Corners", heads, rows, (8, 34, 30, 28), traced))


def _paths(paths: Sequence[str]) -> str:
    return ", ".join(paths)


def _heights(briefing: Briefing) -> list[Block]:
    block = briefing.plan.block
    if block is None:
        words = (
            "There is no block of altitudes at which the whole area is legal with a field within "
            "gliding distance."
        )
    else:
        top = "no ceiling in the data"
        if block.ceiling_amsl_ft is not None:
            top = f"{feet_text(block.ceiling_amsl_ft)} AMSL"
        words = (
            f"The whole area is legal, with a field within gliding distance whatever the heading, "
            f"from {feet_text(block.floor_amsl_ft)} AMSL to {top}."
        )
    low, high = map(_feet, (briefing.lowest_ground_ft, briefing.highest_ground_ft))
    ground = f"The ground of the area lies between {low} and {high} AMSL."
    rows = tuple(
        (
            feet_text(row.altitude_amsl_ft),
            _feet(row.above_highest_ft),
            _feet(row.above_lowest_ft),
            verdict_text(overall_verdict([row.shares])),
            percent_down(row.shares.legal_share),
            percent_down(row.shares.safe_share),
            percent_down(row.shares.legal_and_safe_share),
            percent_up(row.shares.unknown_share),
        )
        for row in briefing.altitudes
    )
    heads = (
        "AMSL",
        "Above highest ground",
        "Above lowest ground",
        "Verdict",
        "Legal",
        "Field in reach",
        "Both",
        "Unknown",
    )
    table = Table(
        "Planned altitudes: height above the ground, and shares of the area",
        heads,
        rows,
        (11, 14, 14, 14, 10, 14, 10, 13),
        "terrain file and every rule in force; shares rounded to the cautious side",
    )
    return [Paragraph(words, is_grave=block is None), Paragraph(ground), table]


def _feet(feet: int | None) -> str:
    return "unknown" if feet is None else feet_text(feet)


def _manoeuvres(briefing: Briefing) -> list[Block]:
    answers = briefing.manoeuvres
    if not answers:
        return [Paragraph("No manoeuvre is in force for what this project flies.")]
    heads = ("Manoeuvre", "Enter, AMSL", "Uses", "Weather, by day, at least", "Stopped by")
    rows = tuple(
        (
            f"{row.title} ({row.severity})",
            entry_words(row),
            f"{feet_text(row.height_used_ft)} below, {feet_text(row.height_gained_ft)} above "
            f"({row.heights_source})",
            _weather(row),
            _stops(row),
        )
        for row in answers
    )
    sentences = dict.fromkeys(
        f"“{one.quote}” {one.citation}{confirm_words(one.confirm)}"
        for row in answers
        for one in briefing.manoeuvre_tables[row.id]
    )
    traced = "areaplan's table of completion heights, the school's policy, and the surfaces above"
    return [
        Table("Entry altitudes", heads, rows, (17, 22, 20, 18, 23), traced),
        Bullets(tuple(sentences)),
    ]


def _weather(answer: ManoeuvreAnswer) -> Cell:
    weather = answer.weather
    if weather is None:
        return "fits nowhere"
    if weather.visibility is None or weather.cloud_base_amsl_ft is None:
        return None
    return f"visibility {weather.visibility}, cloud base {feet_text(weather.cloud_base_amsl_ft)}"


def _stops(answer: ManoeuvreAnswer) -> str:
    if not answer.stops:
        return "nothing"
    words = [
        f"{one.title}{f': {one.feature}' if one.feature else ''} ({percent_up(one.share)})"
        for one in answer.stops[:3]
    ]
    more = len(answer.stops) - len(words)
    return f"at {feet_text(answer.told_at_amsl_ft)}: " + "; ".join(
        [*words, *([f"and {more} more"] if more else [])]
    )


def _quiet(briefing: Briefing) -> list[Block]:
    asking = tuple(
        f"{rule.title} [{rule.id}, {rule.severity}]: {limit_in_words(rule)}."
        for one in briefing.rule_sets
        for rule in one.rules
        if Counted.NOISE in rule.counts
    )
    blocks: list[Block] = [Bullets(asking)] if asking else []
    if not briefing.plan.layers.noise:
        blocks.append(Paragraph("No list of noise-sensitive places was given.", is_grave=True))
        return blocks
    heads = ("Place", "Why", "Latitude, longitude", "From the aerodrome", "Lies")
    rows = tuple(
        (
            row.name,
            row.reason,
            degrees_minutes(row.place.lat, row.place.lon),
            from_aerodrome(briefing, row.place),
            gap(row.place),
        )
        for row in briefing.quiet
    )
    traced = _paths([path for one in briefing.plan.layers.noise for path in one.record.paths])
    if rows:
        blocks.append(Table("Listed, the nearest first", heads, rows, (20, 28, 20, 20, 12), traced))
    blocks.append(Paragraph(beyond_words(briefing.quiet_beyond, len(briefing.quiet))))
    return blocks
