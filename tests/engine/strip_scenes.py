"""What the tests of strips share: a flat grid, a tilted one, and a shorter call."""

from __future__ import annotations

import numpy as np

from areaplan.engine.features import FeatureSet
from areaplan.engine.strips import measure_strips
from areaplan.grid import Grid

GRID = Grid(-2000.0, 2000.0, 25.0, 160, 160)
FLAT_M = 100.0
FLAT = GRID.full(FLAT_M)
NOTHING = FeatureSet.from_geometries([], np.empty(0), np.empty(0))
EAST, WEST, NORTH, SOUTH = 9, 27, 0, 18


def things(*rows):
    """Features from (geometry, height above the flat ground, spread) rows."""
    return FeatureSet.from_geometries(
        [row[0] for row in rows],
        np.array([FLAT_M + row[1] for row in rows]),
        np.array([row[2] if len(row) > 2 else 0.0 for row in rows], dtype=np.float64),
    )


def measured(
    polygon, obstructions=NOTHING, keep_m=0.0, *, width_m=30.0, slope=0.1, lowest=FLAT, highest=None
):
    return measure_strips(
        polygon,
        width_m=width_m,
        approach_slope=slope,
        obstructions=obstructions,
        keep_clear_m=keep_m,
        lowest_amsl_m=lowest,
        highest_amsl_m=lowest if highest is None else highest,
        grid=GRID,
    )


def plane(east, north, base_m=FLAT_M):
    """Lowest and highest ground of the cells of a plane, slopes rise over run."""
    x, y = np.meshgrid(GRID.centre_x_m(), GRID.centre_y_m())
    middle = base_m + east * x + north * y
    half = 0.5 * GRID.cell_m * (abs(east) + abs(north))
    return middle - half, middle + half
