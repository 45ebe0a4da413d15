"""The raster frame: rows from the north, every place in one cell, nothing outside."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from areaplan.errors import OutsideDataError
from areaplan.grid import Grid

MICROMETRE_M = 1e-6
METRES = st.floats(-50000.0, 50000.0)
CELLS_M = st.sampled_from([1.0, 5.0, 12.5, 25.0, 30.0, 90.0, 0.1])


def test_rows_run_south_and_columns_east() -> None:
    grid = Grid(100.0, 500.0, 25.0, rows=4, cols=8)
    assert grid.shape == (4, 8)
    assert (grid.x_max_m, grid.y_min_m) == (300.0, 400.0)
    assert grid.centre_x_m().tolist() == [112.5 + 25.0 * col for col in range(8)]
    assert grid.centre_y_m().tolist() == [487.5, 462.5, 437.5, 412.5]
    assert grid.cell_of(100.0, 499.0) == (0, 0)
    assert grid.cell_of(299.0, 401.0) == (3, 7)


def test_a_cell_owns_its_west_and_north_edges() -> None:
    grid = Grid(0.0, 100.0, 25.0, rows=4, cols=4)
    assert grid.cell_of(25.0, 75.0) == (1, 1)
    assert grid.cell_of(0.0, 100.0) == (0, 0)
    for place in ((100.0, 50.0), (50.0, 0.0), (-0.001, 50.0), (50.0, 100.001)):
        with pytest.raises(OutsideDataError):
            grid.cell_of(*place)


@pytest.mark.parametrize(
    "place", [(math.nan, 1.0), (1.0, math.nan), (math.inf, 1.0), (1.0, -math.inf)]
)
def test_a_place_that_is_not_finite_is_outside(place: tuple[float, float]) -> None:
    with pytest.raises(OutsideDataError, match="outside the evaluated grid"):
        Grid(0.0, 100.0, 25.0, rows=4, cols=4).cell_of(*place)


@settings(deadline=None)
@given(x=METRES, y=METRES, width=st.floats(0.0, 4000.0), depth=st.floats(0.0, 4000.0), cell=CELLS_M)
def test_covering_covers_and_is_the_smallest(
    x: float, y: float, width: float, depth: float, cell: float
) -> None:
    grid = Grid.covering(x, y, x + width, y + depth, cell)
    assert grid.x_min_m <= x + MICROMETRE_M
    assert grid.y_max_m >= y + depth - MICROMETRE_M
    assert grid.x_max_m >= x + width - MICROMETRE_M
    assert grid.y_min_m <= y + MICROMETRE_M
    # Nothing to spare: each edge lies less than a cell beyond the box (a box on an edge gets one).
    assert grid.x_min_m > x - cell - MICROMETRE_M
    assert grid.y_max_m < y + depth + cell + MICROMETRE_M
    assert grid.x_max_m <= x + width + cell + MICROMETRE_M
    assert grid.y_min_m >= y - cell - MICROMETRE_M
    for edge_m in (grid.x_min_m, grid.y_max_m):
        assert math.isclose(edge_m / cell, round(edge_m / cell), abs_tol=1e-6)


@settings(deadline=None)
@given(row=st.integers(0, 39), col=st.integers(0, 29), x=METRES, y=METRES, cell=CELLS_M)
def test_the_centre_of_a_cell_lies_in_it(
    row: int, col: int, x: float, y: float, cell: float
) -> None:
    grid = Grid(x, y, cell, rows=40, cols=30)
    assert grid.cell_of(grid.centre_x_m()[col], grid.centre_y_m()[row]) == (row, col)


def test_covering_a_point_and_a_line() -> None:
    assert Grid.covering(10.0, 10.0, 10.0, 10.0, 25.0).shape == (1, 1)
    assert Grid.covering(0.0, 10.0, 100.0, 10.0, 25.0).shape == (1, 4)
    assert Grid.covering(-60.0, -60.0, -10.0, -10.0, 25.0) == Grid(-75.0, 0.0, 25.0, 3, 3)


@pytest.mark.parametrize(
    ("box", "cell"),
    [
        ((1.0, 0.0, 0.0, 1.0), 25.0),
        ((0.0, 1.0, 1.0, 0.0), 25.0),
        ((math.nan, 0.0, 1.0, 1.0), 25.0),
        ((0.0, 0.0, math.inf, 1.0), 25.0),
        ((0.0, -math.inf, 1.0, 1.0), 25.0),
        ((0.0, 0.0, 1.0, math.nan), 25.0),
        ((0.0, 0.0, 1.0, 1.0), 0.0),
        ((0.0, 0.0, 1.0, 1.0), -25.0),
        ((0.0, 0.0, 1.0, 1.0), math.nan),
        ((0.0, 0.0, 1.0, 1.0), math.inf),
    ],
)
def test_no_grid_over_a_box_that_is_none(box: tuple[float, ...], cell: float) -> None:
    with pytest.raises(ValueError, match=r"runs from|side of a cell"):
        Grid.covering(*box, cell)


@pytest.mark.parametrize(
    ("cell", "rows", "cols"), [(0.0, 1, 1), (-1.0, 1, 1), (1.0, 0, 1), (1.0, 1, 0)]
)
def test_an_impossible_grid_is_refused(cell: float, rows: int, cols: int) -> None:
    with pytest.raises(ValueError, match=r"must be >"):
        Grid(0.0, 0.0, cell, rows, cols)


def test_full_fills() -> None:
    grid = Grid(0.0, 0.0, 1.0, rows=2, cols=3)
    assert grid.full(np.nan).shape == (2, 3)
    assert np.isnan(grid.full(np.nan)).all()
    assert grid.full(-1, np.int16).dtype == np.int16
    assert (grid.full(-1, np.int16) == -1).all()


def test_a_grid_can_not_be_changed() -> None:
    with pytest.raises(AttributeError):
        Grid(0.0, 0.0, 1.0, 1, 1).rows = 5  # type: ignore[misc]
