"""A tiny flat terrain file and a grid on it."""

import numpy as np

from areaplan.geodesy import LocalFrame
from areaplan.grid import Grid
from areaplan.sources.terrain import read_terrain
from tests.sources.making import lonlat_transform, spec_of

STEP = 1.0 / 1200.0
FRAME = LocalFrame(42.5, 1.5)
GRID = Grid(-100.0, 100.0, 50.0, 4, 4)
AROUND = lonlat_transform(1.5 - 10 * STEP, 42.5 + 10 * STEP, STEP)
FLAT = np.full((21, 21), 100.0, dtype=np.float32)


def read(*paths, **more):
    more.setdefault("vertical_datum", "EGM96")
    return read_terrain(spec_of("terrain", *paths, **more))


def heights_of(*paths, **more):
    got = read(*paths, **more).on_grid(GRID, FRAME)
    assert (got.lowest_amsl_m <= got.highest_amsl_m).all() or np.isnan(got.highest_amsl_m).any()
    return got
