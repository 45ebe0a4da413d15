"""Vertical limits of AIXM volumes and class layers."""

from __future__ import annotations

import math
from typing import Final
from xml.etree.ElementTree import Element

from attrs import frozen

from areaplan.sources._aixm_curves import plain_number
from areaplan.sources._aixm_xml import is_nil, text_at
from areaplan.sources._text import shown
from areaplan.units import FLIGHT_LEVEL_M, FOOT_M, Height, HeightReference

SURFACE: Final = Height(0.0, HeightReference.SFC)
UNLIMITED: Final = Height(math.inf, HeightReference.UNL)
_UNITS_M: Final = {"FT": FOOT_M, "M": 1.0, "FL": FLIGHT_LEVEL_M}
_REFERENCES: Final = {
    "MSL": HeightReference.AMSL,
    "SFC": HeightReference.AGL,
    "STD": HeightReference.FL,
}
_RANGE_M: Final = (-500.0, 100_000.0)


@frozen
class Limits:
    """A lower and an upper limit; None where it is not known."""

    lower: Height | None
    upper: Height | None


NOTHING_KNOWN: Final = Limits(None, None)


def volume_limits(volume: Element, said: list[str]) -> list[Limits]:
    """Limits of an AirspaceVolume; several where additional limits leave a choice.

    With a `maximumLimit` or `minimumLimit` the publication gives two upper or lower limits of which
    the higher or lower counts (from memory of the AIXM model). Every combination is then a volume
    of its own, which closes no less than the publication does.

    Parameters
    ----------
    volume : Element
    said : list of str
        Filled with what is not understood.
    """
    lowers = [_limit(volume, "lowerLimit", said)]
    uppers = [_limit(volume, "upperLimit", said)]
    if not is_nil(volume.find("minimumLimit")):
        lowers.append(_limit(volume, "minimumLimit", said))
    if not is_nil(volume.find("maximumLimit")):
        uppers.append(_limit(volume, "maximumLimit", said))
    return [_in_order(lower, upper, said) for lower in lowers for upper in uppers]


def has_limits(volume: Element) -> bool:
    """Whether it states any limit of its own."""
    paths = ("lowerLimit", "upperLimit", "minimumLimit", "maximumLimit")
    return any(not is_nil(volume.find(path)) for path in paths)


def layer_limits(layer: Element, volume: Limits, said: list[str]) -> Limits:
    """Limits of an AirspaceLayer inside a volume; FLOOR, CEILING and absent ones are its own."""
    lower = volume.lower
    if not is_nil(layer.find("lowerLimit")) and text_at(layer, "lowerLimit").upper() != "FLOOR":
        lower = _limit(layer, "lowerLimit", said)
    upper = volume.upper
    if not is_nil(layer.find("upperLimit")) and text_at(layer, "upperLimit").upper() != "CEILING":
        upper = _limit(layer, "upperLimit", said)
    return _in_order(lower, upper, said)


def is_at_or_below(one: Height, other: Height) -> bool | None:
    """Whether a limit surely lies at or below another; None where the ground decides."""
    if one.reference is HeightReference.UNL or other.reference is HeightReference.UNL:
        return other.reference is HeightReference.UNL
    ground = (HeightReference.SFC, HeightReference.AGL)
    if one.reference is other.reference or (one.reference in ground and other.reference in ground):
        return one.value_m <= other.value_m
    return None


def _in_order(lower: Height | None, upper: Height | None, said: list[str]) -> Limits:
    if lower is not None and upper is not None and is_at_or_below(lower, upper) is False:
        said.append(f"its floor {lower} lies above its ceiling {upper}")
        return NOTHING_KNOWN
    return Limits(lower, upper)


def _limit(element: Element, path: str, said: list[str]) -> Height | None:
    """One limit; None, and the reason, where it is missing or not understood."""
    is_upper = path in ("upperLimit", "maximumLimit")
    found = element.find(path)
    if found is None or is_nil(found):
        said.append(f"its {path} is missing")
        return None
    text = text_at(element, path).upper()
    if text == "GND" and not is_upper:
        return SURFACE
    if text == "UNL" and is_upper:
        return UNLIMITED
    reference_text = text_at(element, f"{path}Reference").upper()
    unit = found.get("uom", "").strip().upper()
    height = _height(text, unit, reference_text, is_upper=is_upper)
    if height is None:
        words = " ".join(filter(None, (text, unit, reference_text)))
        said.append(f"its {path} {shown(words)} is not understood")
    return height


def _height(text: str, unit: str, reference_text: str, *, is_upper: bool) -> Height | None:
    number = plain_number(text)
    reference = _REFERENCES.get(reference_text)
    if unit == "FL" and not reference_text:
        reference = HeightReference.FL  # a flight level has no other reference
    if number is None or unit not in _UNITS_M or reference is None:
        return None
    if unit == "FL" and reference is not HeightReference.FL:
        return None
    value_m = number * _UNITS_M[unit]
    if not _RANGE_M[0] <= value_m <= _RANGE_M[1]:
        return None
    if reference is HeightReference.AGL and value_m <= 0.0:
        return SURFACE if value_m == 0.0 and not is_upper else None
    return Height(value_m, reference)
