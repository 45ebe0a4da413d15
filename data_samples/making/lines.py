"""Power lines: a transmission line on towers across the area, distribution wires on poles."""

from __future__ import annotations

from functools import cache
from typing import Final

import numpy as np
import shapely
from shapely.geometry import LineString, Point

from making.ground import river_y_m
from making.roads import crossing_m
from making.standing import Standing

TOWER_FT: Final = 115.0
CROSSING_TOWER_FT: Final = 215.0
_SPAN_M: Final = 310.0
MAIN_WIRE_FT: Final = 108.0
CROSSING_WIRE_FT: Final = 200.0
POLE_WIRE_FT: Final = 34.0


@cache
def main_line() -> LineString:
    """Transmission line from the south edge of the country to the north edge."""
    return LineString(
        [(-1_750.0, -10_900.0), (-2_450.0, -1_900.0), (-2_750.0, 3_000.0), (-1_150.0, 10_900.0)]
    )


@cache
def towers() -> tuple[tuple[float, float, float], ...]:
    """Easting, northing and height in feet of each tower, south to north.

    The two at the river stand taller.
    """
    line = main_line()
    count = int(line.length // _SPAN_M)
    places = shapely.line_interpolate_point(line, np.linspace(0.0, line.length, count + 1))
    xy = shapely.get_coordinates(places)
    above_river = xy[:, 1] - river_y_m(xy[:, 0])
    first_north = int(np.flatnonzero(above_river > 0)[0])
    heights = np.full(len(xy), TOWER_FT)
    heights[[first_north - 1, first_north]] = CROSSING_TOWER_FT
    return tuple((float(x), float(y), float(h)) for (x, y), h in zip(xy, heights, strict=True))


def river_crossing() -> LineString:
    """The span between the two tall towers."""
    tall = [(x, y) for x, y, height_ft in towers() if height_ft == CROSSING_TOWER_FT]
    return LineString(tall)


def tower_structures() -> tuple[Standing, ...]:
    """The towers as structures; a transmission tower's foot is about 9 m wide."""
    return tuple(
        Standing(f"Line tower {number}", "power tower", Point(x, y).buffer(4.5, 1), height_ft)
        for number, (x, y, height_ft) in enumerate(towers(), 1)
    )


@cache
def wires() -> tuple[tuple[str, str, LineString, float | None], ...]:
    """Name, kind, line and greatest height in feet (None: not known) of every run of wires."""
    tall = [index for index, row in enumerate(towers()) if row[2] == CROSSING_TOWER_FT]
    points = [(x, y) for x, y, _ in towers()]
    shift = 24.0  # poles stand beside the road

    def along_row(row: int, columns: range) -> LineString:
        return LineString([np.add(crossing_m(column, row), (0.0, shift)) for column in columns])

    def along_column(column: int, rows: range) -> LineString:
        return LineString([np.add(crossing_m(column, row), (shift, 0.0)) for row in rows])

    return (
        ("Transmission line, south", "line", LineString(points[: tall[0] + 1]), MAIN_WIRE_FT),
        ("Transmission line, river crossing", "line", river_crossing(), CROSSING_WIRE_FT),
        ("Transmission line, north", "line", LineString(points[tall[1] :]), MAIN_WIRE_FT),
        (
            "Distribution wires, 8 Mile Road",
            "minor_line",
            along_row(-1, range(-6, 4)),
            POLE_WIRE_FT,
        ),
        ("Distribution wires, L Road", "minor_line", along_column(3, range(-2, 6)), POLE_WIRE_FT),
        ("Farm wires, 5 Mile Road", "minor_line", along_row(2, range(-4, -1)), None),
    )
