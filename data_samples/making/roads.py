"""Section-line roads a statute mile apart, a highway, a railway; and the mile squares between."""

from __future__ import annotations

from functools import cache
from typing import Final

import numpy as np
import shapely
from shapely.geometry import LineString, MultiLineString
from shapely.geometry.base import BaseGeometry

from making.frame import MILE_M, between, chance
from making.ground import COUNTRY_M, lake, marsh, nethrow_woods

COLUMNS: Final = range(-7, 8)  # mile lines that run north and south
ROWS: Final = range(-6, 7)
# North of this line the survey was corrected: its north-south roads stand this much further east.
_CORRECTION_Y_M: Final = 3 * MILE_M
_CORRECTION_M: Final = 55.0


def _wander(what: str) -> float:
    """Surveyors were good to some twenty metres in a mile."""
    return between(chance(what), -22.0, 22.0)


def crossing_m(column: int, row: int) -> tuple[float, float]:
    """Where two mile lines meet."""
    x = column * MILE_M + _wander(f"x {column} {row}")
    y = row * MILE_M + _wander(f"y {column} {row}")
    return x + (_CORRECTION_M if y > _CORRECTION_Y_M + 100.0 else 0.0), y


def _north_south(column: int) -> LineString:
    points = [crossing_m(column, row) for row in ROWS]
    jog = [index for index, row in enumerate(ROWS) if row == 3]
    for index in jog:  # the road turns along the correction line
        x, y = points[index]
        points.insert(index + 1, (x + _CORRECTION_M, y))
    return LineString(points)


def _east_west(row: int) -> LineString:
    return LineString([crossing_m(column, row) for column in COLUMNS])


@cache
def _no_road() -> BaseGeometry:
    return shapely.union_all([lake().buffer(60.0), marsh(), nethrow_woods().buffer(-350.0)])


# Lines that were never built, as (column or row, from, to) in miles along the line.
_NEVER_BUILT: Final = {
    ("column", -1): (-0.9, 0.9),
    ("column", 6): (1.1, 2.9),
    ("row", 1): (-4.9, -3.1),
    ("row", -5): (2.1, 3.9),
}


def _built(kind: str, number: int, line: LineString) -> BaseGeometry:
    gap = _NEVER_BUILT.get((kind, number))
    open_ground = shapely.difference(line, _no_road())
    if gap is None:
        return open_ground
    low, high = (value * MILE_M for value in gap)
    box = (
        shapely.box(-1e5, low, 1e5, high) if kind == "column" else shapely.box(low, -1e5, high, 1e5)
    )
    return shapely.difference(open_ground, box)


@cache
def railway() -> LineString:
    """A single track through the town, out of the area's south-east."""
    return LineString(
        [
            (-12_400.0, -8_900.0),
            (-2_000.0, -5_900.0),
            (4_300.0, -4_080.0),
            (6_000.0, -3_700.0),
            (12_400.0, -2_650.0),
        ]
    )


@cache
def highway() -> LineString:
    """The paved highway that leaves the town to the north-east and to the west."""
    return LineString(
        [
            (-12_400.0, -6_450.0),
            (1_700.0, -4_870.0),
            (4_050.0, -4_350.0),
            (5_600.0, -2_900.0),
            (9_100.0, 1_450.0),
            (12_400.0, 4_800.0),
        ]
    )


@cache
def roads() -> tuple[tuple[str, str, BaseGeometry], ...]:
    """Name, kind and line of every road and of the railway."""
    found: list[tuple[str, str, BaseGeometry]] = []
    for column in COLUMNS:
        name = f"{column_letter(column)} Road"
        found.append((name, "section road", _built("column", column, _north_south(column))))
    for row in ROWS:
        name = f"{row_number(row)} Mile Road"
        found.append((name, "section road", _built("row", row, _east_west(row))))
    found.append(("Velmory Highway", "highway", highway()))
    found.append(("Velmory branch line", "railway", railway()))
    return tuple(found)


def all_lines() -> MultiLineString:
    """Every road and track as one geometry."""
    parts = [part for _, _, line in roads() for part in shapely.get_parts(line)]
    return MultiLineString(parts)


def column_letter(column: int) -> str:
    """Letters from west to east, so that a square is named by the lines at its south-west."""
    return "ABCDEFGHJKLMNPQRS"[column - COLUMNS.start]


def row_number(row: int) -> int:
    """Numbers from north to south."""
    return ROWS.stop - row


def squares() -> list[tuple[str, float, float]]:
    """Name and middle of each mile square of the country, from the north-west, row by row."""
    found = []
    for row in reversed(ROWS[:-1]):
        for column in COLUMNS[:-1]:
            x, y = np.mean([crossing_m(column, row), crossing_m(column + 1, row + 1)], axis=0)
            if COUNTRY_M[0] < x < COUNTRY_M[2] and COUNTRY_M[1] < y < COUNTRY_M[3]:
                name = f"{column_letter(column)}{row_number(row + 1)}"
                found.append((name, float(x), float(y)))
    return found
