"""Invented limits of wind for the plan of the fixture, with every kind of cell in them."""

from functools import lru_cache

import numpy as np
from attrs import evolve

from areaplan.engine.tiles import Window, window_round
from areaplan.planning.limits_by_wind import (
    NOT_IN_CALM,
    OUTSIDE,
    UNKNOWN_IN_CALM,
    DirectionLimit,
    WindLimits,
)
from areaplan.planning.plan import Verdict
from areaplan.units import KNOT_MPS, Wind
from tests.render.plan_fixture import plan

# One cell, in which only calm holds.
CALM_ONLY = WindLimits(
    altitude_amsl_ft=2100,
    own_wind=Wind(210.0, 14 * KNOT_MPS),
    verdict=Verdict.NOT_MET,
    step_kt=2,
    highest_kt=40,
    directions=tuple(DirectionLimit(22.5 * number, 0, 2) for number in range(16)),
    window=Window(0, 1, 0, 1),
    cell_limit_kt=np.zeros((16, 1, 1), np.int8),
    year=None,
)


@lru_cache(maxsize=2)
def limits_of(cell_m=50.0):
    """Limits for `plan(cell_m)`: waves by direction, 0 to 40 kt, a patch each without any."""
    made = plan(cell_m)
    is_in_area, grid = made.cells.is_in_area, made.grid
    window = window_round(is_in_area)
    x_m = grid.centre_x_m()[np.newaxis, window.slices[1]]
    y_m = grid.centre_y_m()[window.slices[0], np.newaxis]
    turn = np.radians(22.5 * np.arange(16))[:, np.newaxis, np.newaxis]
    ramp = 24.0 + 0.006 * (x_m + y_m)
    waves = ramp + 12.0 * np.sin((x_m * np.sin(turn) + y_m * np.cos(turn)) / 1500.0 + turn)
    limit_kt = np.clip(2 * np.round(waves / 2), 0, 40)
    limit_kt[:, np.hypot(x_m - 1500.0, y_m) < 900.0] = NOT_IN_CALM
    limit_kt[:, np.hypot(x_m + 1500.0, y_m) < 600.0] = UNKNOWN_IN_CALM
    limit_kt[:, ~is_in_area[window.slices]] = OUTSIDE
    return evolve(CALM_ONLY, window=window, cell_limit_kt=limit_kt.astype(np.int8))
