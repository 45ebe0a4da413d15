"""Sector surfaces against exact ways in continuous geometry, over thousands of scenes.

`AREAPLAN_SCENES` in the environment takes another count of scenes than the one for every day.
"""

import math
import os
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from areaplan.engine.glide import sector_surfaces
from areaplan.engine.moves import move_losses
from tests.oracles.visibility import flight_time, is_clear, onto_box, times_to_fields

SCENES = int(os.environ.get("AREAPLAN_SCENES", "1500"))
SIDE = 16
TAS_MPS = 33.4
HIGH_M = 8000.0
STEP_M = 1.0 / 2048.0


def _glide(ratio, wind_mps, wind_from):
    """Horizontal airspeed, sink, and where the wind blows to."""
    slope, source = math.atan(1.0 / ratio), math.radians(wind_from)
    wind = -wind_mps * np.array([math.sin(source), math.cos(source)])
    return TAS_MPS * math.cos(slope), TAS_MPS * math.sin(slope), wind


def _box(cells, cell_m):
    """Metres, y northward from the top edge, of (row, col, rows, cols)."""
    row, col, rows, cols = cells
    return (col * cell_m, -(row + rows) * cell_m, (col + cols) * cell_m, -row * cell_m)


blocks = st.tuples(
    st.integers(0, SIDE - 1), st.integers(0, SIDE - 1), st.integers(1, 9), st.integers(1, 9)
)
winds = st.tuples(st.floats(0.0, 25.0), st.floats(0.0, 359.9))
ratios = st.floats(4.0, 20.0)
sides_m = st.sampled_from([20.0, 50.0, 130.0])
everywhere = {
    "deadline": None,
    "max_examples": SCENES,
    "suppress_health_check": list(HealthCheck),
}


def _inside(block):
    row, col, rows, cols = block
    return row, col, min(rows, SIDE - row), min(cols, SIDE - col)


def _window(block):
    row, col, rows, cols = block
    return slice(row, row + rows), slice(col, col + cols)


def _overlap(one, other):
    (row, col, rows, cols), (row_b, col_b, rows_b, cols_b) = one, other
    return (
        row < row_b + rows_b and row_b < row + rows and col < col_b + cols_b and col_b < col + cols
    )


def _places(rng, count, cell_m):
    """Rows and columns of random cells, and a place in each: corners, edges and anywhere inside."""
    rows, cols = rng.integers(0, SIDE, count), rng.integers(0, SIDE, count)
    within = rng.random((count, 2))
    within = np.where(rng.random((count, 2)) < 0.4, np.round(within), within)
    return rows, cols, np.stack([cols + within[:, 0], -(rows + within[:, 1])], axis=1) * cell_m


@given(
    st.lists(blocks, max_size=5), st.lists(blocks, min_size=1, max_size=3), winds, ratios, sides_m,
    st.integers(0, 2**32 - 1),
)  # fmt: skip
@settings(**everywhere)
def test_never_below_the_exact_way_between_walls(walls, fields, wind, ratio, cell_m, seed):
    """No sector, at any point of a cell, asks for less than the best of all ways there are."""
    surface = np.zeros((SIDE, SIDE), np.float32)
    arrival = np.full((SIDE, SIDE), np.inf, np.float32)
    walls, fields = [_inside(wall) for wall in walls], [_inside(field) for field in fields]
    walls = [wall for wall in walls if not any(_overlap(wall, field) for field in fields)]
    rng = np.random.default_rng(seed)
    for wall in walls:  # ground that nobody knows is as good as a wall
        surface[_window(wall)] = np.nan if rng.random() < 0.3 else HIGH_M
    for field in fields:
        arrival[_window(field)] = 100.0
    losses = move_losses(TAS_MPS, ratio, *wind)
    required = sector_surfaces(surface, arrival, cell_m, losses, threads=1).required_amsl_m
    lowest = np.where(np.isnan(required), np.inf, required).min(axis=0)

    rows, cols, places = _places(rng, 24, cell_m)
    is_open = surface[rows, cols] == 0.0
    rows, cols, places = rows[is_open], cols[is_open], places[is_open]
    speed, sink, blowing = _glide(ratio, *wind)
    boxes = [_box(wall, cell_m) for wall in walls]
    times = times_to_fields(places, [_box(f, cell_m) for f in fields], boxes, speed, blowing)
    exact = 100.0 + sink * times
    found = lowest[rows, cols]
    # Over the top of a wall is no way that the oracle knows; nobody is that high.
    assert np.all(found >= np.minimum(exact, HIGH_M) - 1e-6)


@given(
    st.integers(3, SIDE - 4), st.integers(1, 3), st.floats(0.0, 900.0), st.floats(0.0, 300.0),
    winds, ratios, sides_m, st.integers(0, 2**32 - 1),
)  # fmt: skip
@settings(**everywhere)
def test_never_below_the_exact_way_over_a_ridge(
    row, thick, top_m, ground_m, wind, ratio, cell_m, seed
):
    """A ridge from edge to edge, of even height: exact in closed form.

    Whoever comes over it has to clear its top until its far side, whichever way he goes.
    """
    rng = np.random.default_rng(seed)
    thick = min(thick, SIDE - 1 - row)
    surface = np.full((SIDE, SIDE), ground_m, np.float32)
    surface[row : row + thick] = max(ground_m, top_m)
    arrival = np.full((SIDE, SIDE), np.inf, np.float32)
    arrival[0, rng.integers(0, SIDE) :] = 100.0
    first = int(np.flatnonzero(np.isfinite(arrival[0]))[0])
    losses = move_losses(TAS_MPS, ratio, *wind)
    required = sector_surfaces(surface, arrival, cell_m, losses, threads=1).required_amsl_m
    rows, cols, places = _places(rng, 24, cell_m)
    is_south = rows >= row + thick
    rows, cols, places = rows[is_south], cols[is_south], places[is_south]
    speed, sink, blowing = _glide(ratio, *wind)
    far_side = (-1e9, -row * cell_m, 1e9, 0.0)
    over = onto_box(places, far_side, speed, blowing)[1] if len(places) else np.empty(0)
    field = _box((0, first, 1, SIDE - first), cell_m)
    onto = onto_box(places, field, speed, blowing)[1] if len(places) else np.empty(0)
    exact = np.maximum(float(surface[row, 0]) + sink * over, 100.0 + sink * onto)
    exact = np.maximum(exact, ground_m)
    assert np.all(required[:, rows, cols] >= exact - 1e-3)


@given(winds, ratios)
@settings(deadline=None, max_examples=60)
def test_at_most_1_6_per_cent_more_in_distance(wind, ratio):
    """Open ground, one field of one cell: from like point to like point, in the best sector."""
    wind = (min(wind[0], 0.6 * TAS_MPS), wind[1])
    surface = np.zeros((41, 41), np.float32)
    arrival = np.full((41, 41), np.inf, np.float32)
    arrival[20, 20] = 0.0
    losses = move_losses(TAS_MPS, ratio, *wind)
    lowest = sector_surfaces(surface, arrival, 25.0, losses, threads=1).required_amsl_m.min(axis=0)
    rows, cols = np.indices(lowest.shape)
    way = np.stack([20 - cols, rows - 20], axis=-1) * 25.0
    speed, sink, blowing = _glide(ratio, *wind)
    exact = sink * flight_time(way, speed, blowing)
    # Each move's loss is rounded up to a step: at most as many as there are cells in between.
    steps = STEP_M * (np.maximum(np.abs(rows - 20), np.abs(cols - 20)) + 1)
    assert np.all(lowest >= exact - 1e-9)
    assert np.all(lowest - steps <= 1.016 * exact)


# ------------------------------------------------------------------ the oracle itself


def test_oracle_against_known_ways():
    calm = np.zeros(2)
    places = np.array([[0.0, 0.0]])
    field = (100.0, -10.0, 120.0, 10.0)
    assert times_to_fields(places, [field], [], 10.0, calm) == pytest.approx([10.0])
    wall = (40.0, -30.0, 60.0, 30.0)  # round the corners: 50 + 20 + 50 less the field's half width
    way = 50.0 + 20.0 + math.hypot(40.0, 20.0)
    assert times_to_fields(places, [field], [wall], 10.0, calm) == pytest.approx([way / 10.0])
    shut = [(-20, -20, -10, 20), (10, -20, 20, 20), (-20, -20, 20, -10), (-20, 10, 20, 20)]
    assert np.isinf(times_to_fields(places, [field], shut, 10.0, calm))
    ahead = times_to_fields(places, [field], [], 10.0, np.array([-5.0, 0.0]))
    assert ahead == pytest.approx([20.0])  # 5 m/s over the ground
    # A cross wind of 6 m/s: 8 m/s are left along the track to a point.
    point = (100.0, 0.0, 100.0, 0.0)
    across = times_to_fields(places, [point], [], 10.0, np.array([0.0, 6.0]))
    assert across == pytest.approx([12.5])
    along_side = is_clear(np.array([[0.0, 30.0]]), np.array([[100.0, 30.0]]), [wall])
    assert along_side.all()


def test_oracle_finds_the_nearest_place_of_a_box():
    rng = np.random.default_rng(1)
    box = (30.0, 40.0, 80.0, 60.0)
    for _ in range(50):
        places = rng.uniform(-100.0, 200.0, (1, 2))
        wind = rng.uniform(-6.0, 6.0, 2)
        _, found = onto_box(places, box, 10.0, wind)
        edge = np.linspace(0.0, 1.0, 4001)[:, np.newaxis]
        corners = np.array([(30.0, 40.0), (80.0, 40.0), (80.0, 60.0), (30.0, 60.0), (30.0, 40.0)])
        ring = np.concatenate([a + edge * (b - a) for a, b in pairwise(corners)])
        best = flight_time(ring - places, 10.0, wind).min()
        if 30.0 <= places[0, 0] <= 80.0 and 40.0 <= places[0, 1] <= 60.0:
            best = 0.0
        assert found[0] == pytest.approx(best, abs=1e-3)
        assert found[0] <= best + 1e-9
