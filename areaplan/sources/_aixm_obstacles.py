"""VerticalStructure features of AIXM messages to obstacles."""

from __future__ import annotations

import math
from collections.abc import Iterable
from datetime import date
from pathlib import Path
from typing import Final
from xml.etree.ElementTree import Element

import numpy as np
import shapely
from attrs import frozen
from shapely.geometry import LineString, Point
from shapely.geometry.base import BaseGeometry

from areaplan.geodesy import LocalFrame
from areaplan.sources._aixm_curves import (
    PlacelessError,
    curve_pieces,
    length_m,
    plain_number,
    point_position,
)
from areaplan.sources._aixm_outlines import JOIN_M, UnsoundError, bound_of, surface_polygon
from areaplan.sources._aixm_slices import Holds, slice_on
from areaplan.sources._aixm_xml import Message, is_nil, label_of, read_message, text_at
from areaplan.sources._files import sha256_of
from areaplan.sources._obstacle_files import ObstacleTable
from areaplan.sources._obstacle_rows import AMSL_RANGE_FT, MAX_TOP_AGL_FT, RowError
from areaplan.sources._text import clean_name, clean_text
from areaplan.sources.layers import Obstacle
from areaplan.sources.obstacle_accuracy import Accuracy, accuracy_of_metres
from areaplan.units import FOOT_M

_WANTED: Final = frozenset({"VerticalStructure"})
_UNITS_M: Final = {"FT": FOOT_M, "M": 1.0}
# A line or surface is laid over with points this far apart, each spread over its own square.
_SMALLEST_SPACING_M: Final = 20.0
_LARGEST_SPACING_M: Final = 300.0
_MOST_POINTS: Final = 50_000
_LARGEST_DEG: Final = 2.0
_LAST_LATITUDE_DEG: Final = 84.0
_PLACES: Final = {
    "horizontalProjection_location": "ElevatedPoint",
    "horizontalProjection_linearExtent": "ElevatedCurve",
    "horizontalProjection_surfaceExtent": "ElevatedSurface",
    "location": "ElevatedPoint",
    "linearExtent": "ElevatedCurve",
    "surfaceExtent": "ElevatedSurface",
}


@frozen(eq=False)
class _Part:
    """One place of a structure, as published: None where a figure is not given."""

    name: str
    kind: str
    geometry: BaseGeometry
    top_agl_m: float | None
    top_amsl_m: float | None
    horizontal_m: float | None
    vertical_m: float | None


def read_aixm_obstacles(path: Path, name: str, day: date | None) -> ObstacleTable:
    """Read the VerticalStructure features of a message.

    The elevation of a part is the height of its top above mean sea level. Its vertical extent is
    measured from its own bottom, and so is a height above ground only where the structure has a
    single part. A part without an elevation, such as the rope between two stations, takes the
    highest of its structure. A line or surface becomes points that lie no further apart than their
    own spread; a stated radius, or length and width, is added to it.

    Parameters
    ----------
    path : Path
    name : str
        The path as the project writes it.
    day : date or None
        The project's day.

    Returns
    -------
    ObstacleTable
        Counted by structure and part; every part that cannot be used is named in `rejected`, every
        structure that has ended before the day counts as dismantled.

    Raises
    ------
    InputError
        Not a sound message.
    """
    message = read_message(path, name, _WANTED)
    rows: list[Obstacle] = []
    rejected: list[str] = []
    notes: list[str] = []
    ended = 0
    for feature in message.features:
        chosen = slice_on(feature, day)
        if chosen is None:
            rejected.append(f"{label_of(feature)}: it has no time slice")
            continue
        if chosen.holds is Holds.ENDED:
            ended += 1
            continue
        if chosen.holds not in (Holds.YES, Holds.NOT_YET):
            notes.append(f"{name}: {_structure_name(chosen.element)}: {chosen.holds}")
        found, refused = _structure(chosen.element, message)
        rows += found
        rejected += refused
    if len(rows) > len(message.features):
        notes.append(
            f"{name}: {len(message.features)} structures; their parts, lines and surfaces make "
            f"{len(rows)} obstacles"
        )
    return ObstacleTable(tuple(rows), tuple(rejected), sha256_of([path]), ended, None, tuple(notes))


def _structure(element: Element, message: Message) -> tuple[list[Obstacle], list[str]]:
    name = _structure_name(element)
    published = element.findall("part/VerticalStructurePart")
    spread_m = _stated_spread_m(element)
    parts: list[_Part] = []
    rejected: list[str] = []
    for number, part in enumerate([*published, element], start=1):
        is_whole = part is element
        if is_whole and not any(child.tag in _PLACES for child in part):
            continue  # its places are those of its parts
        try:
            label = name if len(published) == 1 or is_whole else _part_name(name, part, number)
            parts.append(_part(label, part, message, is_single=len(published) == 1))
        except (RowError, PlacelessError) as fault:
            rejected.append(f"{name}, part {number}: {fault}")
    if not published and not parts:
        rejected.append(f"{name}: it has no parts")
    rows: list[Obstacle] = []
    for placed in parts:
        try:
            rows += _obstacles(placed, parts, spread_m)
        except RowError as fault:
            rejected.append(f"{placed.name}: {fault}")
    return rows, rejected


def _structure_name(element: Element) -> str:
    return clean_name(text_at(element, "name")) or "structure without a name"


def _part_name(name: str, part: Element, number: int) -> str:
    return f"{name}, {clean_text(text_at(part, 'designator'), 40) or f'part {number}'}"


def _part(name: str, part: Element, message: Message, *, is_single: bool) -> _Part:
    places = [(outer.tag, child) for outer in part if outer.tag in _PLACES for child in outer]
    if len(places) != 1:
        raise RowError(f"{len(places)} places; expected one point, line or surface")
    tag, place = places[0]
    if place.tag != _PLACES[tag]:
        raise RowError(f"a {place.tag} as {tag}")
    amsl_m = _height_m(place, "elevation", *AMSL_RANGE_FT)
    agl_m = _height_m(part, "verticalExtent", 0.0, MAX_TOP_AGL_FT)
    vertical = [
        length_m(place.find("verticalAccuracy")) if amsl_m is not None else None,
        length_m(part.find("verticalExtentAccuracy")) if agl_m is not None else None,
    ]
    return _Part(
        name,
        clean_text(text_at(part, "type"), 40),
        _geometry(place, message),
        agl_m if is_single else None,
        amsl_m,
        length_m(place.find("horizontalAccuracy")),
        _worst(vertical),
    )


def _geometry(place: Element, message: Message) -> BaseGeometry:
    if place.tag == "ElevatedPoint":
        return Point(point_position(place, ""))
    if place.tag == "ElevatedCurve":
        pieces = list(curve_pieces(place, "", message))
        return LineString(np.concatenate([piece.points for piece in pieces]))
    try:
        return surface_polygon(place, message, JOIN_M)
    except UnsoundError as error:
        return bound_of(error)  # no obstacle of it is missed


def _obstacles(part: _Part, all_parts: Iterable[_Part], spread_m: float) -> list[Obstacle]:
    agl_m, amsl_m, vertical_m = part.top_agl_m, part.top_amsl_m, part.vertical_m
    if amsl_m is None and agl_m is None:
        others = list(all_parts)
        amsl_m = max((p.top_amsl_m for p in others if p.top_amsl_m is not None), default=None)
        agl_m = max((p.top_agl_m for p in others if p.top_agl_m is not None), default=None)
        vertical_m = _worst([p.vertical_m for p in others])
    if amsl_m is None and agl_m is None:
        raise RowError("no height: neither an elevation nor, of a single part, a vertical extent")
    accuracy = accuracy_of_metres(part.horizontal_m, vertical_m)
    return [
        _obstacle(part, (lon, lat), (agl_m, amsl_m), accuracy, reach_m + spread_m)
        for lon, lat, reach_m in _points_over(part.geometry)
    ]


def _obstacle(
    part: _Part,
    place: tuple[float, float],
    tops_m: tuple[float | None, float | None],
    accuracy: Accuracy,
    spread_m: float,
) -> Obstacle:
    return Obstacle(
        name=part.name,
        kind=part.kind,
        lat=place[1],
        lon=place[0],
        top_agl_m=tops_m[0],
        top_amsl_m=tops_m[1],
        horizontal_accuracy_m=accuracy.horizontal_m + spread_m,
        vertical_accuracy_m=accuracy.vertical_m,
        accuracy_is_known=accuracy.is_known,
        is_verified=None,
    )


def _points_over(geometry: BaseGeometry) -> list[tuple[float, float, float]]:
    """Longitude, latitude and reach in metres of circles that together hold a geometry."""
    if isinstance(geometry, Point):
        return [(geometry.x, geometry.y, 0.0)]
    west, south, east, north = geometry.bounds
    if east - west > _LARGEST_DEG or north - south > _LARGEST_DEG:
        raise RowError("it is too large to be one obstacle")
    centre = geometry.envelope.centroid
    if abs(centre.y) > _LAST_LATITUDE_DEG:
        raise RowError("it lies too near a pole")
    frame = LocalFrame(lat=centre.y, lon=centre.x)
    local = frame.geometry_to_local(geometry)
    west, south, east, north = local.bounds
    spacing_m = min(_LARGEST_SPACING_M, max(_SMALLEST_SPACING_M, east - west, north - south))
    columns = max(1, math.ceil((east - west) / spacing_m))
    rows = max(1, math.ceil((north - south) / spacing_m))
    if columns * rows > _MOST_POINTS:
        raise RowError("it is too large to be one obstacle")
    x_m = west + (np.arange(columns) + 0.5) * spacing_m
    y_m = south + (np.arange(rows) + 0.5) * spacing_m
    x_m, y_m = (axis.ravel() for axis in np.meshgrid(x_m, y_m))
    half_m = 0.5 * spacing_m
    squares = shapely.box(x_m - half_m, y_m - half_m, x_m + half_m, y_m + half_m)
    is_met = shapely.intersects(squares, local)
    lon, lat = frame.to_lonlat(x_m[is_met], y_m[is_met])
    reach_m = half_m * math.sqrt(2.0)
    return [(float(x), float(y), reach_m) for x, y in zip(lon, lat, strict=True)]


def _stated_spread_m(element: Element) -> float:
    """Radius, or half the diagonal of length and width, such as the reach of guy wires."""
    radius_m = length_m(element.find("radius")) or 0.0
    sides = [length_m(element.find(path)) or 0.0 for path in ("length", "width")]
    return max(radius_m, 0.5 * math.hypot(*sides))


def _height_m(element: Element, path: str, lowest_ft: float, highest_ft: float) -> float | None:
    """Height in metres; None where absent or nil."""
    found = element.find(path)
    if found is None or is_nil(found):
        return None
    text, unit = text_at(element, path), found.get("uom", "").strip().upper()
    number = plain_number(text)
    if number is None or unit not in _UNITS_M:
        raise RowError(f"{path} {text} {unit} is not a height in M or FT".replace("  ", " "))
    value_m = number * _UNITS_M[unit]
    if not lowest_ft * FOOT_M <= value_m <= highest_ft * FOOT_M:
        raise RowError(f"{path} of {text} {unit} is absurd")
    return value_m


def _worst(values: Iterable[float | None]) -> float | None:
    return max((value for value in values if value is not None), default=None)
