"""The standard atmosphere: airspeed at height, and altitudes from flight levels.

Reference: *U.S. Standard Atmosphere, 1976* (NOAA-S/T 76-1562), the layer below 11 km; ICAO
Doc 7488 gives the same. Assumption throughout: the air is standard, or standard shifted by the
altimeter setting alone.
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


def density_ratio(altitude_m: float) -> float:
    """Sigma, the density over that at sea level: delta / theta; raises as above."""
    return pressure_ratio(altitude_m) / temperature_ratio(altitude_m)


def true_airspeed(calibrated_mps: float, altitude_m: float) -> float:
    """True airspeed from calibrated, m/s, for speeds at which air does not compress.

    Calibrated over the square root of sigma; below 200 kt and 10,000 ft the compressibility
    left out is under 0.3 %. Raises as `temperature_ratio`.
    """
    return calibrated_mps / math.sqrt(density_ratio(altitude_m))


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
