"""Failures flown from the worst-heading altitude: reaction, turn and glide, point by point."""

import math

import numpy as np
import pytest

from areaplan.engine.glide import sector_surfaces
from areaplan.engine.moves import move_losses
from areaplan.engine.ways import STRETCHES_CIRCLES
from areaplan.engine.worst_heading import TurnModel, worst_heading
from tests.oracles.flyer import Flyer

SHAPE = (150, 150)
TAS_MPS = 33.4


def _country(seed):
    """Hills, masts, a few unknown cells, five fields."""
    rng = np.random.default_rng(seed)
    rows, cols = np.indices(SHAPE)
    ground = np.zeros(SHAPE)
    for _ in range(14):
        r, c = rng.uniform(0, SHAPE[0], 2)
        ground += rng.uniform(20.0, 200.0) * np.exp(
            -((rows - r) ** 2 + (cols - c) ** 2) / (2.0 * rng.uniform(5.0, 20.0) ** 2)
        )
    ground += 120.0 * (rng.random(SHAPE) < 0.002)
    ground[rng.random(SHAPE) < 0.0002] = np.nan
    surface = (ground + 30.0).astype(np.float32)
    arrival = np.full(SHAPE, np.inf, np.float32)
    for _ in range(5):
        r, c = rng.integers(30, SHAPE[0] - 30, 2)
        arrival[r : r + 8, c : c + 12] = np.nanmax(surface[r : r + 8, c : c + 12]) + 60.0
    return surface, arrival


@pytest.mark.parametrize(
    ("seed", "cell_m", "ratio", "bank_deg", "manoeuvre_mps", "seconds", "wind"),
    [
        (1, 25.0, 7.2, 30.0, 40.0, 4.0, (0.0, 0.0)),
        (2, 25.0, 7.2, 30.0, 40.0, 4.0, (7.2, 210.0)),
        (3, 25.0, 8.5, 45.0, 27.0, 4.0, (12.0, 75.0)),
        (4, 30.0, 7.2, 40.0, 45.0, 4.0, (20.0, 310.0)),
        (5, 60.0, 6.0, 25.0, 50.0, 0.0, (28.0, 120.0)),
        (6, 100.0, 12.0, 15.0, 36.0, 8.0, (10.0, 5.0)),
        (7, 12.5, 6.0, 60.0, 33.0, 2.0, (5.0, 170.0)),
        (8, 20.0, 7.2, 35.0, 60.0, 6.0, (15.0, 250.0)),
    ],
)
def test_from_any_heading_a_field_is_reached(
    seed, cell_m, ratio, bank_deg, manoeuvre_mps, seconds, wind
):
    """At random points, on random tracks, at the very altitude asked for.

    Every turn to every move ahead of a sector is tried; one of them has to end high enough, and
    then the glide is flown move by move to a field. All along, the ground in the cell below is
    looked up. The air obeys the balance of forces written down in the flyer, not in the engine.
    """
    surface, arrival = _country(seed)
    surfaces = sector_surfaces(surface, arrival, cell_m, move_losses(TAS_MPS, ratio, *wind))
    model = TurnModel(bank_deg, TAS_MPS, ratio, seconds, manoeuvre_mps, *wind)
    worst = worst_heading(surfaces, surface, cell_m, model)
    flyer = Flyer(
        surface, arrival, cell_m, tas=TAS_MPS, ratio=ratio, bank=bank_deg,
        seconds=seconds, manoeuvre=manoeuvre_mps, wind=wind,
    )  # fmt: skip
    circle_s = 2.0 * math.pi / flyer.rate
    stretches = tuple(share * circle_s for share in STRETCHES_CIRCLES)
    rng = np.random.default_rng(seed)
    cells = np.argwhere(np.isfinite(worst))
    assert len(cells) > 300
    for r, c in cells[rng.integers(len(cells), size=150)]:
        within = rng.uniform(0.0, cell_m, 2)
        place = np.array([c * cell_m + within[0], -r * cell_m - within[1]])
        track = rng.uniform(0.0, 360.0)
        height = float(worst[r, c])
        assert flyer.reaches_a_field(place, height, track, surfaces, stretches), (r, c, track)


def test_the_flyer_fails_where_it_should():
    """From a third of the height it does not reach a field, or the test above proves nothing."""
    surface, arrival = _country(2)
    wind = (7.2, 210.0)
    surfaces = sector_surfaces(surface, arrival, 25.0, move_losses(TAS_MPS, 7.2, *wind))
    worst = worst_heading(surfaces, surface, 25.0, TurnModel(30.0, TAS_MPS, 7.2, 4.0, 40.0, *wind))
    flyer = Flyer(
        surface, arrival, 25.0, tas=TAS_MPS, ratio=7.2, bank=30.0,
        seconds=4.0, manoeuvre=40.0, wind=wind,
    )  # fmt: skip
    rng = np.random.default_rng(0)
    cells = np.argwhere(np.isfinite(worst) & (worst > 400.0))
    reached = 0
    for r, c in cells[rng.integers(len(cells), size=60)]:
        place = np.array([(c + 0.5) * 25.0, -(r + 0.5) * 25.0])
        low = float(surface[r, c]) + (float(worst[r, c]) - float(surface[r, c])) / 3.0
        reached += flyer.reaches_a_field(place, low, rng.uniform(0.0, 360.0), surfaces)
    assert reached < 20
