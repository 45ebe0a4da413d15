"""What wind, slope, grass and thin air do to a landing distance: the trade's factors, none law.

A handbook's own corrections come first where it has them. These stand in for them, on the cautious
side, and are shown wherever a needed distance is.
"""

from __future__ import annotations

import math
from typing import Final

from attrs import frozen

from areaplan.units import FOOT_M, KNOT_MPS


@frozen
class Factor:
    """One share by which a landing distance changes, for each unit of its cause.

    Attributes
    ----------
    share : float
        Of the distance, for each `per` of the cause.
    per : float
        Metres per second, metres, or rise over run.
    words, provenance : str
    """

    share: float
    per: float
    words: str
    provenance: str


HEADWIND: Final = Factor(
    -0.10,
    9.0 * KNOT_MPS,
    "10 % less for each 9 kt of headwind",
    "note under the landing table of many light-aircraft handbooks (common text, from memory)",
)
TAILWIND: Final = Factor(
    0.10,
    2.0 * KNOT_MPS,
    "10 % more for each 2 kt of tailwind, up to 10 kt",
    "the same note (common text, from memory)",
)
# Beyond it the handbook's note is silent: nobody lands so.
MOST_TAILWIND_MPS: Final = 10.0 * KNOT_MPS
HEADWIND_COUNTED: Final = 0.5
TAILWIND_COUNTED: Final = 1.5
WIND_COUNTED_PROVENANCE: Final = (
    "not more than 50 % of headwinds and not less than 150 % of tailwinds: 14 CFR 25.125, of "
    "larger aeroplanes, taken over as good practice (from memory)"
)
DOWNSLOPE: Final = Factor(
    0.10,
    0.01,
    "10 % more for each 1 % downhill; nothing off for uphill",
    "upper end of the common 5 to 10 % (common practice, from memory)",
)
# Handbook distances are for a hard, dry runway; no field is one.
GRASS: Final = Factor(
    0.15,
    1.0,
    "15 % more for dry, short grass",
    "factor for dry grass on firm ground in general-aviation safety leaflets (from memory); wet or "
    "long grass, crop and soft ground ask for more",
)
DENSITY: Final = Factor(
    0.005,
    100.0 * FOOT_M,
    "0.5 % more for each 100 ft of density altitude; nothing off below sea level",
    "factor of 5 % for a thousand feet of elevation, and for the 10 degC that are nearly as much, "
    "in general-aviation safety leaflets (from memory); more than the square of the true airspeed "
    "asks for",
)


def is_wind_covered(along_wind_mps: float) -> bool:
    """Whether the factors speak of a wind along the strip: headwind positive, metres per second."""
    return -TAILWIND_COUNTED * along_wind_mps <= MOST_TAILWIND_MPS


def landing_distance_needed(
    distance_m: float,
    along_wind_mps: float,
    slope_rise_over_run: float,
    density_altitude_m: float = 0.0,
) -> float:
    """Correct a landing distance for wind along the strip, its slope, its grass and its height.

    Factors multiply, which is on the long side of adding them up.

    Parameters
    ----------
    distance_m : float
        Over a 50 ft obstacle, hard, level, dry and calm, at sea level on a standard day; metres.
    along_wind_mps : float
        Headwind positive, tailwind negative, metres per second; steady. Beyond what
        `is_wind_covered` allows the last rate goes on, for comparison only.
    slope_rise_over_run : float
        In the direction of landing, positive uphill.
    density_altitude_m : float
        Of the strip, metres.

    Returns
    -------
    float
        Metres; NaN where the slope or the density altitude is.

    References
    ----------
    The `provenance` of each factor. That a landing takes as much longer as the square of the true
    airspeed at the same calibrated one (1/sigma, `atmosphere.density_ratio`) is the physics that
    `DENSITY` lies above.
    """
    if math.isnan(slope_rise_over_run) or math.isnan(density_altitude_m):
        return math.nan
    downhill = DOWNSLOPE.share * max(0.0, -slope_rise_over_run) / DOWNSLOPE.per
    thin_air = DENSITY.share * max(0.0, density_altitude_m) / DENSITY.per
    still = distance_m * (1.0 + GRASS.share) * (1.0 + downhill) * (1.0 + thin_air)
    return still * _wind_factor(along_wind_mps)


def _wind_factor(along_wind_mps: float) -> float:
    if along_wind_mps >= 0.0:
        # Never below half: the note was not written for gales.
        counted = HEADWIND_COUNTED * along_wind_mps
        return max(0.5, 1.0 + HEADWIND.share * counted / HEADWIND.per)
    return 1.0 + TAILWIND.share * TAILWIND_COUNTED * -along_wind_mps / TAILWIND.per
