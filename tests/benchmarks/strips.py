"""Time to measure 500 fields in 36 directions, with things standing round each.

    python -m tests.benchmarks.strips

Fields of 4 to 7 corners, 300 m to 800 m across, on rolling ground in cells of 25 m; round each ten
buildings, a wire and a wood. Asked for: under 3 s.
"""

from __future__ import annotations

import sys
from time import perf_counter, process_time

import numpy as np
import shapely

from areaplan.engine.features import FeatureSet
from areaplan.engine.strips import measure_strips
from areaplan.grid import Grid

FIELDS = 500
ASKED_S = 3.0
GRID = Grid(-1500.0, 1500.0, 25.0, 120, 120)


def scene(stream):
    """A field and what stands round it."""
    angles = np.sort(stream.uniform(0.0, 2 * np.pi, stream.integers(4, 8)))
    radii = stream.uniform(150.0, 400.0, angles.size)
    corners = np.stack([np.cos(angles), np.sin(angles)], axis=1) * radii[:, np.newaxis]
    field = shapely.convex_hull(shapely.MultiPoint(corners))
    out = stream.uniform(420.0, 700.0, 10)
    turn = stream.uniform(0.0, 2 * np.pi, 10)
    places = [shapely.Point(r * np.cos(a), r * np.sin(a)) for r, a in zip(out, turn, strict=True)]
    standing = [place.buffer(9.0, quad_segs=1) for place in places]
    standing.append(shapely.LineString([(-1200, 430), (1200, 480)]))
    standing.append(shapely.box(-450, -900, -100, -430))
    tops = np.array([108.0] * 10 + [112.0, 120.0])
    return field, FeatureSet.from_geometries(standing, tops)


def main() -> int:
    stream = np.random.default_rng(3)
    x, y = np.meshgrid(GRID.centre_x_m(), GRID.centre_y_m())
    ground = 100.0 + 3.0 * np.sin(x / 700.0) * np.cos(y / 900.0)
    scenes = [scene(stream) for _ in range(FIELDS + 1)]
    keep = np.array([30.0] * 11 + [0.0])

    def measure(field, things):
        return measure_strips(
            field,
            width_m=30.0,
            approach_slope=0.1,
            obstructions=things,
            keep_clear_m=keep,
            lowest_amsl_m=ground - 0.3,
            highest_amsl_m=ground + 0.3,
            grid=GRID,
        )

    start = perf_counter()
    measure(*scenes[0])
    print(f"  first call, with what had to be compiled {perf_counter() - start:8.2f} s")
    start, cpu = perf_counter(), process_time()
    longest = [float(measure(*row).usable_m.max()) for row in scenes[1:]]
    taken_s, cpu_s = perf_counter() - start, process_time() - cpu
    print(f"  {FIELDS} fields {taken_s:8.2f} s, of the processor {cpu_s:.2f} s; asked {ASKED_S} s")
    print(f"  longest usable strips {min(longest):.0f} m to {max(longest):.0f} m")
    return 0 if cpu_s < ASKED_S else 1


if __name__ == "__main__":
    sys.exit(main())
