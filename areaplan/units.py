"""Trade units at the edge, SI inside: parsing, formatting and the only conversion constants.

Heights always carry a reference (AMSL, AGL, FL, SFC, UNL): a bare number is an error.
"""

from __future__ import annotations

import math
import re
from enum import StrEnum
from typing import Final

from attrs import field, frozen, validators

from areaplan.errors import QuantityError

FOOT_M: Final = 0.3048  # international foot, exact (NIST SP 811, app. B.6)
US_SURVEY_FOOT_M: Final = 1200.0 / 3937.0  # exact (NIST SP 811, app. B.6)
NAUTICAL_MILE_M: Final = 1852.0  # exact (BIPM SI brochure, 9th ed., table 8 note)
STATUTE_MILE_M: Final = 1609.344  # exact (NIST SP 811)
KNOT_MPS: Final = NAUTICAL_MILE_M / 3600.0
MPH_MPS: Final = STATUTE_MILE_M / 3600.0
KMH_MPS: Final = 1.0 / 3.6
FPM_MPS: Final = FOOT_M / 60.0
INHG_PA: Final = 3386.389  # conventional inch of mercury at 0 degC (NIST SP 811)
HPA_PA: Final = 100.0
FLIGHT_LEVEL_M: Final = 100.0 * FOOT_M
CELSIUS_ZERO_K: Final = 273.15  # exact (BIPM SI brochure, 9th ed., 2.3.1)

_LENGTHS: Final = {
    "ft": FOOT_M,
    "m": 1.0,
    "km": 1000.0,
    "nm": NAUTICAL_MILE_M,
    "sm": STATUTE_MILE_M,
}
_SPEEDS: Final = {
    "kt": KNOT_MPS,
    "mph": MPH_MPS,
    "km/h": KMH_MPS,
    "m/s": 1.0,
    "ft/min": FPM_MPS,
}
_PRESSURES: Final = {"hpa": HPA_PA, "inhg": INHG_PA}
# ASCII digits only, no exponents: what a person types, nothing that merely looks like a number.
_NUMBER: Final = (
    r"([+-]?[0-9]{1,3}(?:,[0-9]{3})+(?:\.[0-9]+)?|[+-]?[0-9]+(?:\.[0-9]+)?|[+-]?\.[0-9]+)"
)


class HeightReference(StrEnum):
    """What a height is measured from."""

    AMSL = "AMSL"
    AGL = "AGL"
    FL = "FL"
    SFC = "SFC"
    UNL = "UNL"


@frozen
class Height:
    """A height with its reference.

    Attributes
    ----------
    value_m : float
        Metres above the reference; for FL the pressure altitude in the standard atmosphere,
        0 for SFC, positive infinity for UNL.
    reference : HeightReference
        Mean sea level, ground level, the 1013.25 hPa surface, the surface itself, or unlimited.
    """

    value_m: float
    reference: HeightReference

    def __str__(self) -> str:
        """Trade form, such as ``1500 ft AMSL`` or ``FL 65``, feet to the nearest tenth."""
        if self.reference in (HeightReference.SFC, HeightReference.UNL):
            return str(self.reference)
        if self.reference is HeightReference.FL:
            return f"FL {self.value_m / FLIGHT_LEVEL_M:g}"
        return f"{round(self.value_m / FOOT_M, 1):.15g} ft {self.reference}"


@frozen
class Wind:
    """A steady horizontal wind.

    Attributes
    ----------
    from_deg_true : float
        Direction it blows from, degrees true, in [0, 360).
    speed_mps : float
        Speed in metres per second, at least 0.
    """

    from_deg_true: float = field(validator=[validators.ge(0.0), validators.lt(360.0)])
    speed_mps: float = field(validator=validators.ge(0.0))

    def __str__(self) -> str:
        """Trade form, such as ``210/14 kt``."""
        if self.speed_mps == 0.0:
            return "calm"
        return f"{bearing_text(self.from_deg_true)}/{self.speed_mps / KNOT_MPS:g} kt"


def parse_length(text: object) -> float:
    """Read a distance or a bare vertical extent such as ``"0.5 NM"`` or ``"500 ft"``.

    Returns
    -------
    float
        Metres, at least 0.

    Raises
    ------
    QuantityError
        No unit, an unknown unit, a height reference where none belongs, or a negative value.
    """
    value = _quantity(text, _LENGTHS, 'a length with unit ft, m, km, NM or SM, such as "500 ft"')
    if value < 0.0:
        raise QuantityError(text, 'a length of 0 or more, such as "500 ft"')
    return value


def parse_speed(text: object) -> float:
    """Read a speed such as ``"65 kt"``.

    Returns
    -------
    float
        Metres per second, at least 0.

    Raises
    ------
    QuantityError
        No unit, an unknown unit or a negative value.
    """
    expected = 'a speed with unit kt, mph, km/h, m/s or ft/min, such as "65 kt"'
    value = _quantity(text, _SPEEDS, expected)
    if value < 0.0:
        raise QuantityError(text, expected)
    return value


def parse_pressure(text: object) -> float:
    """Read an altimeter setting such as ``"29.92 inHg"`` or ``"1013.25 hPa"``, in pascals.

    Raises
    ------
    QuantityError
        No unit, an unknown unit, or outside 850-1100 hPa.
    """
    expected = 'an altimeter setting such as "29.92 inHg" or "1013 hPa"'
    value = _quantity(text, _PRESSURES, expected)
    if not 850.0 * HPA_PA <= value <= 1100.0 * HPA_PA:
        raise QuantityError(text, expected)
    return value


def parse_duration(text: object) -> float:
    """Read a time span such as ``"4 s"`` in seconds, at least 0.

    Raises
    ------
    QuantityError
        No unit, an unknown unit or a negative value.
    """
    expected = 'a time with unit s or min, such as "4 s"'
    value = _quantity(text, {"s": 1.0, "min": 60.0}, expected)
    if value < 0.0:
        raise QuantityError(text, expected)
    return value


def parse_angle(text: object) -> float:
    """Read an angle such as ``"45 deg"`` in degrees, 0 to 360.

    Raises
    ------
    QuantityError
        No unit or outside 0-360.
    """
    expected = 'an angle in degrees, such as "45 deg"'
    value = _quantity(text, {"deg": 1.0, "°": 1.0}, expected)
    if not 0.0 <= value <= 360.0:
        raise QuantityError(text, expected)
    return value


def parse_share(text: object) -> float:
    """Read a share such as ``"20 %"`` as a fraction from 0 to 1.

    Raises
    ------
    QuantityError
        No per-cent sign or outside 0-100 %.
    """
    expected = 'a share from 0 to 100 per cent, such as "20 %"'
    value = _quantity(text, {"%": 0.01}, expected)
    if not 0.0 <= value <= 1.0:
        raise QuantityError(text, expected)
    return value


def parse_temperature_deviation(text: object) -> float:
    """Read a temperature's difference from the standard, such as ``"+10 degC"``, in kelvins.

    Raises
    ------
    QuantityError
        No unit or an unknown one.
    """
    expected = 'a difference from the standard temperature, such as "+10 degC" or "-5 degC"'
    return _quantity(text, {"degc": 1.0, "°c": 1.0, "k": 1.0}, expected)


def parse_temperature(text: object) -> float:
    """Read a temperature such as ``"12 degC"``, ``"12C"`` or ``"54F"``, in kelvins.

    Raises
    ------
    QuantityError
        No unit, an unknown unit, or outside -90 to +60 degC.
    """
    expected = 'an air temperature such as "12 degC", "-5C" or "54F"'
    celsius = {"degc": 1.0, "°c": 1.0, "c": 1.0}
    fahrenheit = {"degf": 1.0, "°f": 1.0, "f": 1.0}
    value = _quantity(text, {**celsius, **fahrenheit}, expected)
    if str(text).rstrip()[-1] in "fF":
        value = (value - 32.0) / 1.8  # exact (NIST SP 811, app. B.8)
    if not -90.0 <= value <= 60.0:
        raise QuantityError(text, expected)
    return value + CELSIUS_ZERO_K


def parse_slope(text: object) -> float:
    """Read a slope such as ``"1:10"`` or ``"10 %"`` as rise over run.

    Raises
    ------
    QuantityError
        Neither form, or outside 0-100 %.
    """
    expected = 'a slope as rise to run or in per cent, such as "1:10" or "10 %"'
    match = re.fullmatch(rf"\s*1\s*:\s*{_NUMBER}\s*", text) if isinstance(text, str) else None
    run = float(match[1].replace(",", "")) if match else math.nan
    if match and not 1.0 <= run < math.inf:
        raise QuantityError(text, expected)
    value = 1.0 / run if match else _quantity(text, {"%": 0.01}, expected)
    if not 0.0 <= value <= 1.0:
        raise QuantityError(text, expected)
    return value


def parse_height(text: object) -> Height:
    """Read a height with its reference: ``"1500 ft AMSL"``, ``"FL 65"``, ``"SFC"``, ``"UNL"``.

    MSL is read as AMSL, and GND as SFC, as published tables do.

    Raises
    ------
    QuantityError
        Unit or reference missing or unknown, a value that is not finite, or one below the ground.
    """
    expected = 'a height with unit and reference, such as "1500 ft AMSL", "500 ft AGL" or "FL 65"'
    if not isinstance(text, str):
        raise QuantityError(text, expected)
    words = " ".join(text.split()).upper()
    if words in ("SFC", "GND"):
        return Height(0.0, HeightReference.SFC)
    if words in ("UNL", "UNLTD"):
        return Height(math.inf, HeightReference.UNL)
    level = re.fullmatch(r"FL ?([0-9]{1,3})", words)
    if level:
        return Height(int(level[1]) * FLIGHT_LEVEL_M, HeightReference.FL)
    match = re.fullmatch(rf"{_NUMBER} ?(FT|M) (AMSL|MSL|AGL)", words)
    if not match:
        raise QuantityError(text, expected)
    value = float(match[1].replace(",", "")) * _LENGTHS[match[2].lower()]
    reference = HeightReference.AGL if match[3] == "AGL" else HeightReference.AMSL
    if not math.isfinite(value) or (reference is HeightReference.AGL and value < 0.0):
        raise QuantityError(text, expected)
    return Height(value, reference)


def parse_altitude_amsl(text: object) -> float:
    """Read an altitude that must be above mean sea level, such as ``"2500 ft AMSL"``, in metres.

    Raises
    ------
    QuantityError
        Not a height, or a reference other than AMSL.
    """
    height = parse_height(text)
    if height.reference is not HeightReference.AMSL:
        raise QuantityError(text, 'an altitude above mean sea level, such as "2500 ft AMSL"')
    return height.value_m


def parse_wind(text: object) -> Wind:
    """Read a wind such as ``"210/14 kt"`` (degrees true, speed) or ``"calm"``.

    Raises
    ------
    QuantityError
        Not of that form, or a direction above 360.
    """
    expected = 'a wind such as "210/14 kt" (from, degrees true / speed) or "calm"'
    if not isinstance(text, str):
        raise QuantityError(text, expected)
    if text.strip().lower() == "calm":
        return Wind(0.0, 0.0)
    direction, slash, speed = text.partition("/")
    if not slash or not re.fullmatch(r"\s*[0-9]{1,3}\s*", direction) or int(direction) > 360:
        raise QuantityError(text, expected)
    try:
        speed_mps = parse_speed(speed)
    except QuantityError:
        raise QuantityError(text, expected) from None
    return Wind(float(int(direction) % 360), speed_mps)


def feet_up(value_m: float) -> int:
    """Whole feet at or above a value in metres: the cautious side for a floor.

    Raises
    ------
    ValueError, OverflowError
        The value is NaN or infinite: unknown and unlimited have no feet.
    """
    return math.ceil(value_m / FOOT_M - _FEET_SLACK)


def feet_down(value_m: float) -> int:
    """Whole feet at or below a value in metres: the cautious side for a ceiling.

    Raises
    ------
    ValueError, OverflowError
        The value is NaN or infinite: unknown and unlimited have no feet.
    """
    return math.floor(value_m / FOOT_M + _FEET_SLACK)


def bearing_text(degrees: float) -> str:
    """Three figures as they are said, 001 to 360: north is 360, never 000."""
    return f"{round(float(degrees)) % 360 or 360:03d}"


def feet_text(feet: int) -> str:
    """Whole feet for people to read, thousands apart, such as ``2 500 ft``.

    Not for what people type or copy into a file: the parsers read ``2500 ft`` and ``2,500 ft``.
    """
    return f"{feet:,} ft".replace(",", " ")


def signed_feet_text(feet: int) -> str:
    """Whole feet more or less for people to read: ``+1 250 ft``, ``-80 ft``, ``0 ft``."""
    return f"+{feet_text(feet)}" if feet > 0 else feet_text(feet)


# 1500 ft in metres and back must stay 1500: forgives float64 noise, a millionth of a foot.
_FEET_SLACK: Final = 1e-6


def _quantity(text: object, factors: dict[str, float], expected: str) -> float:
    if not isinstance(text, str):
        raise QuantityError(text, expected)
    match = re.fullmatch(rf"\s*{_NUMBER}\s*(\S+)\s*", text)
    factor = factors.get(match[2].lower()) if match else None
    if match is None or factor is None:
        raise QuantityError(text, expected)
    value = float(match[1].replace(",", "")) * factor
    if not math.isfinite(value):  # hundreds of digits overflow to infinity
        raise QuantityError(text, expected)
    return value
