"""Limits of airspace drawn by a person: texts, or the heights of an extruded KML polygon."""

from __future__ import annotations

from typing import Final

import shapely

from areaplan.errors import InputError, QuantityError
from areaplan.sources._columns import number_of, text_of
from areaplan.sources._features import Feature
from areaplan.sources._text import shown
from areaplan.units import Height, HeightReference, parse_height, parse_length

SIDES: Final = frozenset({"lower", "upper"})
# OGC 07-147r2 (KML 2.2), 9.20: absolute is metres above the vertical datum, which is EGM96.
_MODES: Final = {"absolute": HeightReference.AMSL, "relativetoground": HeightReference.AGL}
_GROUND_MODES: Final = ("", "clamptoground")
_RANGE_M: Final = (-500.0, 100_000.0)
_FIX: Final = "correct the limit from the current publication"


def has_drawn_limits(feature: Feature) -> bool:
    """Whether a feature states limits as text, or carries heights that may be meant as limits."""
    return bool(SIDES & set(feature.attributes)) or _is_raised(feature)


def drawn_limits(feature: Feature) -> tuple[Height | None, Height | None]:
    """Lower and upper limit of a drawn volume; None where not stated.

    Texts `lower` and `upper` count first, and then the heights of vertices are not looked at.
    Without `upper`, a polygon with `extrude` 1 and `altitudeMode` absolute (metres above mean sea
    level) or relativeToGround (metres above ground) reaches up to its highest vertex; its lower
    limit is then the surface unless `lower` says otherwise.

    Raises
    ------
    InputError
        A text is no height, the lower limit is UNL, or the vertices carry heights in a way that
        bounds no volume.
    """
    lower = _text_limit(feature, "lower")
    upper = _text_limit(feature, "upper")
    if upper is None and _is_raised(feature):
        upper = _extruded_top(feature)
        if lower is None:
            lower = Height(0.0, HeightReference.SFC)
    return lower, upper


def has_uneven_top(feature: Feature) -> bool:
    """Whether an extruded polygon was drawn with vertices at different heights."""
    heights = feature.vertex_heights_m
    is_extruded = _is_raised(feature) and not text_of(feature, "upper")
    return is_extruded and heights is not None and heights[1] > heights[0]


def drawn_accuracy_m(feature: Feature) -> float | None:
    """Accuracy of a drawn boundary, `accuracy` as a length with unit; None when not stated.

    Raises
    ------
    InputError
        It is no length.
    """
    text = text_of(feature, "accuracy")
    if not text:
        return None
    try:
        return parse_length(text)
    except QuantityError as error:
        fix = 'write, for instance, accuracy = "100 m"'
        raise feature.error(f"accuracy = {error.found}", error.expected, fix) from error


def _is_raised(feature: Feature) -> bool:
    has_mode = _mode(feature) not in _GROUND_MODES
    return has_mode and feature.vertex_heights_m is not None


def _mode(feature: Feature) -> str:
    return text_of(feature, "altitudemode", max_chars=40).lower()


def _extruded_top(feature: Feature) -> Height:
    heights = feature.vertex_heights_m
    reference = _MODES.get(_mode(feature))
    extrude = number_of(feature.attributes.get("extrude"))
    if heights is None or reference is None or extrude != 1.0:
        mode = shown(text_of(feature, "altitudemode", max_chars=40))
        raise feature.error(
            f"its vertices carry heights with altitudeMode {mode}, extrude "
            f"{'not 1' if extrude != 1.0 else '1'}",
            "altitudeMode absolute or relativeToGround with extrude 1, or lower and upper as text",
            'add lower = "SFC" and upper = "2500 ft AMSL" as extended data, or extrude it',
        )
    if shapely.get_num_geometries(feature.geometry) > 1:
        raise feature.error(
            "it is extruded from several polygons, each of which may have heights of its own",
            "one extruded polygon, or lower and upper as text",
            "draw one placemark for each polygon, or add lower and upper as extended data",
        )
    top_m = heights[1]
    if not _RANGE_M[0] <= top_m <= _RANGE_M[1]:
        raise feature.error(f"its top is at {top_m:g} m", "a height at which aircraft fly", _FIX)
    return Height(top_m, reference)


def _text_limit(feature: Feature, side: str) -> Height | None:
    text = text_of(feature, side)
    if not text:
        return None
    try:
        height = parse_height(text)
    except QuantityError as error:
        raise limit_error(feature, side, f"{side} = {error.found}", error.expected) from error
    if side == "lower" and height.reference is HeightReference.UNL:
        raise limit_error(feature, side, "lower = UNL", "a lower limit")
    return height


def limit_error(feature: Feature, side: str, found: str, expected: str) -> InputError:
    """Build the error for a limit, or a column of one, that is not understood."""
    return feature.error(found, f"{expected} for {side.replace('_', ' ')}", _FIX)
