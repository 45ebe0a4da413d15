"""Magnetic variation by the World Magnetic Model, and bearings turned from true to magnetic.

The coefficients of WMM2025 and the spherical harmonics come from `pygeomag`. Outside the years for
which the model was made, and where a compass is unreliable, the variation is unknown, and says why.
"""

from __future__ import annotations

import calendar
from datetime import date
from functools import cache
from typing import Any, Final

from attrs import field, frozen, validators

MODEL: Final = "World Magnetic Model 2025"
# Validity of the model as published with it (NOAA/NCEI and BGS, WMM2025: 2025.0 to 2030.0).
MODEL_BEGINS: Final = 2025.0
MODEL_ENDS: Final = 2030.0
# Horizontal intensity below which the model's authors call the compass unreliable, and below which
# they ask for caution (WMM "blackout" and "caution" zones, as pygeomag carries them).
UNRELIABLE_NT: Final = 2000.0
CAUTION_NT: Final = 6000.0


@frozen
class MagneticField:
    """The Earth's main field at a place and time.

    Attributes
    ----------
    declination_deg_east : float
        From true to magnetic north, east positive, degrees.
    inclination_deg : float
        Down from the horizontal, degrees.
    horizontal_nt, north_nt, east_nt, down_nt, total_nt : float
        Intensities, nanoteslas.
    """

    declination_deg_east: float
    inclination_deg: float
    horizontal_nt: float
    north_nt: float
    east_nt: float
    down_nt: float
    total_nt: float


@frozen
class Variation:
    """Magnetic variation at a place and day, or why it is not known.

    Attributes
    ----------
    deg_east : float or None
        Degrees, east positive; None where unknown.
    words : str
        Such as "7.4 E (World Magnetic Model 2025)", or why it is unknown.
    is_caution : bool
        The horizontal field is weak: the compass may be off by more than usual.
    """

    deg_east: float | None = field(validator=validators.optional(validators.le(180.0)))
    words: str
    is_caution: bool = False

    def magnetic(self, deg_true: float) -> float | None:
        """A direction from magnetic north in [0, 360); None where the variation is unknown.

        "Variation west, magnetic best": magnetic = true - variation, east positive.
        """
        if self.deg_east is None:
            return None
        turned = (deg_true - self.deg_east) % 360.0
        return 0.0 if turned == 360.0 else turned  # a remainder a hair below 0 rounds up


def magnetic_field(lat: float, lon: float, height_km: float, decimal_year: float) -> MagneticField:
    """The main field by the World Magnetic Model 2025.

    Parameters
    ----------
    lat, lon : float
        Degrees on WGS 84.
    height_km : float
        Above the ellipsoid, kilometres. Mean sea level will do: it is within 0.11 km of it, worth
        less than 0.001 degrees.
    decimal_year : float
        Such as 2026.5; from `MODEL_BEGINS` to `MODEL_ENDS`.

    Raises
    ------
    ValueError
        A year for which the model was not made.

    References
    ----------
    NOAA/NCEI and British Geological Survey, *The US/UK World Magnetic Model for 2025-2030*, 2024.
    """
    if not MODEL_BEGINS <= decimal_year <= MODEL_ENDS:
        raise ValueError(
            f"year {decimal_year} is outside {MODEL_BEGINS}-{MODEL_ENDS} of the {MODEL}"
        )
    got = _model().calculate(glat=lat, glon=lon, alt=height_km, time=decimal_year)
    return MagneticField(
        declination_deg_east=float(got.d),
        inclination_deg=float(got.i),
        horizontal_nt=float(got.h),
        north_nt=float(got.x),
        east_nt=float(got.y),
        down_nt=float(got.z),
        total_nt=float(got.f),
    )


def variation_at(lat: float, lon: float, height_amsl_m: float, day: date) -> Variation:
    """Magnetic variation on a day, unknown where the model or the compass does not serve.

    Parameters
    ----------
    lat, lon : float
        Degrees on WGS 84.
    height_amsl_m : float
        Metres.
    day : date
    """
    year = decimal_year(day)
    if not MODEL_BEGINS <= year <= MODEL_ENDS:
        span = f"{MODEL_BEGINS:g}-{MODEL_ENDS:g}"
        return Variation(None, f"unknown: {day} is outside {span}, the years of the {MODEL}")
    got = magnetic_field(lat, lon, height_amsl_m / 1000.0, year)
    if got.horizontal_nt < UNRELIABLE_NT:
        return Variation(None, "unknown: so near a magnetic pole the compass is unreliable", True)
    is_weak = got.horizontal_nt < CAUTION_NT
    weak = "; near a magnetic pole, the compass may be off" if is_weak else ""
    return Variation(
        got.declination_deg_east,
        f"{variation_words(got.declination_deg_east)} ({MODEL}{weak})",
        is_weak,
    )


def variation_words(deg_east: float) -> str:
    """A variation to the tenth, such as ``7.4 E``."""
    tenths = round(deg_east, 1)
    return "0.0" if tenths == 0.0 else f"{abs(tenths):.1f} {'E' if tenths > 0.0 else 'W'}"


def decimal_year(day: date) -> float:
    """A day's beginning as a year with its fraction, such as 2026.5."""
    length = 366 if calendar.isleap(day.year) else 365
    return day.year + (day.timetuple().tm_yday - 1) / length


@cache
def _model() -> Any:
    from pygeomag import GeoMag
    from pygeomag.wmm.wmm_2025 import WMM_2025

    return GeoMag(coefficients_data=WMM_2025)
