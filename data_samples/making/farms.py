"""Farmsteads along the section roads: a house, its barns, now and then a silo."""

from __future__ import annotations

import random
from collections.abc import Iterator
from functools import cache
from typing import Final

import shapely
from shapely.geometry import Point
from shapely.geometry.base import BaseGeometry

from making.frame import between, box_at, chance
from making.ground import lake, marsh, river, woods
from making.lines import main_line
from making.roads import MILE_M, all_lines, squares
from making.standing import Standing
from making.town import outline

# A name that is also a program: it must arrive in every output as plain letters.
HOSTILE_NAME: Final = "Dell <script>alert(1)</script> farm"
_HOSTILE_SQUARE: Final = "H6"
_FARMS: Final = 120
_TRIES: Final = 14


@cache
def _not_here() -> BaseGeometry:
    return shapely.union_all(
        [outline().buffer(150.0), lake().buffer(80.0), marsh().buffer(40.0), river().buffer(190.0)]
        + [wood.buffer(40.0) for _, _, wood in woods()]
        + [all_lines().buffer(38.0), main_line().buffer(90.0)]
    )


def _site(stream: random.Random, x_m: float, y_m: float) -> tuple[float, float] | None:
    """A place near one side of a mile square, clear of everything."""
    for _ in range(_TRIES):
        along = between(stream, -0.38, 0.38) * MILE_M
        back = MILE_M / 2 - between(stream, 85.0, 150.0)
        east, north = ((along, back), (along, -back), (back, along), (-back, along))[
            int(stream.random() * 4)
        ]
        place = (x_m + east, y_m + north)
        if not _not_here().intersects(Point(place).buffer(48.0)):
            return place
    return None


def _steading(stream: random.Random, name: str, x_m: float, y_m: float) -> Iterator[Standing]:
    turn = 90.0 * int(stream.random() * 2)
    house = box_at(x_m, y_m, between(stream, 12.0, 17.0), between(stream, 9.0, 12.0), turn)
    yield Standing(f"{name} house", "house", house, 20.0 + 8.0 * (stream.random() < 0.5))
    barns = 2 + int(stream.random() * 2)
    for number in range(1, barns + 1):
        x = x_m + between(stream, -34.0, -24.0) * (1 if number % 2 else -1)
        y = y_m + between(stream, -22.0, 22.0) + (32.0 if number == 3 else 0.0)
        barn = box_at(x, y, between(stream, 18.0, 32.0), between(stream, 10.0, 15.0), turn)
        height_ft = round(between(stream, 24.0, 38.0)) if stream.random() < 0.7 else None
        yield Standing(f"{name} barn {number}", "barn", barn, height_ft)
    if stream.random() < 0.25:
        silo = Point(x_m + 6.0, y_m - 27.0).buffer(3.5, 3)
        yield Standing(f"{name} silo", "silo", silo, round(between(stream, 55.0, 85.0)))


@cache
def farmsteads() -> tuple[Standing, ...]:
    """Every building of about 120 farmsteads, mostly one in each mile square."""
    stream = chance("farms")
    found: list[Standing] = []
    count = 0
    for square, x_m, y_m in squares():
        if stream.random() > 0.94 and square != _HOSTILE_SQUARE:
            continue
        site = _site(stream, x_m, y_m)
        if site is None or count == _FARMS:
            continue
        count += 1
        name = HOSTILE_NAME if square == _HOSTILE_SQUARE else f"Farm {square}"
        found += _steading(stream, name, *site)
    return tuple(found)
