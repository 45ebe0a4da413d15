"""The standard atmosphere: airspeed at height, and altitudes from flight levels.

Reference: *U.S. Standard Atmosphere, 1976* (NOAA-S/T 76-1562), the layer below 11 km; ICAO
Doc 7488 gives the same. Assumption throughout: the air has the standard's pressure at each
altitude, and its temperature or one that differs from it by as much at all altitudes. Pressure
altitude is taken for altitude unless said: between 980 and 1040 hPa the density is then 3 % off at
most, the true airspeed half of that.
"""

from __future__ import annotations

import math
from typing import Final

from areaplan.units import HPA_PA

SEA_LEVEL_TEMPERATURE_K: Final = 288.15  # USSA-76, table 2
SEA_LEVEL_PRESSURE_PA: Final = 1013.25 * HPA_PA  # USSA-76, table 2
LAPSE_K_PER_M: Final = 0.0065  # USSA-76, table 4
# g0 M / (R L): 9.80665 m/s2, 28.9644 g/mol and 8.31432 J/(mol K) are USSA-76, table 2.
PRESSURE_EXPONENT: Final = 9.80665 * 0.0289644 / (8.31432 * LAPSE_K_PER_M)


def temperature_ratio(altitude_m: float) -> float:
    """Theta, the temperature over that at sea level (USSA-76, eq. 23).

    Parameters
    ----------
    altitude_m : float
        Geopotential altitude in metres, below 11,000.

    Raises
    ------
    ValueError
        At or above 11,000 m, or not finite.
    """
    if not altitude_m < 11_000.0 or math.isinf(altitude_m):
        raise ValueError(f"altitude {altitude_m} m is outside the layer below 11,000 m")
    return 1.0 - LAPSE_K_PER_M * altitude_m / SEA_LEVEL_TEMPERATURE_K


def pressure_ratio(altitude_m: float) -> float:
    """Delta, the pressure over that at sea level (USSA-76, eq. 33a); raises as above."""
    return float(temperature_ratio(altitude_m) ** PRESSURE_EXPONENT)


def density_ratio(altitude_m: float, isa_deviation_k: float = 0.0) -> float:
    """Sigma, the density over that at sea level on the standard day: delta / theta.

    Parameters
    ----------
    altitude_m : float
        Pressure altitude in metres, below 11,000.
    isa_deviation_k : float
        Temperature less that of the standard at the same altitude, kelvins.

    Raises
    ------
    ValueError
        As `temperature_ratio`, or a temperature not above absolute zero.
    """
    theta = temperature_ratio(altitude_m) + isa_deviation_k / SEA_LEVEL_TEMPERATURE_K
    if not theta > 0.0:
        raise ValueError(f"deviation of {isa_deviation_k} K leaves no temperature above 0 K")
    return pressure_ratio(altitude_m) / theta


def density_altitude_m(pressure_altitude_m: float, isa_deviation_k: float) -> float:
    """Altitude at which the standard atmosphere has the density met, metres.

    The inverse of sigma = theta^(n - 1), with n the exponent of the pressure (USSA-76, eq. 33a
    over eq. 23). Parameters and errors as `density_ratio`.
    """
    sigma = density_ratio(pressure_altitude_m, isa_deviation_k)
    full = SEA_LEVEL_TEMPERATURE_K / LAPSE_K_PER_M
    return float(full * (1.0 - sigma ** (1.0 / (PRESSURE_EXPONENT - 1.0))))


def true_airspeed(calibrated_mps: float, altitude_m: float, isa_deviation_k: float = 0.0) -> float:
    """True airspeed from calibrated, m/s, for speeds at which air does not compress.

    Calibrated over the square root of sigma; below 200 kt and 10,000 ft the compressibility
    left out is under 0.3 %. Further parameters and errors as `density_ratio`.
    """
    return calibrated_mps / math.sqrt(density_ratio(altitude_m, isa_deviation_k))


def true_airspeed_range(
    calibrated_mps: float, lowest_m: float, highest_m: float, isa_deviation_k: float = 0.0
) -> tuple[float, float]:
    """Least and greatest true airspeed between two altitudes, m/s.

    A day is not as hot, nor as cold, as stated all day long: the range spans from the standard day
    to the one stated, at both altitudes. True airspeed grows with altitude, since sigma falls, and
    with temperature.

    Parameters
    ----------
    calibrated_mps : float
    lowest_m, highest_m : float
        Pressure altitudes in metres, below 11,000.
    isa_deviation_k : float
        The stated day's deviation, kelvins.

    Raises
    ------
    ValueError
        As `density_ratio`.
    """
    return (
        true_airspeed(calibrated_mps, lowest_m, min(0.0, isa_deviation_k)),
        true_airspeed(calibrated_mps, highest_m, max(0.0, isa_deviation_k)),
    )


def altimeter_offset_m(altimeter_setting_pa: float) -> float:
    """Metres to add to a pressure altitude for the altitude that an altimeter so set shows.

    The altitude above mean sea level at which the standard atmosphere has the pressure of the
    setting, with its sign turned: positive for a setting above 1013.25 hPa.

    Raises
    ------
    ValueError
        The setting is not above 0.
    """
    if not altimeter_setting_pa > 0.0:
        raise ValueError(f"altimeter setting {altimeter_setting_pa} Pa is not above 0")
    ratio = altimeter_setting_pa / SEA_LEVEL_PRESSURE_PA
    full = SEA_LEVEL_TEMPERATURE_K / LAPSE_K_PER_M
    return float(full * (ratio ** (1.0 / PRESSURE_EXPONENT) - 1.0))
