"""Wind limits as plain text for people and as plain values for programs."""

from __future__ import annotations

import textwrap
from typing import Any, Final

from attrs import asdict

from areaplan.planning.cautions import cautions_for
from areaplan.planning.limits_by_wind import DirectionLimit, WindLimits, YearShare
from areaplan.planning.project import Project
from areaplan.render.text import WIDTH, percent_down, percent_up
from areaplan.units import KNOT_MPS, feet_text

COMPASS: Final = (
    *("N", "NNE", "NE", "ENE", "E", "ESE", "SE", "SSE"),
    *("S", "SSW", "SW", "WSW", "W", "WNW", "NW", "NNW"),
)
# Speeds for which the table tells the share of the area that keeps a field.
SHARE_SPEEDS_KT: Final = (10, 20, 30)

ASSUMPTIONS: Final = (
    "A limit is the strongest wind tested such that it and every lighter one tested hold: more "
    "wind does not always ask for more height.",
    "Winds between two directions: the lesser of their limits.",
    "Each wind is taken as steady and the same at all heights. Gusts, turbulence and sinking air "
    "in the lee of hills are not in it.",
    "A field counts where a strip is long enough in the wind, with no more crosswind than the "
    "aircraft's limit where the project states one. Gusts, and the other wind limits of the "
    "aircraft and the school, hold besides.",
)


def tested_words(limits: WindLimits) -> str:
    """Which winds were tested."""
    words = f"every {limits.step_kt} kt to {limits.highest_kt} kt"
    if not limits.between_kt:
        return words
    return f"{words}, and {limits.between_kt} kt below the first that fails"


def rules_words(limits: WindLimits) -> str:
    """Which rules on the choice of fields had to hold as well."""
    if not limits.rules:
        return (
            "No rule in force asks for a choice of fields: one within gliding distance is enough."
        )
    return f"These rules had to hold as well: {'; '.join(limits.rules)}."


def limit_words(one: DirectionLimit, highest_kt: int, *, is_short: bool = False) -> str:
    """One direction's limit in words.

    Parameters
    ----------
    one : DirectionLimit
    highest_kt : int
        The strongest wind tested.
    is_short : bool
        A few characters, for a figure.
    """
    if one.limit_kt is None:
        if one.is_unknown:
            return "unknown" if is_short else "unknown even in calm"
        return "none" if is_short else "not even in calm"
    words = f"{one.limit_kt} kt"
    if one.is_unknown:
        return f"{words} ?" if is_short else f"{words}, not known beyond"
    if one.limit_kt == highest_kt:
        return f"{words} +" if is_short else f"{words}, the strongest tested"
    return words


def year_words(year: YearShare) -> str:
    """The share of the year in a sentence, rounded to the cautious side."""
    unknown = f", not known for {percent_up(year.unknown)}" if year.unknown else ""
    return f"Within the limits for {percent_down(year.holds)} of the year{unknown} ({year.source})."


def wind_text(limits: WindLimits, project: Project) -> str:
    """The limits as a table with what was assumed."""
    verdict = limits.verdict.value.replace("_", " ")
    lines = [
        f"{project.name}: wind limits at {feet_text(limits.altitude_amsl_ft)} AMSL",
        f"The project's wind, {limits.own_wind} ({project.wind_source}): {verdict}",
        "",
        *textwrap.wrap(
            "Strongest wind with which every point of the area keeps a field, tested "
            f"{tested_words(limits)}; share of the area that keeps one up to "
            f"{', '.join(map(str, SHARE_SPEEDS_KT))} kt; where it is lost first:",
            WIDTH,
        ),
        "",
        f"{'from':<10}{'limit':<24}{_shares_head()}  lost first",
    ]
    for number, (name, one) in enumerate(zip(COMPASS, limits.directions, strict=True)):
        shares = "".join(
            f"{percent_down(limits.share_of_area(number, speed)):>7}" for speed in SHARE_SPEEDS_KT
        )
        bearing = f"{name:<4}{one.from_deg_true:05.1f}"
        limit = limit_words(one, limits.highest_kt)
        lines.append(f"{bearing:<10}{limit:<24}{shares}  {place_words(one)}".rstrip())
    if limits.year is not None:
        lines += ["", *textwrap.wrap(year_words(limits.year), WIDTH)]
    lines += [""]
    for sentence in (rules_words(limits), *ASSUMPTIONS, *cautions_for(project, ())):
        lines += textwrap.wrap(sentence, WIDTH, initial_indent="- ", subsequent_indent="  ")
    return "\n".join(lines)


def place_words(one: DirectionLimit) -> str:
    """Where a direction's limit binds, what is asked for there, and the field that is left."""
    if one.lat is None or one.lon is None:
        return ""
    asked = "unknown" if one.is_unknown else "no field at any height considered"
    if one.required_amsl_ft is not None:
        asked = f"needs {feet_text(one.required_amsl_ft)}"
    field = f", {one.field}" if one.field else ""
    return f"{one.lat:.4f} {one.lon:.4f} at {one.fails_kt} kt: {asked}{field}"


def _shares_head() -> str:
    return "".join(f"{f'{speed} kt':>7}" for speed in SHARE_SPEEDS_KT)


def wind_as_json(limits: WindLimits, project: Project) -> dict[str, Any]:
    """The limits as plain values: knots, degrees true, feet AMSL, shares from 0 to 1.

    A direction's `limit_kt` is null where not even calm holds, `fails_kt` where every wind tested
    does. `year` is null without a climatology.
    """
    return {
        "project": project.name,
        "altitude_amsl_ft": limits.altitude_amsl_ft,
        "wind": {
            "from_deg_true": limits.own_wind.from_deg_true,
            "speed_kt": round(limits.own_wind.speed_mps / KNOT_MPS, 3),
            "source": project.wind_source,
        },
        "verdict": limits.verdict.value,
        "step_kt": limits.step_kt,
        "between_kt": limits.between_kt,
        "highest_kt": limits.highest_kt,
        "directions": [
            {
                **asdict(one),
                "share_of_area_up_to": {
                    f"{speed}_kt": limits.share_of_area(number, speed) for speed in SHARE_SPEEDS_KT
                },
            }
            for number, one in enumerate(limits.directions)
        ],
        "year": None if limits.year is None else asdict(limits.year),
        "rules": list(limits.rules),
        "assumptions": list(ASSUMPTIONS),
        "cautions": list(cautions_for(project, ())),
        "project_sha256": project.sha256,
    }
