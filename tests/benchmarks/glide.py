"""How fast and how exact the glide is: ``python -m tests.benchmarks.glide``.

Times twelve sectors and the worst heading, in wind over rolling ground with 60 fields, beside one
plain isotropic travel time of scikit-fmm (second order) on the same grid, and checks the sectors
against the closed form of a straight glide over flat ground.
"""

from __future__ import annotations

import math
import os
import subprocess
import sys
import tempfile
import time

import numpy as np

from areaplan.engine.flight import loss_per_metre
from areaplan.engine.glide import NO_FIELD, sector_surfaces
from areaplan.engine.moves import SECTORS, move_losses
from areaplan.engine.worst_heading import TurnModel, worst_heading
from areaplan.units import KNOT_MPS

CELL_M = 25.0
TAS_MPS = (65.0 * KNOT_MPS, 69.0 * KNOT_MPS)
MANOEUVRE_MPS = (78.0 * KNOT_MPS, 83.0 * KNOT_MPS)
RATIO = 7.2
WIND = (14.0 * KNOT_MPS, 210.0)
MODEL = TurnModel(30.0, TAS_MPS, RATIO, 4.0, MANOEUVRE_MPS, *WIND)
REPEATS = 5
MOST_TIMES_FMM, MOST_PESSIMISTIC = 0.25, 0.016


def country(size, fields=60, seed=0):
    """Rolling ground, and fields of 250 m: surface to clear, arrival altitudes, field numbers."""
    rng = np.random.default_rng(seed)
    y, x = np.mgrid[0:size, 0:size] * CELL_M
    ground = np.full((size, size), 150.0)
    for _ in range(24):
        angle, length = rng.uniform(0.0, math.tau), rng.uniform(800.0, 9000.0)
        wave = (math.cos(angle) * x + math.sin(angle) * y) * math.tau / length
        ground += 0.004 * length * np.sin(wave + rng.uniform(0.0, math.tau))
    arrival = np.full((size, size), np.inf, np.float32)
    number = np.full((size, size), NO_FIELD, np.int16)
    for index in range(fields):
        r, c = rng.integers(0, size - 10, 2)
        arrival[r : r + 10, c : c + 10] = ground[r : r + 10, c : c + 10].max() + 91.0
        number[r : r + 10, c : c + 10] = index
    return (ground + 31.0).astype(np.float32), arrival, number


def glide(surface, arrival, number=None):
    """Both steps; seconds of each."""
    begin = time.perf_counter()
    surfaces = sector_surfaces(surface, arrival, CELL_M, move_losses(TAS_MPS, RATIO, *WIND), number)
    between = time.perf_counter()
    worst_heading(surfaces, surface, CELL_M, MODEL)
    return between - begin, time.perf_counter() - between


def fast_marching(arrival):
    """Seconds of one travel time from the fields' edges at speed 1."""
    import skfmm

    outside = np.where(np.isfinite(arrival), -1.0, 1.0)
    begin = time.perf_counter()
    skfmm.travel_time(outside, np.ones_like(outside), dx=CELL_M, order=2)
    return time.perf_counter() - begin


def speed(size=2000):
    """Print times of the whole grid and of a quarter of it; True where fast enough."""
    surface, arrival, number = country(size)
    quarter = country(size // 2, fields=15)
    runs = [(*glide(surface, arrival), fast_marching(arrival)) for _ in range(REPEATS)]
    sectors, heading, fmm = (min(times) for times in zip(*runs, strict=True))
    labelled = min(sum(glide(surface, arrival, number)) for _ in range(REPEATS))
    small = min(sum(glide(*quarter[:2])) for _ in range(REPEATS))
    total = sectors + heading
    print(f"{size} x {size} cells, {os.cpu_count()} cores, best of {REPEATS}")
    print(f"  twelve sectors            {sectors:6.3f} s")
    print(f"  worst heading             {heading:6.3f} s")
    print(f"  scikit-fmm, order 2       {fmm:6.3f} s")
    print(f"  ratio                     {total / fmm:6.2f}   (at most {MOST_TIMES_FMM})")
    print(f"  with the fields' numbers  {labelled:6.3f} s, ratio {labelled / fmm:.2f}")
    print(f"  a quarter of the cells    {small:6.3f} s, {total / small:.1f} times less (4: linear)")
    return total / fmm <= MOST_TIMES_FMM


def accuracy(size=241):
    """Print the greatest excess over the straight glide; True where never below, never far above.

    Over flat ground in a steady wind nothing is shorter than the straight line, so the altitude
    above arrival is distance times loss along the bearing, to the field's only cell.
    """
    middle = size // 2
    rows, cols = np.indices((size, size))
    north, east = middle - rows, cols - middle
    distance, bearing = np.hypot(north, east) * CELL_M, np.degrees(np.arctan2(-east, -north))
    arrival = np.full((size, size), np.inf, np.float32)
    arrival[middle, middle] = 0.0
    is_good = True
    for knots in (0.0, 7.0, 14.0, 25.0, 40.0):
        wind = (knots * KNOT_MPS, 210.0)
        exact = distance * loss_per_metre(bearing, TAS_MPS[0], RATIO, *wind)
        losses = move_losses(TAS_MPS[0], RATIO, *wind)
        flat = np.zeros((size, size), np.float32)
        required = sector_surfaces(flat, arrival, CELL_M, losses).required_amsl_m
        off = (bearing - 30.0 * np.arange(SECTORS)[:, None, None] + 180.0) % 360.0 - 180.0
        ahead = (np.abs(off) <= 15.0) & (distance > 0.0) & (exact < 8000.0)
        excess = np.where(ahead, required / np.where(distance > 0.0, exact, 1.0) - 1.0, 0.0)
        below = np.isfinite(required) & (required < exact)
        is_good &= not below.any() and bool(excess.max() <= MOST_PESSIMISTIC)
        print(
            f"wind {knots:4.0f} kt: never below ({int(below.sum())} cells), above by at most "
            f"{100.0 * excess.max():.2f} %, on average {100.0 * excess[ahead].mean():.2f} %"
        )
    return is_good


def measured_apart(code):
    """Run a few lines in a fresh interpreter with nothing compiled before; their output."""
    with tempfile.TemporaryDirectory() as folder:
        environment = dict(os.environ, NUMBA_CACHE_DIR=folder)
        command = [sys.executable, "-c", f"from tests.benchmarks.glide import *\n{code}"]
        done = subprocess.run(command, env=environment, capture_output=True, text=True, check=True)
    return done.stdout.strip()


COMPILE = """
tiny = country(12, fields=1)
first, second = sum(glide(*tiny)), sum(glide(*tiny))
print(f"compiling all kernels: {first - second:.2f} s")
"""
PEAK = """
import resource
surface, arrival, number = country(2000)
before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
glide(surface, arrival, number)
peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
print(f"peak memory, 4 million cells: {peak / 1024:.0f} MB ({before / 1024:.0f} MB before)")
"""


def main():
    """Print all; exit 1 where a requirement is not met."""
    print(measured_apart(COMPILE))
    print(measured_apart(PEAK))
    is_exact = accuracy()
    is_fast = speed()
    return 0 if is_exact and is_fast else 1


if __name__ == "__main__":
    sys.exit(main())
