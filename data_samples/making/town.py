"""The town of Velmory: streets of houses, the tall things, and the places that want quiet."""

from __future__ import annotations

import math
from functools import cache
from typing import Final

import shapely
from shapely.geometry import Point, Polygon

from making.frame import between, box_at, chance
from making.roads import highway, railway
from making.standing import Standing

MIDDLE_M: Final = (4_950.0, -3_950.0)
_STREET_M: Final = 118.0  # from street to street
_LOT_M: Final = 31.0  # from house to house along a street
_HOUSES: Final = 392
WATER_TOWER_M: Final = (4_520.0, -3_610.0)
ELEVATOR_M: Final = (5_150.0, -3_960.0)
HOSPITAL_M: Final = (5_600.0, -4_420.0)


@cache
def outline() -> Polygon:
    """The built-up ground: what the chief instructor drew as congested."""
    points = []
    for step in range(14):
        angle = 2 * math.pi * step / 14
        radius = 1.0 + 0.07 * math.sin(3 * angle) + 0.05 * math.cos(5 * angle)
        points.append(
            (
                MIDDLE_M[0] + 1_130.0 * radius * math.cos(angle),
                MIDDLE_M[1] + 900.0 * radius * math.sin(angle),
            )
        )
    return Polygon(points)


def _named() -> list[Standing]:
    tower, elevator = Point(WATER_TOWER_M).buffer(7.0, 4), box_at(*ELEVATOR_M, 46.0, 18.0, 73.0)
    return [
        Standing("Velmory water tower", "water tower", tower, 155.0),
        Standing("Velmory grain elevator", "grain elevator", elevator, 190.0),
        Standing("Velmory hospital", "hospital", box_at(*HOSPITAL_M, 78.0, 42.0, 90.0), 52.0),
        Standing("Velmory school", "school", box_at(4_650.0, -4_330.0, 64.0, 36.0, 0.0), 38.0),
        Standing("Velmory court house", "hall", box_at(4_960.0, -3_760.0, 34.0, 28.0, 0.0), 68.0),
    ]


@cache
def buildings() -> tuple[Standing, ...]:
    """Named buildings first, then houses street by street until there are enough."""
    stream = chance("town")
    named = _named()
    taken = shapely.union_all([item.geometry.buffer(14.0) for item in named])
    lines = shapely.union_all([highway().buffer(22.0), railway().buffer(20.0)])
    closed = shapely.union(taken, lines)
    inner = outline().buffer(-45.0)
    houses: list[Standing] = []
    y = MIDDLE_M[1] + 960.0
    while y > MIDDLE_M[1] - 960.0:
        for side in (-17.0, 17.0):
            x = MIDDLE_M[0] - 1_200.0 + between(stream, 0.0, 12.0)
            while x < MIDDLE_M[0] + 1_200.0:
                house = box_at(
                    x,
                    y + side + between(stream, -3.0, 3.0),
                    between(stream, 11.0, 16.0),
                    between(stream, 8.0, 10.5),
                    90.0,
                )
                storeys_ft = 17.0 + 9.0 * (stream.random() < 0.3)
                has_height = stream.random() < 0.8
                is_built = stream.random() < 0.5
                if is_built and inner.contains(house) and not closed.intersects(house):
                    name = f"Velmory house {len(houses) + 1}"
                    height_ft = storeys_ft if has_height else None
                    houses.append(Standing(name, "house", house, height_ft))
                x += _LOT_M
        y -= _STREET_M
    return (*named, *houses[:_HOUSES])


def fairground() -> Polygon:
    """Open-air shows draw a crowd here."""
    return box_at(4_250.0, -2_780.0, 420.0, 260.0, 80.0)


def hospital_grounds() -> Polygon:
    """Sick people below."""
    return box_at(*HOSPITAL_M, 220.0, 160.0, 90.0)
