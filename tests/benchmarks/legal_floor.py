"""Time and memory of the legal floor on a large scene, beside shapely.

    python -m tests.benchmarks.legal_floor

2000 x 2000 cells of 10 m; 20,000 invented building footprints of 4 to 8 corners with a slant
standoff of 500 ft, and 500 masts with the highest-obstacle rule (1,000 ft within 2,000 ft); then
airspace bands under forty shelves. shapely answers the same two questions by an STRtree query and
the exact distance of each near pair of square and footprint, vectorised, on sample tiles; its time
for the whole grid is extrapolated by the number of cells and said to be so.
"""

from __future__ import annotations

import math
import resource
import sys
from collections.abc import Callable, Iterator
from time import perf_counter
from typing import TypeVar

import numpy as np
import shapely
from numpy.typing import NDArray

from areaplan.engine.bands import Volumes, open_bands
from areaplan.engine.features import FeatureSet
from areaplan.engine.standoff import standoff_floor
from areaplan.grid import BoolArray, Float64Array, Grid
from areaplan.units import FOOT_M
from tests.oracles.standoff_twin import squares

GRID = Grid(0.0, 20_000.0, 10.0, 2000, 2000)
SLANT_M = 500 * FOOT_M
RADIUS_M, HEIGHT_M = 2000 * FOOT_M, 1000 * FOOT_M
TILES, TILE_CELLS = 40, 50
TOLERANCE_M = 1e-6

Answer = TypeVar("Answer")


def timed(label: str, work: Callable[[], Answer]) -> tuple[Answer, float]:
    """Run once, print the seconds, return the answer and the seconds."""
    start = perf_counter()
    answer = work()
    seconds = perf_counter() - start
    print(f"  {label:<58}{seconds:8.2f} s")
    return answer, seconds


def footprints(rng: np.random.Generator, count: int) -> list[shapely.Polygon]:
    """Convex and concave footprints about 20 m across, half of them crowded into ten towns."""
    towns = rng.uniform(0.1, 0.9, (10, 2)) * 20_000.0
    crowded = towns[rng.integers(0, 10, count)] + rng.normal(0.0, 600.0, (count, 2))
    spread_out = rng.uniform(0.0, 20_000.0, (count, 2))
    centres = np.where(rng.random((count, 1)) < 0.5, crowded, spread_out)
    shapes = []
    for centre in centres:
        corners = int(rng.integers(4, 9))
        angles = (np.arange(corners) + rng.random()) * 2.0 * math.pi / corners
        reach_m = rng.uniform(6.0, 14.0, (corners, 1))
        shapes.append(shapely.Polygon(centre + reach_m * np.c_[np.cos(angles), np.sin(angles)]))
    return shapes


def shelves(rng: np.random.Generator, count: int) -> Iterator[BoolArray]:
    """Discs of airspace, one at a time."""
    x_m, y_m = GRID.centre_x_m(), GRID.centre_y_m()[:, None]
    for _ in range(count):
        x0, y0 = rng.uniform(0.0, 20_000.0, 2)
        yield np.asarray((x_m - x0) ** 2 + (y_m - y0) ** 2 < rng.uniform(1000.0, 9000.0) ** 2)


def by_shapely(
    cells: NDArray[np.object_],
    buildings: tuple[shapely.STRtree, Float64Array],
    masts: tuple[shapely.STRtree, Float64Array],
) -> Float64Array:
    """The same floor for a tile of squares, by library calls alone."""
    flat = cells.ravel()
    floor = np.full(flat.size, -math.inf)
    tree, tops_m = buildings
    cell, near = tree.query(flat, predicate="dwithin", distance=SLANT_M)
    distance_m = shapely.distance(flat[cell], tree.geometries[near])
    value_m = tops_m[near] + np.sqrt(np.maximum(SLANT_M**2 - distance_m**2, 0.0))
    np.maximum.at(floor, cell[distance_m < SLANT_M], value_m[distance_m < SLANT_M])
    tree, tops_m = masts
    cell, near = tree.query(flat, predicate="dwithin", distance=RADIUS_M)
    np.maximum.at(floor, cell, tops_m[near] + HEIGHT_M)
    return floor.reshape(cells.shape)


def main() -> int:
    """Run the benchmark; 0 when both ways agree."""
    rng = np.random.default_rng(20)
    shapes = footprints(rng, 20_000)
    building_tops_m = rng.uniform(250.0, 400.0, len(shapes))
    points = shapely.points(rng.uniform(0.0, 20_000.0, (500, 2)))
    mast_tops_m = rng.uniform(300.0, 600.0, len(points))

    small = Grid(0.0, 100.0, 10.0, 10, 10)
    one = FeatureSet.from_geometries(shapes[:1], 0.0)
    print("areaplan, first call of each kernel (compiles unless its cache is warm)")
    timed("slant kernel", lambda: standoff_floor(small, one, radius_m=1.0, profile="slant"))
    timed("level kernel", lambda: standoff_floor(small, one, radius_m=1.0, profile="level"))

    print(f"areaplan, {GRID.rows} x {GRID.cols} cells")
    buildings, flatten_s = timed(
        "flatten 20,000 footprints", lambda: FeatureSet.from_geometries(shapes, building_tops_m)
    )
    masts = FeatureSet.from_geometries(points, mast_tops_m)
    slant, slant_s = timed(
        "slant standoff of 20,000 footprints",
        lambda: standoff_floor(GRID, buildings, radius_m=SLANT_M, profile="slant"),
    )
    level, level_s = timed(
        "highest of 500 masts within 609.6 m",
        lambda: standoff_floor(GRID, masts, radius_m=RADIUS_M, height_m=HEIGHT_M, profile="level"),
    )
    floor_m = np.maximum(slant.amsl_m, level.amsl_m)
    total_s = flatten_s + slant_s + level_s
    print(f"  {'together':<58}{total_s:8.2f} s")

    lower_m = rng.integers(5, 40, 40) * 100 * FOOT_M
    volumes, _ = timed(
        "gather 40 shelves",
        lambda: Volumes.from_covers(
            shelves(rng, 40), GRID.shape, lower_m=lower_m, upper_m=lower_m + 2000 * FOOT_M
        ),
    )
    ground = GRID.full(200.0)
    bands, _ = timed(
        "open bands under 40 shelves",
        lambda: open_bands(np.maximum(floor_m, 350.0), volumes, ground, ground, margin_m=30.0),
    )
    print(f"  bands in the busiest cell: {len(bands.edges_m)}")
    peak_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0
    print(f"  peak resident memory so far: {peak_mb:.0f} MB")

    print(f"shapely {shapely.__version__}, {TILES} tiles of {TILE_CELLS} x {TILE_CELLS} cells")
    trees = (
        (shapely.STRtree(shapes), building_tops_m),
        (shapely.STRtree(points), mast_tops_m),
    )
    shapely_s, is_same = 0.0, True
    for row, col in rng.integers(0, GRID.rows - TILE_CELLS, (TILES, 2)):
        part = (slice(row, row + TILE_CELLS), slice(col, col + TILE_CELLS))
        tile = Grid(
            GRID.x_min_m + col * GRID.cell_m, GRID.y_max_m - row * GRID.cell_m, GRID.cell_m,
            TILE_CELLS, TILE_CELLS,
        )  # fmt: skip
        cells = squares(tile)
        start = perf_counter()
        expected_m = by_shapely(cells, *trees)
        shapely_s += perf_counter() - start
        is_same &= np.allclose(floor_m[part], expected_m, rtol=0.0, atol=TOLERANCE_M)
    whole_s = shapely_s * GRID.rows * GRID.cols / (TILES * TILE_CELLS**2)
    print(f"  {'measured on the tiles':<58}{shapely_s:8.2f} s")
    print(f"  {'extrapolated to the grid by the number of cells':<58}{whole_s:8.0f} s")
    print(f"  the same floors to {TOLERANCE_M:g} m: {'yes' if is_same else 'NO'}")
    print(f"areaplan is about {whole_s / total_s:.0f} times as fast (shapely runs on one core)")
    return 0 if is_same else 1


if __name__ == "__main__":
    sys.exit(main())
