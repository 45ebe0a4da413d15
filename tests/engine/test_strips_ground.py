"""Slope, steepest and roughness of strips on ground whose answers are known."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from tests.engine.strip_scenes import EAST, FLAT, GRID, NORTH, SOUTH, WEST, measured, plane, things

FIELD = shapely.box(-300, -200, 300, 200)


@pytest.mark.parametrize(("east", "north"), [(0.02, 0.0), (-0.03, 0.01), (0.0, 0.0), (0.05, 0.05)])
def test_on_a_plane(east: float, north: float) -> None:
    lowest, highest = plane(east, north)
    strips = measured(FIELD, lowest=lowest, highest=highest)
    bearing = np.radians(np.arange(36) * 10.0)
    known = east * np.sin(bearing) + north * np.cos(bearing)
    np.testing.assert_allclose(strips.slope, known, atol=1e-9)
    np.testing.assert_allclose(strips.steepest, np.abs(known), atol=1e-9)
    np.testing.assert_allclose(strips.roughness_m, 0.0, atol=1e-6)


def test_uphill_one_way_is_downhill_the_other() -> None:
    lowest, highest = plane(0.03, 0.0)
    strips = measured(FIELD, lowest=lowest, highest=highest)
    assert strips.slope[EAST] == pytest.approx(0.03)
    assert strips.slope[WEST] == pytest.approx(-0.03)
    assert strips.slope[NORTH] == pytest.approx(0.0, abs=1e-12)


def test_a_step_is_steep_and_rough() -> None:
    """2 m up at x = 0, told by cells 25 m wide over stretches of two: 2 m in 50 m."""
    x, _ = np.meshgrid(GRID.centre_x_m(), GRID.centre_y_m())
    ground = FLAT + np.where(x > 0.0, 2.0, 0.0)
    strips = measured(FIELD, lowest=ground)
    assert strips.steepest[EAST] == pytest.approx(2.0 / 50.0, rel=1e-6)
    # A step of height h about its own line through length L: variance h^2 / 16, slope 1.5 h / L.
    assert strips.slope[EAST] == pytest.approx(1.5 * 2.0 / 600.0, rel=0.05)
    assert strips.roughness_m[EAST] == pytest.approx(0.5, rel=0.05)
    assert strips.roughness_m[SOUTH] < 0.5


def test_what_cells_vary_by_is_roughness() -> None:
    """Flat on average, but each cell holds ground 1 m either way of it."""
    strips = measured(FIELD, lowest=FLAT - 1.0, highest=FLAT + 1.0)
    np.testing.assert_allclose(strips.roughness_m, 1.0)
    np.testing.assert_allclose(strips.slope, 0.0, atol=1e-12)


def test_one_unknown_cell_is_not_passed_over() -> None:
    ground = FLAT.copy()
    ground[GRID.cell_of(0.0, 0.0)] = np.nan
    strips = measured(shapely.box(-300, -20, 300, 20), lowest=ground, width_m=40.0)
    assert np.isnan(strips.slope[EAST])
    assert np.isnan(strips.steepest[EAST])
    assert np.isnan(strips.roughness_m[EAST])
    assert strips.length_m[EAST] == pytest.approx(600.0)  # the shape is known all the same


def test_off_the_grid_the_ground_is_unknown() -> None:
    far = shapely.box(1700, -50, 2300, 50)
    assert np.isnan(measured(far).slope[EAST])
    further = shapely.box(5000, 0, 5600, 100)
    assert np.isnan(measured(further).slope).all()
    assert measured(further).length_m[EAST] == pytest.approx(600.0)


def test_only_the_usable_part_is_looked_at() -> None:
    """A bank under the lost part does not count: nobody rolls there."""
    x, _ = np.meshgrid(GRID.centre_x_m(), GRID.centre_y_m())
    ground = FLAT - np.where(x < -200.0, 5.0, 0.0)
    wall = shapely.LineString([(-300, -300), (-300, 300)])
    free = measured(FIELD, lowest=ground)
    behind = measured(FIELD, things((wall, 30.0)), lowest=ground)
    assert free.steepest[EAST] > 0.05
    assert behind.lost_before_m[EAST] > 200.0
    assert behind.steepest[EAST] == pytest.approx(0.0, abs=1e-9)
