"""A route cut at the edges of cells, against shapely's own cutting, and its bends."""

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from areaplan.grid import Grid
from areaplan.planning.route_course import EITHER_WAY_DEG, TURN_STEP_DEG, route_course
from areaplan.units import NAUTICAL_MILE_M
from tests.planning.builder import FRAME, lonlat

GRID = Grid(-1000.0, 800.0, 50.0, 32, 40)
ALTITUDE_M = 700.0


def _flown(*places):
    return route_course([tuple(lonlat(*place)) for place in places], ALTITUDE_M, GRID, FRAME)


def _cells(course):
    """Rows and columns, also beyond the grid, where they count on."""
    cols = np.floor((course.x_m - GRID.x_min_m) / GRID.cell_m).astype(int)
    rows = np.floor((GRID.y_max_m - course.y_m) / GRID.cell_m).astype(int)
    return list(zip(rows.tolist(), cols.tolist(), strict=True))


# Never on a line of the grid, where either cell may answer.
METRES = st.integers(-15_000, 15_000).map(lambda number: number / 10.0 + 0.037)
PLACE = st.tuples(METRES, METRES)


@given(PLACE, PLACE)
@settings(deadline=None, max_examples=80)
def test_every_cell_crossed_once_with_its_length(begin, end):
    if math.dist(begin, end) < 1.0:
        return
    flown = _flown(begin, end)
    cells = _cells(flown.course)
    assert len(set(cells)) == len(cells)
    line = shapely.LineString([begin, end])
    for (row, col), length_m in zip(cells, flown.length_m, strict=True):
        west, north = GRID.x_min_m + col * GRID.cell_m, GRID.y_max_m - row * GRID.cell_m
        square = shapely.box(west, north - GRID.cell_m, west + GRID.cell_m, north)
        assert line.intersection(square).length == pytest.approx(length_m, abs=1e-3)
    assert flown.total_m == pytest.approx(math.dist(begin, end), abs=1e-3)
    np.testing.assert_allclose(np.cumsum(flown.length_m)[:-1], flown.begin_m[1:], atol=1e-4)
    bearing = math.degrees(math.atan2(end[0] - begin[0], end[1] - begin[1]))
    off_deg = (flown.course.track_deg_true - bearing + 180.0) % 360.0 - 180.0
    assert np.abs(off_deg).max() < 0.1
    assert (flown.course.altitude_amsl_m == ALTITUDE_M).all()


def test_a_line_along_the_cells_and_a_point_within_one():
    flown = _flown((10.0, 10.0), (10.0, 310.0))
    assert [cell[0] for cell in _cells(flown.course)] == [15, 14, 13, 12, 11, 10, 9]
    assert len(_flown((1.0, 1.0), (9.0, 12.0)).course) == 1


@pytest.mark.parametrize(
    ("corner", "low", "high"),
    [((300.0, 300.0), 0.0, 90.0), ((-300.0, 300.0), -90.0, 0.0), ((20.0, 600.0), 0.0, 4.0)],
)
def test_a_bend_is_flown_through_all_its_tracks(corner, low, high):
    """North, then to the corner: the tracks between, the shorter way round."""
    flown = _flown((0.0, 0.0), (0.0, 300.0), corner)
    at_bend = flown.length_m == 0.0
    tracks = (flown.course.track_deg_true[at_bend] + 180.0) % 360.0 - 180.0
    assert tracks.min() == pytest.approx(low, abs=0.1)
    assert tracks.max() == pytest.approx(high, abs=0.2)
    assert np.abs(np.diff(tracks)).max() <= TURN_STEP_DEG + 1e-9
    np.testing.assert_allclose(flown.course.y_m[at_bend], 300.0, atol=1e-3)
    np.testing.assert_allclose(flown.begin_m[at_bend], 300.0, atol=1e-3)


def test_doubling_back_takes_every_track():
    flown = _flown((0.0, 0.0), (0.0, 300.0), (5.0, 0.0))
    tracks = np.sort(flown.course.track_deg_true[flown.length_m == 0.0])
    np.testing.assert_allclose(tracks, np.arange(0.0, 360.0, TURN_STEP_DEG))
    assert EITHER_WAY_DEG < 180.0 - 1.0


def test_length_is_that_of_the_globe():
    """A minute of latitude, from the ellipsoid's own figures (NGA.STND.0036, WGS 84, table 3.1)
    and the meridian's radius of curvature a (1 - e^2) / (1 - e^2 sin^2 lat)^1.5."""
    a_m, flattening = 6_378_137.0, 1.0 / 298.257223563
    e2 = flattening * (2.0 - flattening)
    middle = math.radians(10.0 + 0.5 / 60.0)
    radius_m = a_m * (1.0 - e2) / (1.0 - e2 * math.sin(middle) ** 2) ** 1.5
    flown = route_course([(20.0, 10.0), (20.0, 10.0 + 1.0 / 60.0)], 0.0, GRID, FRAME)
    assert flown.total_m == pytest.approx(radius_m * math.radians(1.0 / 60.0), abs=0.01)
    assert flown.total_m == pytest.approx(NAUTICAL_MILE_M, rel=1.0 / 180.0)
