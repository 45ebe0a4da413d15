"""Values out of a feature's attributes: text, numbers and heights, by documented names."""

from __future__ import annotations

import math
import re
from typing import Final

from areaplan.errors import QuantityError
from areaplan.sources._features import Feature
from areaplan.sources._text import clean_text, shown
from areaplan.units import FOOT_M, parse_length

# Nothing that stands on the ground is higher: the tallest structure has 828 m (CTBUH list, 2024).
MAX_TOP_AGL_M: Final = 1000.0
_NUMBER: Final = re.compile(r"[+-]?([0-9]+(\.[0-9]*)?|\.[0-9]+)([eE][+-]?[0-9]+)?")
_FEET_INCHES: Final = re.compile(r"(\d+(?:\.\d+)?)\s*'\s*(?:(\d+(?:\.\d+)?)\s*\")?")
_AGREE_M: Final = 0.5 * FOOT_M
_HEIGHT_FORMS: Final = 'height_ft or height_m as a number, or height as text such as "35 ft"'


def text_of(feature: Feature, *names: str, max_chars: int = 400) -> str:
    """First text that is not empty among attributes, on one line; "" when there is none."""
    for name in names:
        text = clean_text(feature.attributes.get(name), max_chars)
        if text:
            return text
    return ""


def number_of(value: object) -> float | None:
    """Finite number that a value is or spells (KML carries numbers as text); None when neither."""
    if isinstance(value, bool) or value is None:
        return None
    if isinstance(value, str):
        digits = value.strip(" \t")
        value = float(digits) if _NUMBER.fullmatch(digits) else math.nan
    if isinstance(value, int | float) and math.isfinite(value):
        return float(value)
    return None


def stated_top_m(feature: Feature) -> float | None:
    """Height of a feature's top above ground in metres, as its attributes state it.

    `height_ft` and `height_m` are numbers; `height` is text with a unit. A bare `height` counts as
    metres only where the attributes are OpenStreetMap tags (OpenStreetMap wiki, *Key:height*:
    metres unless a unit is given).

    Returns
    -------
    float or None
        None when no height is stated. Unreadable OpenStreetMap heights count as not stated.

    Raises
    ------
    InputError
        Not a height, without a unit, negative, absurd, or two heights that disagree.
    """
    stated: dict[str, float] = {}
    for key, factor in (("height_ft", FOOT_M), ("height_m", 1.0)):
        value = feature.attributes.get(key)
        if _is_blank(value):
            continue
        number = number_of(value)
        if number is None:
            found = f"{key} = {shown(value)} is not a number"
            raise feature.error(found, _HEIGHT_FORMS, f"write a number in {key}, or leave it empty")
        stated[key] = number * factor
    height = feature.attributes.get("height")
    if not _is_blank(height):
        if feature.is_openstreetmap:
            tagged_m = openstreetmap_height_m(height)
            if tagged_m is not None:
                stated["height"] = tagged_m
        else:
            stated["height"] = _height_with_unit(feature, height)
    if not stated:
        return None
    lowest, highest = min(stated.values()), max(stated.values())
    if highest - lowest > _AGREE_M:
        found = f"its heights disagree: {', '.join(f'{k} is {v:.1f} m' for k, v in stated.items())}"
        raise feature.error(found, "one height", "keep the right one and empty the others")
    if not 0.0 <= lowest <= highest <= MAX_TOP_AGL_M:
        raise feature.error(
            f"its height is {highest:.1f} m",
            f"a height above ground from 0 to {MAX_TOP_AGL_M:.0f} m",
            "correct the height, or its unit",
        )
    return highest


def openstreetmap_height_m(value: object) -> float | None:
    """Read a height tag in metres: a number is metres; ``"40 ft"``, ``"12.5 m"``, ``40'6"`` too.

    Returns
    -------
    float or None
        None where the tag holds anything else, or a height outside 0 to `MAX_TOP_AGL_M`.
    """
    number = number_of(value)
    if number is None and isinstance(value, str):
        feet = _FEET_INCHES.fullmatch(value.strip())
        try:
            number = (
                (float(feet[1]) + float(feet[2] or 0.0) / 12.0) * FOOT_M
                if feet
                else parse_length(value)
            )
        except QuantityError:
            return None
    if number is None or not 0.0 <= number <= MAX_TOP_AGL_M:
        return None
    return number


def _is_blank(value: object) -> bool:
    return value is None or (isinstance(value, str) and not value.strip())


def _height_with_unit(feature: Feature, value: object) -> float:
    try:
        return parse_length(value)
    except QuantityError as error:
        found = f"height = {shown(value)}"
        if number_of(value) is not None:
            found += " has no unit"
        fix = 'write the unit, such as "35 ft", or name the attribute height_ft or height_m'
        raise feature.error(found, _HEIGHT_FORMS, fix) from error
