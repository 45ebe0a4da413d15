"""The sector surfaces where the exact answer is known, and what physics asks of them anywhere."""

import math
from itertools import pairwise

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from areaplan.engine.flight import loss_per_metre
from areaplan.engine.glide import sector_surfaces
from areaplan.engine.moves import MOVES, SECTORS, MoveLosses, move_losses

MILLIMETRE_M = 0.001
CELL_M = 25.0
RATIO = 7.2
TAS_MPS = 33.4  # 65 kt
# As a share of the altitude lost by the straight glide. The widest gap between moves (14.04
# degrees) gives 0.76 % in still air, and rounding up adds at most a step a move.
MOST_PESSIMISTIC = 0.016


def _country(shape, seed, samples=1):
    """Rolling ground with a few hills, metres, as a surface to clear; so many samples to a cell."""
    rng = np.random.default_rng(seed)
    rows, cols = np.indices([count * samples for count in shape]) / samples
    ground = np.zeros(rows.shape)
    for _ in range(12):
        r, c = rng.uniform(0, shape[0]), rng.uniform(0, shape[1])
        width, height = rng.uniform(4.0, 20.0), rng.uniform(10.0, 160.0)
        ground += height * np.exp(-((rows - r) ** 2 + (cols - c) ** 2) / (2.0 * width**2))
    return (ground + 30.0).astype(np.float32)


def _fields(shape, places, altitude_m=120.0, size=3):
    arrival = np.full(shape, np.inf, np.float32)
    for r, c in places:
        arrival[r : r + size, c : c + size] = altitude_m
    return arrival


def _straight(shape, place, sector, wind, half_width_deg):
    """Altitude above arrival of the straight glide to a one-cell field; inf outside the cone."""
    rows, cols = np.indices(shape)
    north, east = rows - place[0], place[1] - cols
    distance = np.hypot(north, east) * CELL_M
    bearing = np.degrees(np.arctan2(east, north))
    off = np.abs((bearing - 30.0 * sector + 180.0) % 360.0 - 180.0)
    height = distance * loss_per_metre(bearing, TAS_MPS, RATIO, *wind)
    return np.where((off <= half_width_deg) | (distance == 0.0), height, np.inf)


@pytest.mark.parametrize("wind_mps", [0.0, 3.0, 7.2, 12.0, 20.0])
@pytest.mark.parametrize("wind_from", [0.0, 37.0, 210.0])
def test_flat_ground_against_the_straight_glide(wind_mps, wind_from):
    """Closed form, distance times loss along the bearing: never below it, at most 1.6 % above.

    Over flat ground in a steady wind no way round is shorter than the straight one.
    """
    shape, place = (121, 121), (60, 60)
    flat = np.zeros(shape, np.float32)
    losses = move_losses(TAS_MPS, RATIO, wind_mps, wind_from)
    found = sector_surfaces(flat, _fields(shape, [place], 0.0, size=1), CELL_M, losses)
    for sector in range(SECTORS):
        required = found.required_amsl_m[sector]
        exact = _straight(shape, place, sector, (wind_mps, wind_from), 33.0)
        assert np.all(required >= exact)
        sure = np.isfinite(_straight(shape, place, sector, (wind_mps, wind_from), 15.0))
        sure &= exact > 0.0
        assert np.all(np.isfinite(required[sure]))
        assert (required[sure] / exact[sure]).max() <= 1.0 + MOST_PESSIMISTIC


@pytest.mark.parametrize("seed", range(4))
def test_hills_against_straight_corridors(seed):
    """Never below flat ground's answer; never above a straight glide down a cleared corridor.

    The corridor is all ground within six cells of the straight line, as high as its highest.
    """
    shape, place = (61, 61), (30, 30)
    surface = _country(shape, seed)
    surface[place] = 0.0
    wind = (7.2, 210.0)
    losses = move_losses(TAS_MPS, RATIO, *wind)
    found = sector_surfaces(surface, _fields(shape, [place], 100.0, size=1), CELL_M, losses)
    rng = np.random.default_rng(seed)
    cells = shapely.points(*np.indices(shape))
    compared = 0
    for _ in range(400):
        r, c = rng.integers(0, shape[0], 2)
        for sector in range(SECTORS):
            required = found.required_amsl_m[sector, r, c]
            wide = _straight(shape, place, sector, wind, 33.0)[r, c]
            assert required >= min(wide, 1e9) + 100.0 or required == math.inf
            height = _straight(shape, place, sector, wind, 15.0)[r, c]
            if not math.isfinite(height):
                continue
            line = shapely.LineString([(r, c), place])
            top = surface[shapely.dwithin(cells, line, 6.0)].max()
            longest = 4.0 * math.sqrt(2.0) * CELL_M * losses.per_metre.max()
            bound = max(100.0 + height, top + height) * 1.016 + longest
            assert required <= bound
            compared += 1
    assert compared > 300


def test_arrival_below_the_surface():
    """A field's cell asks for its surface where that is higher than the arrival altitude."""
    surface = np.full((5, 5), 50.0, np.float32)
    surface[2, 2] = 80.0
    losses = move_losses(TAS_MPS, RATIO, 0.0, 0.0)
    found = sector_surfaces(surface, _fields((5, 5), [(2, 2)], 60.0, size=1), CELL_M, losses)
    assert np.all(found.required_amsl_m[:, 2, 2] == 80.0)


def test_no_field_at_all():
    losses = move_losses(TAS_MPS, RATIO, 5.0, 0.0)
    flat = np.zeros((8, 8), np.float32)
    found = sector_surfaces(flat, np.full((8, 8), np.nan, np.float32), CELL_M, losses)
    assert np.all(found.required_amsl_m == np.inf)


def test_no_headway_in_a_gale():
    """With 40 m/s of wind from the north nothing is reached northward, and all southward is."""
    shape, place = (31, 31), (15, 15)
    losses = move_losses(TAS_MPS, RATIO, 40.0, 0.0)
    assert not np.isfinite([
        loss for move, loss in zip(MOVES, losses.per_metre, strict=True) if move.row_step < 0
    ]).any()  # fmt: skip
    found = sector_surfaces(
        np.zeros(shape, np.float32), _fields(shape, [place], 0.0, size=1), CELL_M, losses
    )
    south_of_it = found.required_amsl_m[0, 16:, :]
    assert np.all(south_of_it == np.inf)
    assert np.isfinite(found.required_amsl_m[6, 14, 15])


def test_too_high_is_unreachable():
    shape = (5, 40)
    losses = MoveLosses(np.full(len(MOVES), 10.0))
    arrival = _fields(shape, [(2, 0)], 0.0, size=1)
    found = sector_surfaces(np.zeros(shape, np.float32), arrival, CELL_M, losses)
    row = found.required_amsl_m[9, 2]
    np.testing.assert_array_equal(row[:33], 250.0 * np.arange(33))
    assert np.all(row[33:] == np.inf)  # 8,250 m and more


@given(st.integers(0, 1000), st.sampled_from([0.0, 7.2, 15.0]), st.floats(0.0, 359.0))
@settings(deadline=None, max_examples=25)
def test_what_can_only_help_and_what_can_only_hurt(seed, wind_mps, wind_from):
    """Higher ground never lowers an answer; another field, or a lower arrival, never raises one."""
    shape = (40, 36)
    rng = np.random.default_rng(seed)
    surface = _country(shape, seed)
    arrival = _fields(shape, rng.integers(0, 33, (2, 2)))
    losses = move_losses(TAS_MPS, RATIO, wind_mps, wind_from)
    before = sector_surfaces(surface, arrival, CELL_M, losses).required_amsl_m
    higher = surface + rng.uniform(0.0, 80.0, shape) * (rng.random(shape) < 0.1)
    after = sector_surfaces(higher.astype(np.float32), arrival, CELL_M, losses).required_amsl_m
    assert np.all(after >= before)
    less_known = np.where(rng.random(shape) < 0.05, np.float32(np.nan), surface)
    after = sector_surfaces(less_known, arrival, CELL_M, losses).required_amsl_m
    assert np.all((after >= before) | np.isnan(less_known))
    more = np.minimum(arrival, _fields(shape, rng.integers(0, 33, (1, 2))))
    after = sector_surfaces(surface, more, CELL_M, losses).required_amsl_m
    assert np.all(after <= before)
    assert np.all(before >= surface)


@given(st.integers(0, 1000), st.floats(0.0, 15.0), st.floats(0.0, 359.0))
@settings(deadline=None, max_examples=20)
def test_turning_everything_turns_the_answer(seed, wind_mps, wind_from):
    """By 90 and 180 degrees, and in a mirror; the sectors change places with it."""
    shape = (30, 37)
    rng = np.random.default_rng(seed)
    surface, arrival = _country(shape, seed), _fields(shape, rng.integers(0, 27, (3, 2)))
    surface[rng.random(shape) < 0.01] = np.nan
    speeds = (TAS_MPS, RATIO, wind_mps)
    losses = move_losses(*speeds, wind_from)
    before = sector_surfaces(surface, arrival, CELL_M, losses).required_amsl_m
    for quarters in (1, 2, 3):  # numpy turns against the clock
        after = sector_surfaces(
            np.rot90(surface, quarters),
            np.rot90(arrival, quarters),
            CELL_M,
            move_losses(*speeds, wind_from - 90.0 * quarters),
        ).required_amsl_m
        for sector in range(SECTORS):
            expected = np.rot90(before[sector], quarters)
            found = after[(sector - 3 * quarters) % SECTORS]
            np.testing.assert_allclose(found, expected, rtol=0.0, atol=50 * MILLIMETRE_M)
    mirrored = sector_surfaces(
        surface[:, ::-1], arrival[:, ::-1], CELL_M, move_losses(*speeds, -wind_from)
    ).required_amsl_m
    for sector in range(SECTORS):
        np.testing.assert_allclose(
            mirrored[-sector % SECTORS], before[sector][:, ::-1], rtol=0.0, atol=50 * MILLIMETRE_M
        )


def test_more_wind_from_ahead_never_helps_the_sector_ahead():
    shape = (50, 50)
    surface, arrival = _country(shape, 5), _fields(shape, [(10, 20), (40, 35)])
    for sector in range(SECTORS):
        last = np.full(shape, -np.inf)
        for wind_mps in (0.0, 4.0, 8.0, 16.0, 24.0):
            losses = move_losses(TAS_MPS, RATIO, wind_mps, 30.0 * sector)
            found = sector_surfaces(surface, arrival, CELL_M, losses).required_amsl_m[sector]
            assert np.all(found >= last)
            last = found


def test_finer_cells_converge():
    """Halving the cells halves what the answer still moves by, over the same smooth hills."""
    answers = []
    for cells in (1, 2, 4):  # to a side of 50 m
        fine = _country((61, 61), 3, samples=8)
        size = 8 // cells
        tops = fine.reshape(61 * cells, size, 61 * cells, size).max(axis=(1, 3))
        arrival = np.full(tops.shape, np.inf, np.float32)
        arrival[30 * cells : 33 * cells, 30 * cells : 33 * cells] = 120.0
        losses = move_losses(TAS_MPS, RATIO, 7.2, 210.0)
        required = sector_surfaces(tops, arrival, 50.0 / cells, losses).required_amsl_m
        best = required.min(axis=0)  # of the sectors, whose edges move with the cells
        answers.append(best.reshape(61, cells, 61, cells).max(axis=(1, 3)))
    assert np.all(np.isfinite(answers))
    moved = [np.abs(finer - coarser).mean() for coarser, finer in pairwise(answers)]
    assert moved[1] < 0.7 * moved[0]
