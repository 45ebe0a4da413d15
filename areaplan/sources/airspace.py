"""Airspace volumes, in the published column names or in plain words."""

from __future__ import annotations

import math
from collections.abc import Collection
from typing import Final

from areaplan.sources._aixm_xml import is_aixm_file
from areaplan.sources._assembly import convert_all, gather, make_layer
from areaplan.sources._columns import number_of, text_of
from areaplan.sources._drawn_limits import (
    SIDES,
    drawn_accuracy_m,
    drawn_limits,
    has_drawn_limits,
    has_uneven_top,
    limit_error,
)
from areaplan.sources._features import Feature
from areaplan.sources._text import shown
from areaplan.sources._vector import LonLatBox
from areaplan.sources.aixm import read_aixm_airspace
from areaplan.sources.layers import AirspaceVolume, Layer
from areaplan.sources.spec import SourceSpec
from areaplan.units import FLIGHT_LEVEL_M, FOOT_M, Height, HeightReference

_POLYGONS: Final = frozenset({2})
_CLASSES: Final = frozenset("ABCDEFG")
_MISSING: Final = -9998.0  # how the published tables write "no value"
_PUBLISHED_KEYS: Final = frozenset({"lower_val", "upper_val", "lower_code", "upper_code"})
_REFERENCES: Final = {
    "MSL": HeightReference.AMSL,
    "AMSL": HeightReference.AMSL,
    "AGL": HeightReference.AGL,
    "SFC": HeightReference.SFC,
    "STD": HeightReference.FL,
    "UNLTD": HeightReference.UNL,
    "UNL": HeightReference.UNL,
}
_UNITS_M: Final = {"FT": FOOT_M, "M": 1.0, "FL": FLIGHT_LEVEL_M}
# TI: to and including; TNI: to but not including (meanings from memory).
_INCLUSIVE: Final = {"TI": True, "TNI": False, "": True}
_RANGE_M: Final = (-500.0, 100_000.0)


def read_airspace(spec: SourceSpec, clip_lonlat: LonLatBox | None = None) -> Layer[AirspaceVolume]:
    """Read airspace volumes: one polygon feature for each volume or shelf.

    Two forms of attributes are read. The published form of class and special-use airspace has
    NAME, CLASS, LOCAL_TYPE or TYPE_CODE, UPPER_DESC, UPPER_VAL, UPPER_UOM, UPPER_CODE, the same for
    LOWER, and TIMESOFUSE. The plain form has `name`, `class`, `type`, `lower` and `upper` as text
    with unit and reference, such as "1500 ft AMSL", "FL 65", "SFC" or "UNL", and `hours`; an
    `accuracy` of the boundary as a length with unit; instead of the texts, a KML polygon may be
    extruded, see `areaplan.sources._drawn_limits.drawn_limits`. AIXM messages (.xml) are read by
    `areaplan.sources.aixm.read_aixm_airspace`.

    Parameters
    ----------
    spec : SourceSpec
        Of kind AIRSPACE.
    clip_lonlat : tuple of float, optional
        West, south, east, north in degrees: rows outside may be left unread in large files.

    Returns
    -------
    Layer of AirspaceVolume
        A limit is None where the publication gives no usable value (-9998 or nothing): unknown,
        never "no limit". The upper limit is inclusive unless the table says TNI.

    Raises
    ------
    InputError
        A file or feature is not usable; a unit, reference or class is not known; a floor lies
        above its ceiling; a volume has neither class nor type.
    """
    if any(map(is_aixm_file, spec.paths)):
        return read_aixm_airspace(spec, clip_lonlat)
    gathered = gather(spec, _POLYGONS, clip_lonlat)
    rows = convert_all(gathered.features, _volume)
    notes: list[str] = []
    unknown = [row.name for row in rows if row.lower is None or row.upper is None]
    if unknown:
        notes.append(f"{len(unknown)} volumes have a limit that is not known: {', '.join(unknown)}")
    uneven = [f.label for f in gathered.features if has_uneven_top(f)]
    if uneven:
        notes.append(f"drawn with an uneven top, of which the highest counts: {', '.join(uneven)}")
    odd = [f.label for f in gathered.features if text_of(f, "upper_desc") not in _INCLUSIVE]
    if odd:
        notes.append(
            "the upper limit is taken as inclusive where its description is neither TI nor TNI: "
            + ", ".join(odd)
        )
    return make_layer(spec, gathered, rows, notes)


def _volume(feature: Feature) -> AirspaceVolume:
    # In a file that mixes the two forms every feature has the columns of both, empty in one.
    is_drawn = any(text_of(feature, side) for side in SIDES)
    if is_drawn and any(text_of(feature, key) for key in _PUBLISHED_KEYS):
        raise feature.error(
            "it states its limits twice, in the published columns and as lower and upper text",
            "one of the two",
            "delete the one that is not from the current publication",
        )
    if not is_drawn and _PUBLISHED_KEYS & set(feature.attributes):
        lower = _published_limit(feature, "lower")
        upper = _published_limit(feature, "upper")
        type_code = text_of(feature, "local_type", "type_code", max_chars=40)
    elif has_drawn_limits(feature):
        lower, upper = drawn_limits(feature)
        type_code = text_of(feature, "type", max_chars=40)
    else:
        raise feature.error(
            "it has no limits",
            "UPPER_VAL and LOWER_VAL as published, upper and lower as text, or an extruded KML "
            "polygon",
            'add, for instance, lower = "SFC" and upper = "2500 ft AMSL"',
        )
    airspace_class = _class(feature)
    if not airspace_class and not type_code:
        raise feature.error(
            "it has neither a class nor a type",
            "a class letter, or a type such as R or MOA",
            "add the class or the type: without it no rule can be applied",
        )
    _check_order(feature, lower, upper)
    return AirspaceVolume(
        name=feature.name_or("airspace"),
        airspace_class=airspace_class,
        type_code=type_code,
        geometry=feature.geometry,
        lower=lower,
        upper=upper,
        upper_is_inclusive=_INCLUSIVE.get(text_of(feature, "upper_desc"), True),
        hours=text_of(feature, "timesofuse", "hours"),
        boundary_accuracy_m=drawn_accuracy_m(feature),
    )


def _class(feature: Feature) -> str:
    letter = text_of(feature, "class", max_chars=40).upper()
    if letter and letter not in _CLASSES:
        raise feature.error(
            f"class {shown(letter)}", "a letter from A to G, or none", "correct the class"
        )
    return letter


def _published_limit(feature: Feature, side: str) -> Height | None:
    """One limit from the columns VAL, UOM and CODE of a side."""
    value = feature.attributes.get(f"{side}_val")
    is_given = text_of(feature, f"{side}_val") != ""
    number = number_of(value)
    if is_given and number is None:
        raise limit_error(feature, side, f"{side.upper()}_VAL = {shown(value)}", "a number")
    if number == _MISSING:
        number = None
    code = _code(feature, f"{side}_code", _REFERENCES)
    unit = _code(feature, f"{side}_uom", _UNITS_M)
    reference = _REFERENCES.get(code)
    if reference is HeightReference.UNL:
        if side == "lower":
            raise limit_error(feature, side, f"LOWER_CODE = {shown(code)}", "a lower limit")
        return Height(math.inf, HeightReference.UNL)
    if reference is HeightReference.SFC and (number == 0.0 or (number is None and side == "lower")):
        return Height(0.0, HeightReference.SFC)
    if number is None:
        return None
    if not unit or reference is None:
        found = f"{side.upper()}_VAL = {number:g} without unit or reference"
        raise limit_error(feature, side, found, "UOM FT, FL or M and CODE MSL, AGL, SFC or STD")
    if unit == "FL":
        reference = HeightReference.FL
    elif reference is HeightReference.SFC:  # a height above the surface, for instance 700 SFC
        reference = HeightReference.AGL
    height = Height(number * _UNITS_M[unit], reference)
    if not _RANGE_M[0] <= height.value_m <= _RANGE_M[1]:
        found = f"{side.upper()}_VAL = {number:g} {unit}"
        raise limit_error(feature, side, found, "a height at which aircraft fly")
    return height


def _code(feature: Feature, key: str, known: Collection[str]) -> str:
    """Code of a column in capitals, "" where it has none."""
    code = text_of(feature, key, max_chars=40).upper()
    if number_of(code) == _MISSING:
        return ""
    if code and code not in known:
        raise limit_error(
            feature, key, f"{key.upper()} = {shown(code)}", f"one of {', '.join(known)}"
        )
    return code


def _check_order(feature: Feature, lower: Height | None, upper: Height | None) -> None:
    """Refuse a floor above its ceiling, as far as both are measured from the same thing."""
    if lower is None or upper is None:
        return
    above_ground = (HeightReference.SFC, HeightReference.AGL)
    is_same = lower.reference is upper.reference or (
        lower.reference in above_ground and upper.reference in above_ground
    )
    if is_same and lower.value_m > upper.value_m:
        raise feature.error(
            f"its floor {lower} lies above its ceiling {upper}",
            "a floor below the ceiling",
            "correct the limits from the current publication",
        )
