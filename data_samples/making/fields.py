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
from making.zones import congested

_SLOPE_LIMIT: Final = 0.03
_TRIES: Final = 40
_INSIDE: Final = (-6_400.0, -5_600.0, 6_400.0, 4_800.0)  # the practice area and a little more
# Nothing to land in here: the big woods with their edges, and the wet ground round the lake.
_BARE: Final = ((-6_600.0, -5_500.0, -2_700.0, -2_300.0), (-1_500.0, -4_900.0, 2_200.0, -2_500.0))


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
        + [zone.buffer(120.0) for _, zone in congested()]
        + standing
        + wire_lines
        + tall
    )


def _is_level(shape: Polygon) -> bool:
    xy = shapely.get_coordinates(shapely.segmentize(shape, 60.0))
    return bool((slope(xy[:, 0], xy[:, 1]) < _SLOPE_LIMIT).all())


def _try_one(stream: random.Random, x_m: float, y_m: float) -> Polygon | None:
    for attempt in range(_TRIES):
        shrink = 1.0 - 0.4 * attempt / _TRIES
        length = shrink * between(stream, 430.0, 800.0)
        width = shrink * between(stream, 190.0, 380.0)
        shape = box_at(
            x_m + between(stream, -0.3, 0.3) * MILE_M,
            y_m + between(stream, -0.3, 0.3) * MILE_M,
            length,
            width,
            90.0 * int(stream.random() * 2) + between(stream, -4.0, 4.0),
        )
        corners = np.asarray(shape.exterior.coords[:-1])
        corners = corners + [[between(stream, -12.0, 12.0) for _ in "xy"] for _ in corners]
        shape = Polygon(corners)
        if not _not_here().intersects(shape) and _is_level(shape):
            return shape
    return None


@cache
def fields() -> tuple[Field, ...]:
    """Two fields in most mile squares of the practice area, one in every third outside it."""
    stream = chance("fields")
    found: list[Field] = []
    for place, (square, x_m, y_m) in enumerate(squares()):
        is_inside = _INSIDE[0] < x_m < _INSIDE[2] and _INSIDE[1] < y_m < _INSIDE[3]
        is_far = max(abs(x_m) - 10_800.0, abs(y_m) - 9_400.0) > 0
        wanted = 0 if is_far else 2 if is_inside else int(place % 3 == 0)
        for number in range(wanted):
            shape = _try_one(stream, x_m, y_m)
            if shape is None or any(shape.distance(other.geometry) < 60.0 for other in found):
                continue
            surface = ("pasture", "stubble", "hay meadow")[int(stream.random() * 3)]
            asked = ("owner agreed, autumn 2026", "not asked", "owner agreed, no stock in winter")
            consent = asked[int(stream.random() * 3)]
            remark = ("", "", "fence across the west end", "soft after rain", "cattle in summer")
            found.append(
                Field(
                    f"Field {square}{'ab'[number]}",
                    shape,
                    surface,
                    consent,
                    remark[int(stream.random() * 5)],
                )
            )
    return tuple(found)
