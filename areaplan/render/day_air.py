"""Wind, air and glide on the day sheet."""

from __future__ import annotations

from areaplan.planning.day import DaySheet
from areaplan.planning.day_air import AirRow, GlideRow
from areaplan.planning.plan import Verdict
from areaplan.render.day_words import signed, wind_words
from areaplan.render.document.model import Paragraph, Section, TableBlock, paragraphs
from areaplan.render.text import percent_up, verdict_text
from areaplan.units import FOOT_M, bearing_text, feet_text


def wind_section(sheet: DaySheet) -> Section:
    """What the rules say of the wind, the winds aloft, and the variation."""
    told = [
        Paragraph(
            f"{verdict_text(row.verdict)}: {row.limit.title}: {row.feature} ({row.limit.severity})",
            is_grave=row.verdict is not Verdict.MET,
        )
        for row in sheet.wind_findings
    ]
    aloft = [
        f"{feet_text(round(row.height_amsl_m / FOOT_M))} AMSL: {wind_words(sheet, row.wind)}"
        for row in sheet.plan.project.winds_aloft
    ]
    none = () if told else ("No rule set in force states a wind limit.",)
    variation = f"Magnetic variation: {sheet.variation.words}."
    return Section(
        "Wind and compass",
        (
            *sorted(told, key=lambda one: not one.is_grave),
            *paragraphs((*none, *aloft, variation)),
        ),
    )


def air_section(sheet: DaySheet) -> Section:
    """Temperature, pressure and density altitude and true airspeeds by altitude."""
    table = TableBlock(
        "",
        ("AMSL", "degC", "pressure altitude", "density altitude", "glide TAS", "lesson TAS"),
        tuple(_air_row(row) for row in sheet.air),
        (4, 3, 5, 5, 4, 4),
        right=(1, 2, 3, 4, 5),
    )
    note = (
        f"{signed(sheet.plan.project.isa_deviation_k)} degC from the standard atmosphere. "
        "True airspeeds are in knots, at the best glide speed and at the lesson's speed as "
        "calibrated airspeeds."
    )
    return Section("Air", (table, Paragraph(note)))


def _air_row(row: AirRow) -> tuple[str, ...]:
    return (
        feet_text(row.altitude_amsl_ft),
        f"{row.temperature_c:.0f}",
        feet_text(row.pressure_altitude_ft),
        feet_text(row.density_altitude_ft),
        f"{row.best_glide_tas_kt:.0f}",
        f"{row.manoeuvre_tas_kt:.0f}",
    )


def glide_section(sheet: DaySheet) -> Section:
    """The glide over the ground against, across and with each wind."""
    aircraft = sheet.plan.project.aircraft
    table = TableBlock(
        "",
        ("way", "wind", "track true", "ratio", "lost per NM"),
        tuple(_glide_row(row) for row in sheet.glide),
        (4, 4, 4, 4, 4),
        right=(1, 2, 3, 4),
    )
    note = (
        f"Straight glide over the ground; {aircraft.best_glide_ratio:g}:1 in still air, "
        f"{percent_up(aircraft.glide_derating)} taken off. Reaction and turn come on top."
    )
    return Section("Glide today", (table, Paragraph(note)))


def _glide_row(row: GlideRow) -> tuple[str, ...]:
    track = "any" if row.track_deg_true is None else bearing_text(row.track_deg_true)
    if row.ratio_over_ground is None or row.loss_ft_per_nm is None:
        return (row.way, str(row.wind), track, "no headway", "-")
    ratio = f"{row.ratio_over_ground:.1f}:1"
    return (row.way, str(row.wind), track, ratio, feet_text(row.loss_ft_per_nm))
