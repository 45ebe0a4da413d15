"""How the length that a landing needs is found, in sentences for every output that shows one."""

from __future__ import annotations

from typing import Final

from areaplan.planning.landing_factors import (
    DENSITY,
    DOWNSLOPE,
    GRASS,
    HEADWIND,
    TAILWIND,
    WIND_COUNTED_PROVENANCE,
    Factor,
)
from areaplan.planning.project import Project
from areaplan.units import FOOT_M, KNOT_MPS, feet_text

FACTORS: Final[tuple[Factor, ...]] = (GRASS, DENSITY, DOWNSLOPE, HEADWIND, TAILWIND)


def needed_length_words(project: Project) -> tuple[str, ...]:
    """Sentences on the length needed and the crosswind allowed, each with where it comes from."""
    aircraft, limits = project.aircraft, project.fields
    least = f"{limits.least_length_m:.0f} m at least, by the school ([fields] least_length)"
    if aircraft.landing_distance_m is None:
        sentences = [
            f"Length needed: {least}; the aircraft's landing distance is not given, so nothing is "
            "corrected for wind, slope or height"
        ]
    else:
        source = aircraft.figure_sources.get("landing_distance", "")
        length = feet_text(round(aircraft.landing_distance_m / FOOT_M))
        sentences = [
            f"Length needed: {length} over a 50 ft obstacle "
            f"({source}), times the factors below; {least}",
            *(f"{one.words} ({one.provenance})" for one in FACTORS),
            f"half of a headwind and one and a half times a tailwind count "
            f"({WIND_COUNTED_PROVENANCE})",
        ]
    return (*sentences, crosswind_words(project))


def crosswind_words(project: Project) -> str:
    """The crosswind limit with its source, or that there is none."""
    limit_mps = project.aircraft.crosswind_limit_mps
    if limit_mps is None:
        return "Crosswind: no limit is given ([aircraft] crosswind_limit), so none is judged"
    source = project.aircraft.figure_sources.get("crosswind_limit", "")
    return f"Crosswind: {limit_mps / KNOT_MPS:g} kt at most ({source})"
