"""Parts of a grid, put together, are the whole to the last bit."""

import math
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from areaplan.engine.glide import NO_FIELD, sector_surfaces
from areaplan.engine.moves import move_losses
from areaplan.engine.tiles import (
    Window,
    tiled_sector_surfaces,
    tiled_worst_heading,
    tiles,
    window_round,
    worst_heading_in,
)
from areaplan.engine.worst_heading import TurnModel, worst_heading

CELL_M = 40.0
TAS_MPS = (33.0, 36.0)
RATIO = 8.0


def country(rows, cols, seed, unknown):
    """Hills, walls, fields with their numbers, and unknown ground."""
    rng = np.random.default_rng(seed)
    y, x = np.mgrid[0:rows, 0:cols] * CELL_M
    surface = np.full((rows, cols), 100.0)
    for _ in range(4):
        angle, length = rng.uniform(0.0, math.tau), rng.uniform(300.0, 3000.0)
        surface += 0.01 * length * np.sin((math.cos(angle) * x + math.sin(angle) * y) / length)
    surface[rng.integers(0, rows), :] += 60.0
    surface[:, rng.integers(0, cols)] += 60.0
    arrival = np.full((rows, cols), np.inf, np.float32)
    number = np.full((rows, cols), NO_FIELD, np.int16)
    for index in range(3):
        r, c = rng.integers(0, rows), rng.integers(0, cols)
        part = np.s_[r : r + 4, c : c + 4]
        arrival[part], number[part] = surface[part].max() + 90.0, index
    if unknown:
        r, c = rng.integers(0, rows), rng.integers(0, cols)
        surface[r : r + 3, c : c + 7] = np.nan
    return surface.astype(np.float32), arrival, number


SCENES = {
    "rows": st.integers(1, 90),
    "cols": st.integers(1, 90),
    "seed": st.integers(0, 10_000),
    "unknown": st.booleans(),
    "wind_mps": st.sampled_from([0.0, 7.0, 14.0, 40.0]),
    "wind_from": st.floats(0.0, 359.0),
}


@settings(max_examples=40, deadline=None)
@given(**SCENES, band=st.integers(1, 100), is_labelled=st.booleans())
def test_bands_are_the_whole(rows, cols, seed, unknown, wind_mps, wind_from, band, is_labelled):
    surface, arrival, number = country(rows, cols, seed, unknown)
    losses = move_losses(TAS_MPS, RATIO, wind_mps, wind_from)
    index = number if is_labelled else None
    whole = sector_surfaces(surface, arrival, CELL_M, losses, index)
    with TemporaryDirectory() as folder:
        parts = tiled_sector_surfaces(
            surface, arrival, CELL_M, losses, Path(folder), index, band_rows=band
        )
        np.testing.assert_array_equal(parts.required_amsl_m, whole.required_amsl_m)
        np.testing.assert_array_equal(parts.ahead_amsl_m, whole.ahead_amsl_m)
        if is_labelled:
            np.testing.assert_array_equal(parts.field, whole.field)
        else:
            assert parts.field is None


@settings(max_examples=25, deadline=None)
@given(**SCENES, side=st.integers(5, 100))
def test_tiles_are_the_whole(rows, cols, seed, unknown, wind_mps, wind_from, side):
    surface, arrival, _ = country(rows, cols, seed, unknown)
    model = TurnModel(40.0, TAS_MPS, RATIO, 2.0, TAS_MPS, wind_mps, wind_from)
    surfaces = sector_surfaces(
        surface, arrival, CELL_M, move_losses(TAS_MPS, RATIO, wind_mps, wind_from)
    )
    whole = worst_heading(surfaces, surface, CELL_M, model)
    with TemporaryDirectory() as folder:
        path = Path(folder) / "worst.f32"
        parts = tiled_worst_heading(surfaces, surface, CELL_M, model, path, side=side)
        np.testing.assert_array_equal(parts, whole)


def test_a_window_in_blocks_of_several_cells_is_the_whole():
    """Cells of 15 m are judged in blocks of four: the halo must begin on a block's edge."""
    surface, arrival, _ = country(230, 250, 5, unknown=True)
    model = TurnModel(45.0, 30.0, RATIO, 1.0, 30.0, 5.0, 70.0)
    surfaces = sector_surfaces(surface, arrival, 15.0, move_losses(30.0, RATIO, 5.0, 70.0))
    whole = worst_heading(surfaces, surface, 15.0, model)
    assert np.isfinite(whole).any()
    for window in (Window(101, 130, 77, 79), Window(0, 1, 249, 250), Window(3, 229, 5, 250)):
        part = worst_heading_in(window, surfaces, surface, 15.0, model)
        np.testing.assert_array_equal(part, whole[window.slices])


@pytest.mark.parametrize("side", [1, 7, 30])
def test_tiles_cover_every_cell_once(side):
    count = np.zeros((23, 17), int)
    for window in tiles(count.shape, side):
        count[window.slices] += 1
        assert max(window.shape) <= side
    assert (count == 1).all()


def test_window_round_is_tight():
    wanted = np.zeros((9, 12), bool)
    wanted[2, 3] = wanted[6, 10] = True
    assert window_round(wanted) == Window(2, 7, 3, 11)
    with pytest.raises(ValueError, match="no cell"):
        window_round(np.zeros((2, 2), bool))
    with pytest.raises(ValueError, match="tiles of 0"):
        list(tiles((2, 2), 0))


def test_bad_arguments_are_refused(tmp_path):
    flat, losses = np.zeros((4, 4), np.float32), move_losses(30.0, RATIO, 0.0, 0.0)
    with pytest.raises(ValueError, match="shapes"):
        tiled_sector_surfaces(flat, flat[:2], CELL_M, losses, tmp_path)
    with pytest.raises(ValueError, match="bands of 0"):
        tiled_sector_surfaces(flat, flat, CELL_M, losses, tmp_path, band_rows=0)
