"""The lie of the land: height above sea level as a formula, the river, woods, water and marsh."""

from __future__ import annotations

from functools import cache
from typing import Final

import numpy as np
import shapely
from numpy.typing import ArrayLike, NDArray
from shapely.geometry import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from making.frame import between, chance, feet

# The mapped country, west, south, east, north, metres from the middle.
COUNTRY_M: Final = (-12_500.0, -11_000.0, 12_500.0, 11_000.0)

# Easting, northing, and size east-west and north-south of each copse.
_COPSES_M: Final = (
    (3_150.0, 3_050.0, 420.0, 300.0),
    (-7_900.0, -1_300.0, 700.0, 500.0),
    (6_900.0, 3_300.0, 500.0, 650.0),
    (-1_500.0, 6_900.0, 600.0, 400.0),
)


def river_y_m(x_m: ArrayLike) -> NDArray[np.float64]:
    """Northing of the Ambreck River at an easting."""
    x_km = np.asarray(x_m, dtype=np.float64) / 1000.0
    bends = 0.45 * np.sin(2 * np.pi * x_km / 4.4) + 0.2 * np.sin(2 * np.pi * x_km / 1.9 + 1.0)
    return 1000.0 * (-0.36 * x_km - 0.4 + bends)


def height_m(x_m: ArrayLike, y_m: ArrayLike) -> NDArray[np.float64]:
    """Ground above mean sea level: a tilted plain, gentle swells, a valley, two ridges, a lake."""
    x, y = (np.asarray(value, dtype=np.float64) / 1000.0 for value in (x_m, y_m))
    plain_ft = 1040.0 - 3.0 * x + 2.0 * y
    swells_ft = (
        13.0 * np.sin(2 * np.pi * (x / 3.3 + y / 9.0))
        + 10.0 * np.sin(2 * np.pi * (y / 2.6 - x / 7.0) + 0.7)
        + 5.0 * np.sin(2 * np.pi * (x + y) / 1.7 + 2.1)
    )
    from_river = (y - river_y_m(x * 1000.0) / 1000.0) * np.cos(np.arctan(0.36))
    valley_ft = -70.0 * np.exp(-((from_river / 0.8) ** 2))
    from_ridge = (y - 6.4 + 0.34 * (x + 9.0)) * np.cos(np.arctan(0.34))
    ridge_ft = 130.0 * np.exp(-((from_ridge / 1.6) ** 2)) / (1.0 + np.exp((x + 3.6) / 0.9))
    hill_ft = 110.0 * np.exp(-(((x - 7.4) / 1.9) ** 2) - ((y - 6.6) / 1.5) ** 2)
    hollow_ft = -22.0 * np.exp(-(((x - 0.9) / 1.0) ** 2) - ((y + 3.5) / 0.8) ** 2)
    return feet(1.0) * (plain_ft + swells_ft + valley_ft + ridge_ft + hill_ft + hollow_ft)


def slope(x_m: ArrayLike, y_m: ArrayLike, step_m: float = 20.0) -> NDArray[np.float64]:
    """Steepest slope of the ground, rise over run."""
    x, y = np.asarray(x_m, dtype=np.float64), np.asarray(y_m, dtype=np.float64)
    east = (height_m(x + step_m, y) - height_m(x - step_m, y)) / (2 * step_m)
    north = (height_m(x, y + step_m) - height_m(x, y - step_m)) / (2 * step_m)
    return np.hypot(east, north)


@cache
def river() -> LineString:
    """Centreline of the river, from the west edge of the country to the east edge."""
    x = np.arange(COUNTRY_M[0], COUNTRY_M[2] + 1.0, 125.0)
    return LineString(np.column_stack([x, river_y_m(x)]))


def _blob(x_m: float, y_m: float, across_m: float, along_m: float, what: str) -> Polygon:
    """A rounded patch with an uneven edge."""
    stream = chance(what)
    angles = np.linspace(0.0, 2 * np.pi, 20, endpoint=False)
    wobble = np.array([between(stream, 0.86, 1.1) for _ in angles])
    return Polygon(
        np.column_stack(
            [
                x_m + across_m / 2 * wobble * np.cos(angles),
                y_m + along_m / 2 * wobble * np.sin(angles),
            ]
        )
    )


@cache
def lake() -> Polygon:
    """Lake Corvash, in the south of the practice area."""
    return _blob(900.0, -3_450.0, 1_500.0, 900.0, "lake")


@cache
def marsh() -> Polygon:
    """Wet ground round the lake and west of it."""
    return shapely.union(_blob(-400.0, -3_750.0, 1_700.0, 900.0, "marsh"), lake().buffer(120.0, 4))


@cache
def nethrow_woods() -> Polygon:
    """The large woods in the south-west corner of the practice area."""
    return _blob(-4_150.0, -3_650.0, 3_300.0, 2_500.0, "woods")


@cache
def woods() -> tuple[tuple[str, float, BaseGeometry], ...]:
    """Name, greatest height of the trees in feet, and outline of each wood."""
    stream = chance("river woods")
    found: list[tuple[str, float, BaseGeometry]] = [("Nethrow Woods", 65.0, nethrow_woods())]
    x = COUNTRY_M[0] + 300.0
    number = 0
    while x < COUNTRY_M[2] - 1_500.0:
        length = between(stream, 700.0, 1_700.0)
        reach = np.arange(x, x + length, 100.0)
        strip = LineString(np.column_stack([reach, river_y_m(reach)]))
        number += 1
        outline = strip.buffer(between(stream, 70.0, 150.0), 3).simplify(8.0)
        found.append((f"River woods {number}", 60.0, outline))
        x += length + between(stream, 300.0, 900.0)
    for number, copse in enumerate(_COPSES_M, 1):
        found.append((f"Copse {number}", 50.0, _blob(*copse, f"copse {number}")))
    return tuple(found)
