"""Glides flown point by point from what the sector surfaces promise."""

import math

import numpy as np
import pytest

from areaplan.engine.glide import sector_surfaces
from areaplan.engine.moves import SECTORS, move_losses
from tests.oracles.flyer import Flyer

CELL_M = 25.0


def _country(seed, shape):
    """Hills, a mast here and there, unknown cells, and three fields."""
    rng = np.random.default_rng(seed)
    rows, cols = np.indices(shape)
    ground = np.zeros(shape)
    for _ in range(8):
        r, c = rng.uniform(0, shape[0]), rng.uniform(0, shape[1])
        ground += rng.uniform(20, 150) * np.exp(
            -((rows - r) ** 2 + (cols - c) ** 2) / (2.0 * rng.uniform(3.0, 12.0) ** 2)
        )
    ground += 90.0 * (rng.random(shape) < 0.01)
    ground[rng.random(shape) < 0.003] = np.nan
    surface = (ground + 30.0).astype(np.float32)
    arrival = np.full(shape, np.inf, np.float32)
    for _ in range(3):
        r, c = rng.integers(2, shape[0] - 6), rng.integers(2, shape[1] - 6)
        arrival[r : r + 4, c : c + 4] = np.nanmax(surface[r : r + 4, c : c + 4]) + 60.0
    return surface, arrival


@pytest.mark.parametrize(
    ("seed", "wind"), [(1, (0.0, 0.0)), (2, (7.2, 210.0)), (3, (15.0, 75.0)), (4, (25.0, 310.0))]
)
def test_every_promise_can_be_flown(seed, wind):
    """From random points of random cells, at the very altitude asked for and not an inch more.

    The ground under each point of the way is looked up in the cell that holds the point.
    """
    surface, arrival = _country(seed, (70, 60))
    tas, ratio = 33.4, 8.0
    losses = move_losses(tas, ratio, *wind)
    required = sector_surfaces(surface, arrival, CELL_M, losses).required_amsl_m
    flyer = Flyer(
        surface, arrival, CELL_M,
        tas=tas, ratio=ratio, bank=30.0, seconds=4.0, manoeuvre=40.0, wind=wind,
    )  # fmt: skip
    rng = np.random.default_rng(seed)
    flown = 0
    while flown < 300:
        sector, r, c = rng.integers(SECTORS), rng.integers(70), rng.integers(60)
        if not math.isfinite(required[sector, r, c]):
            continue
        within = rng.uniform(0.0, CELL_M, 2)
        place = np.array([c * CELL_M + within[0], -r * CELL_M - within[1]])
        height = float(required[sector, r, c])
        assert flyer.glides(place, height, sector, required), (sector, r, c)
        flown += 1


def test_a_metre_less_does_not_do_on_flat_ground():
    """The flyer can fail: with a metre less than the straight glide needs it never arrives."""
    surface = np.zeros((50, 50), np.float32)
    arrival = np.full((50, 50), np.inf, np.float32)
    arrival[25, 25] = 60.0
    losses = move_losses(33.4, 8.0, 5.0, 40.0)
    required = sector_surfaces(surface, arrival, CELL_M, losses).required_amsl_m
    flyer = Flyer(
        surface, arrival, CELL_M,
        tas=33.4, ratio=8.0, bank=30.0, seconds=4.0, manoeuvre=40.0, wind=(5.0, 40.0),
    )  # fmt: skip
    place = np.array([25.5 * CELL_M, -45.5 * CELL_M])
    height = float(required[0, 45, 25])
    assert flyer.glides(place, height, 0, required)
    assert not flyer.glides(place, height - 1.0, 0, required)
    wall = surface.copy()
    wall[30, :] = 500.0
    walled = Flyer(
        wall, arrival, CELL_M,
        tas=33.4, ratio=8.0, bank=30.0, seconds=4.0, manoeuvre=40.0, wind=(5.0, 40.0),
    )  # fmt: skip
    assert not walled.glides(place, height, 0, required)
