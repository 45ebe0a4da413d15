"""The part of the briefing on wind limits."""

from __future__ import annotations

from typing import Final

from areaplan.planning.briefing import Briefing
from areaplan.planning.limits_by_wind import DirectionLimit, WindLimits
from areaplan.render.briefing.places import degrees_minutes, half_bearing
from areaplan.render.briefing.site_blocks import NOT_WORKED_OUT
from areaplan.render.document.model import Block, Bullets, Cell, Figure, Paragraph, Part, Section
from areaplan.render.document.model import TableBlock as Table
from areaplan.render.text import percent_down
from areaplan.render.wind_rose import wind_rose_svg
from areaplan.render.wind_text import ASSUMPTIONS, COMPASS, SHARE_SPEEDS_KT, limit_words, year_words
from areaplan.units import feet_text


def wind_part(briefing: Briefing) -> Part:
    """The strongest winds with which the whole area keeps a field, by direction."""
    return Part("wind", "Wind limits", "", (Section("", tuple(_wind(briefing))),))


def _wind(briefing: Briefing) -> list[Block]:
    limits = briefing.wind_limits
    if limits is None:
        return [Paragraph(NOT_WORKED_OUT)]
    verdict = limits.verdict.value.replace("_", " ")
    altitude = feet_text(limits.altitude_amsl_ft)
    shares = (f"Kept to {speed} kt" for speed in SHARE_SPEEDS_KT)
    heads = ("From, true", "Limit", *shares, "Lost first at", "In", "Needs, AMSL", "Last field")
    widths = (12, 16, *(8 for _ in SHARE_SPEEDS_KT), 23, 6, 9, 10)
    rows = tuple(_row(limits, number) for number in range(len(limits.directions)))
    rose = Figure(
        "wind-rose",
        wind_rose_svg(limits),
        f"Wind limits at {altitude} AMSL",
        "The limits of the table above as a rose.",
        width_mm=_ROSE_MM,
    )
    return [
        Paragraph(
            f"At {altitude} AMSL, the planned altitude at which most of the area is usable: the "
            "strongest wind with which every point of the area keeps a field. The project's wind, "
            f"{limits.own_wind}: {verdict}. Kept: the share of the area that keeps a field up to "
            "that wind. Lost first: where the next stronger wind tested takes it, the altitude "
            "needed there then, and the last field in reach. Top tested: nothing stronger was."
        ),
        Table("Limits by direction", heads, rows, widths, "the glide, in every wind tested"),
        rose,
        Bullets((*((year_words(limits.year),) if limits.year else ()), *ASSUMPTIONS)),
    ]


_ROSE_MM: Final = 92.0  # leaves room on the page for what follows it


def _row(limits: WindLimits, number: int) -> tuple[Cell, ...]:
    one = limits.directions[number]
    return (
        f"{COMPASS[number]} {half_bearing(one.from_deg_true)}",
        _limit(limits, one),
        *(percent_down(limits.share_of_area(number, speed)) for speed in SHARE_SPEEDS_KT),
        *_lost(one),
    )


def _limit(limits: WindLimits, one: DirectionLimit) -> str:
    if not one.is_unknown and one.limit_kt == limits.highest_kt:
        return f"{one.limit_kt} kt, top tested"
    return limit_words(one, limits.highest_kt)


def _lost(one: DirectionLimit) -> tuple[Cell, ...]:
    """Place, wind, altitude needed and field where a direction's limit binds."""
    if one.lat is None or one.lon is None:
        return "nowhere", "", "", ""
    needs = "unknown" if one.is_unknown else "no height"
    if one.required_amsl_ft is not None:
        needs = feet_text(one.required_amsl_ft)
    return degrees_minutes(one.lat, one.lon), f"{one.fails_kt} kt", needs, one.field or "none"
