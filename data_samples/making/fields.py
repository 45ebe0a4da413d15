"""Fields to land in: pasture, stubble and hay meadows between the roads, clear of everything."""

from __future__ import annotations

import random
from functools import cache
from typing import Final

import numpy as np
import shapely
from attrs import frozen
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from making.farms import farmsteads
from making.frame import between, box_at, chance
from making.ground import lake, marsh, river, slope, woods
from making.lines import main_line, wires
from making.obstacles import tall_things
from making.roads import MILE_M, all_lines, squares
from making.town import buildings
from making.zones import assemblies, congested

_SLOPE_LIMIT: Final = 0.03
_TRIES: Final = 40
_INSIDE: Final = (-6_400.0, -5_600.0, 6_400.0, 4_800.0)  # the practice area and a little more
# Nothing to land in here: the big woods with their edges, and the wet ground round the lake.
_BARE: Final = ((-7_300.0, -6_500.0, -2_400.0, -2_000.0), (-1_500.0, -4_900.0, 2_200.0, -2_500.0))
_QUARTERS: Final = ((-1, 1), (1, -1), (1, 1), (-1, -1))
_SURFACES: Final = ("pasture", "stubble", "hay meadow")
_CONSENTS: Final = ("owner agreed, autumn 2026", "not asked", "owner agreed, no stock in winter")
_REMARKS: Final = ("", "", "fence across the west end", "soft after rain", "cattle in summer")


@frozen(eq=False)
class Field:
    """A landing field in local metres, in the words of whoever walked it."""

    name: str
    geometry: Polygon
    surface: str
    consent: str
    remarks: str


@cache
def _not_here() -> BaseGeometry:
    standing = [item.geometry.buffer(110.0) for item in (*farmsteads(), *buildings())]
    wire_lines = [line.buffer(70.0) for _, _, line, _ in wires()]
    tall = [shapely.Point(item.x_m, item.y_m).buffer(260.0) for item in tall_things()]
    return shapely.union_all(
        [lake().buffer(40.0), marsh().buffer(30.0), river().buffer(60.0)]
        + [wood.buffer(55.0) for _, _, wood in woods()]
        + [all_lines().buffer(30.0), main_line().buffer(110.0)]
        + [shapely.box(*bare) for bare in _BARE]
        + [zone.buffer(120.0) for _, zone in (*congested(), *assemblies())]
        + standing
        + wire_lines
        + tall
    )


def _is_level(shape: Polygon) -> bool:
    xy = shapely.get_coordinates(shapely.segmentize(shape, 60.0))
    return bool((slope(xy[:, 0], xy[:, 1]) < _SLOPE_LIMIT).all())


def _try_one(stream: random.Random, x_m: float, y_m: float, found: list[Field]) -> Polygon | None:
    """A field near a place, clear of everything and of the fields found before."""
    for attempt in range(_TRIES):
        shrink = 1.0 - 0.45 * attempt / _TRIES
        length = shrink * between(stream, 430.0, 800.0)
        width = shrink * between(stream, 190.0, 380.0)
        reach = 0.08 + 0.14 * attempt / _TRIES
        shape = box_at(
            x_m + between(stream, -reach, reach) * MILE_M,
            y_m + between(stream, -reach, reach) * MILE_M,
            length,
            width,
            90.0 * int(stream.random() * 2) + between(stream, -4.0, 4.0),
        )
        corners = np.asarray(shape.exterior.coords[:-1])
        corners = corners + [[between(stream, -12.0, 12.0) for _ in "xy"] for _ in corners]
        shape = Polygon(corners)
        is_apart = all(shape.distance(other.geometry) >= 60.0 for other in found)
        if is_apart and not _not_here().intersects(shape) and _is_level(shape):
            return shape
    return None


@cache
def fields() -> tuple[Field, ...]:
    """Two or three fields in the mile squares of the area; one in every fourth outside it."""
    stream = chance("fields")
    found: list[Field] = []
    for place, (square, x_m, y_m) in enumerate(squares()):
        is_inside = _INSIDE[0] < x_m < _INSIDE[2] and _INSIDE[1] < y_m < _INSIDE[3]
        is_far = max(abs(x_m) - 9_700.0, abs(y_m) - 8_000.0) > 0
        wanted = 0 if is_far else 2 + place % 2 if is_inside else int(place % 4 == 0)
        for number in range(wanted):
            east, north = _QUARTERS[(number + place) % 4]
            quarter_m = MILE_M / 4
            shape = _try_one(stream, x_m + east * quarter_m, y_m + north * quarter_m, found)
            if shape is None:
                continue
            found.append(
                Field(
                    f"Field {square}{'abc'[number]}",
                    shape,
                    _SURFACES[int(stream.random() * len(_SURFACES))],
                    _CONSENTS[int(stream.random() * len(_CONSENTS))],
                    _REMARKS[int(stream.random() * len(_REMARKS))],
                )
            )
    return tuple(found)
