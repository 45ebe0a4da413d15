"""Terrain on to a grid, against scipy's interpolation of the cells' centres alone.

    python -m tests.benchmarks.terrain

The comparison is unfair to areaplan: extremes over the whole cell take more than one value in its
middle.
"""

import time

import numpy as np
from scipy.interpolate import RegularGridInterpolator

from areaplan.grid import Grid
from tests.sources.lattices import FRAME, STEP, posts, terrain_of

TIMES = 5


def best_of(work):
    """Seconds of the fastest of some runs."""
    seconds = []
    for _ in range(TIMES):
        start = time.perf_counter()
        work()
        seconds.append(time.perf_counter() - start)
    return min(seconds)


def main():
    """Print both times and their ratio."""
    heights = np.random.default_rng(10).uniform(0, 900, (700, 900))
    lons, lats = posts(*heights.shape, step=STEP / 3)
    terrain = terrain_of(heights, lons, lats)
    grid = Grid(-9000.0, 9000.0, 18.0, 1000, 1000)
    terrain.on_grid(Grid(-50.0, 50.0, 25.0, 4, 4), FRAME)  # compiles
    ours = best_of(lambda: terrain.on_grid(grid, FRAME))

    def centres():
        lon, lat = FRAME.to_lonlat(*np.meshgrid(grid.centre_x_m(), grid.centre_y_m()))
        RegularGridInterpolator((lats[::-1], lons), heights[::-1])((lat, lon))

    theirs = best_of(centres)
    print(f"a million cells, extremes of each: {ours:.2f} s")
    print(f"scipy, projection and centres:     {theirs:.2f} s, ratio {ours / theirs:.2f}")


if __name__ == "__main__":
    main()
