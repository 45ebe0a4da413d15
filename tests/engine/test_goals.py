"""Goals of single sectors: each for its own sector only; in parts as in the whole."""

from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from areaplan.engine.glide import sector_surfaces
from areaplan.engine.goals import Goals
from areaplan.engine.moves import SECTORS, move_losses
from areaplan.engine.tiles import tiled_sector_surfaces

CELL_M = 40.0
LOSSES = move_losses((33.0, 36.0), 8.0, 7.0, 210.0)

SCENES = {"rows": st.integers(1, 60), "cols": st.integers(1, 60), "seed": st.integers(0, 10_000)}


def country(rows, cols, seed):
    """Rough ground with holes in what is known, and some goals, several of them in one cell."""
    rng = np.random.default_rng(seed)
    surface = rng.uniform(100.0, 140.0, (rows, cols)).astype(np.float32)
    surface[rng.random((rows, cols)) < 0.01] = np.nan
    count = int(rng.integers(1, 60))
    row, col = rng.integers(0, rows, count), rng.integers(0, cols, count)
    row[: count // 4], col[: count // 4] = row[0], col[0]
    amsl_m = rng.uniform(150.0, 300.0, count).astype(np.float32)
    label = rng.integers(0, 9, count).astype(np.int16)
    return surface, Goals(row, col, rng.integers(0, SECTORS, count), amsl_m, label)


def as_arrays(goals, shape, sector):
    """Arrival altitudes and labels of one sector, laid down from the highest to the lowest."""
    arrival, label = np.full(shape, np.inf, np.float32), np.full(shape, -1, np.int16)
    for i in sorted(np.flatnonzero(goals.sector == sector), key=lambda i: -goals.amsl_m[i]):
        arrival[goals.row[i], goals.col[i]] = goals.amsl_m[i]
        label[goals.row[i], goals.col[i]] = goals.label[i]
    return arrival, label


@given(**SCENES)
@settings(max_examples=40, deadline=None)
def test_each_sector_has_its_own_goals(rows, cols, seed):
    surface, goals = country(rows, cols, seed)
    nowhere = np.full(surface.shape, np.inf, np.float32)
    nobody = np.full(surface.shape, -1, np.int16)
    found = sector_surfaces(surface, nowhere, CELL_M, LOSSES, nobody, goals=goals)
    for sector in range(SECTORS):
        arrival, label = as_arrays(goals, surface.shape, sector)
        alone = sector_surfaces(surface, arrival, CELL_M, LOSSES, label)
        for name in ("required_amsl_m", "ahead_amsl_m", "field"):
            np.testing.assert_array_equal(
                getattr(found, name)[sector], getattr(alone, name)[sector]
            )


@given(**SCENES, band=st.integers(1, 70))
@settings(max_examples=25, deadline=None)
def test_bands_are_the_whole(rows, cols, seed, band):
    surface, goals = country(rows, cols, seed)
    nowhere = np.full(surface.shape, np.inf, np.float32)
    nobody = np.full(surface.shape, -1, np.int16)
    whole = sector_surfaces(surface, nowhere, CELL_M, LOSSES, nobody, goals=goals)
    with TemporaryDirectory() as folder:
        parts = tiled_sector_surfaces(
            surface, nowhere, CELL_M, LOSSES, Path(folder), nobody, goals=goals, band_rows=band
        )
        for name in ("required_amsl_m", "ahead_amsl_m", "field"):
            np.testing.assert_array_equal(getattr(parts, name), getattr(whole, name))


@given(**SCENES)
@settings(max_examples=25, deadline=None)
def test_more_goals_never_ask_for_more(rows, cols, seed):
    surface, goals = country(rows, cols, seed)
    some = np.arange(goals.row.size) % 2 == 0
    fewer = Goals(
        goals.row[some], goals.col[some], goals.sector[some], goals.amsl_m[some], goals.label[some]
    )
    nowhere = np.full(surface.shape, np.inf, np.float32)
    with_all = sector_surfaces(surface, nowhere, CELL_M, LOSSES, goals=goals).required_amsl_m
    with_some = sector_surfaces(surface, nowhere, CELL_M, LOSSES, goals=fewer).required_amsl_m
    known = ~np.isnan(surface)
    assert np.all(with_all[:, known] <= with_some[:, known])


def test_refused():
    flat = np.zeros((4, 5), np.float32)
    one = np.zeros(1, np.int64)
    amsl, label = np.zeros(1, np.float32), np.zeros(1, np.int16)
    with pytest.raises(ValueError, match="goals in column 5"):
        sector_surfaces(flat, flat, CELL_M, LOSSES, goals=Goals(one, one + 5, one, amsl, label))
    with pytest.raises(ValueError, match="goals in row -1"):
        sector_surfaces(flat, flat, CELL_M, LOSSES, goals=Goals(one - 1, one, one, amsl, label))
    with pytest.raises(ValueError, match="sectors up to 12"):
        Goals(one, one, one + 12, amsl, label)
    with pytest.raises(ValueError, match="shapes"):
        Goals(one, one, np.zeros(2, np.int64), amsl, label)
