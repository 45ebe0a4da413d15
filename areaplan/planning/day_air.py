"""The day's air at the station and at the planned altitudes, and what it makes of the glide."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

import numpy as np
from attrs import frozen

from areaplan.atmosphere import (
    LAPSE_K_PER_M,
    SEA_LEVEL_TEMPERATURE_K,
    density_altitude_m,
    true_airspeed,
)
from areaplan.engine.flight import loss_per_metre
from areaplan.grid import Float64Array
from areaplan.planning.day_conditions import Conditions
from areaplan.planning.project import Project
from areaplan.units import (
    CELSIUS_ZERO_K,
    FOOT_M,
    KNOT_MPS,
    NAUTICAL_MILE_M,
    Wind,
    feet_up,
)

INTO_WIND: Final = "into wind"
ACROSS: Final = "across"
DOWNWIND: Final = "downwind"
ANY_WAY: Final = "any way"


@frozen
class AirRow:
    """The air at one altitude, with the station's deviation from the standard at all heights.

    Attributes
    ----------
    what : str
        Such as "aerodrome" or "planned altitude".
    altitude_amsl_ft, pressure_altitude_ft, density_altitude_ft : int
        Whole feet, the latter two rounded up.
    temperature_c : float
    best_glide_tas_kt, manoeuvre_tas_kt : float
        True airspeeds at the handbook's best glide speed and at the lesson's.
    """

    what: str
    altitude_amsl_ft: int
    pressure_altitude_ft: int
    density_altitude_ft: int
    temperature_c: float
    best_glide_tas_kt: float
    manoeuvre_tas_kt: float


@frozen
class GlideRow:
    """The glide along one direction, derated as the school says.

    Attributes
    ----------
    way : str
        Into wind, across or downwind; "any way" in a calm.
    track_deg_true : float or None
        None in a calm.
    wind : Wind
    ratio_over_ground : float or None
        Ground covered over height lost, rounded down to the tenth; None where the aircraft makes no
        headway.
    loss_ft_per_nm : int or None
        Height lost for each nautical mile over the ground, rounded up.
    """

    way: str
    track_deg_true: float | None
    wind: Wind
    ratio_over_ground: float | None
    loss_ft_per_nm: int | None


def air_row(what: str, altitude_amsl_ft: int, conditions: Conditions, project: Project) -> AirRow:
    """Pressure and density altitude, temperature and true airspeeds at an altitude.

    Parameters
    ----------
    what : str
    altitude_amsl_ft : int
        As an altimeter set for the day shows it.
    conditions : Conditions
    project : Project
        On that day: its deviation from the standard is taken at every altitude.

    References
    ----------
    FAA-H-8083-25, pressure altitude and density altitude; USSA-76 for the formulas.
    """
    pressure_m = conditions.pressure_altitude_m(altitude_amsl_ft * FOOT_M)
    deviation_k = project.isa_deviation_k
    temperature_k = SEA_LEVEL_TEMPERATURE_K - LAPSE_K_PER_M * pressure_m + deviation_k
    aircraft = project.aircraft
    glide_mps, manoeuvre_mps = (
        true_airspeed(speed_mps, pressure_m, deviation_k)
        for speed_mps in (aircraft.best_glide_speed_mps, aircraft.manoeuvre_speed_mps)
    )
    return AirRow(
        what=what,
        altitude_amsl_ft=altitude_amsl_ft,
        pressure_altitude_ft=feet_up(pressure_m),
        density_altitude_ft=feet_up(density_altitude_m(pressure_m, deviation_k)),
        temperature_c=round(temperature_k - CELSIUS_ZERO_K, 1),
        best_glide_tas_kt=round(glide_mps / KNOT_MPS, 1),
        manoeuvre_tas_kt=round(manoeuvre_mps / KNOT_MPS, 1),
    )


def glide_rows(winds: Sequence[Wind], rows: Sequence[AirRow], ratio: float) -> list[GlideRow]:
    """The glide into, across and down each wind, by the worse of the least and greatest airspeed.

    Parameters
    ----------
    winds : sequence of Wind
        From the ground upwards; each gives three rows, a calm one.
    rows : sequence of AirRow
        The airspeeds lie between those of these rows.
    ratio : float
        Still-air glide ratio, derated.
    """
    tas_mps = [row.best_glide_tas_kt * KNOT_MPS for row in rows]
    ends_mps = np.array([min(tas_mps), max(tas_mps)])
    told: list[GlideRow] = []
    for wind in winds:
        if wind.speed_mps == 0.0:
            told.append(_glide(ANY_WAY, None, wind, ends_mps, ratio))
            continue
        for way, turned_deg in ((INTO_WIND, 0.0), (ACROSS, 90.0), (DOWNWIND, 180.0)):
            track = (wind.from_deg_true + turned_deg) % 360.0
            told.append(_glide(way, track, wind, ends_mps, ratio))
    return told


def _glide(
    way: str, track: float | None, wind: Wind, ends_mps: Float64Array, ratio: float
) -> GlideRow:
    losses = loss_per_metre(track or 0.0, ends_mps, ratio, wind.speed_mps, wind.from_deg_true)
    loss = float(np.max(losses))
    if not math.isfinite(loss):
        return GlideRow(way, track, wind, None, None)
    return GlideRow(
        way,
        track,
        wind,
        math.floor(10.0 / loss + 1e-9) / 10.0,
        feet_up(loss * NAUTICAL_MILE_M),
    )
