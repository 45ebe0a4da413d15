"""How fast many winds, and how far tiles go: ``python -m tests.benchmarks.wind [sizes]``.

Flies 64 winds over 4 million cells whatever the heading, as `planning.wind_limits` does, and times
tiles written to files on ever larger grids (1, 4 and 25 million cells unless
told otherwise; 8.4
GB of files for 100 million), with the greatest memory that was the process's own (not the files').
"""

from __future__ import annotations

import os
import sys
import tempfile
import threading
import time
from pathlib import Path

import numpy as np

from areaplan.engine.glide import sector_surfaces
from areaplan.engine.moves import move_losses
from areaplan.engine.tiles import (
    Window,
    tiled_sector_surfaces,
    tiled_worst_heading,
    worst_heading_in,
)
from areaplan.engine.worst_heading import TurnModel
from areaplan.units import KNOT_MPS
from tests.benchmarks.glide import CELL_M, MANOEUVRE_MPS, MODEL, RATIO, TAS_MPS, WIND, country

MOST_S, MOST_GB = 60.0, 3.0
SIDE = 2000


class OwnMemory:
    """The most memory of the process's own (anonymous pages), GB, while the context lasts."""

    def __enter__(self):
        self.most_gb, self._done = 0.0, threading.Event()
        self._thread = threading.Thread(target=self._watch)
        self._thread.start()
        return self

    def _watch(self):
        while not self._done.wait(0.02):
            lines = Path("/proc/self/status").read_text(encoding="ascii").splitlines()
            kilobytes = next(int(line.split()[1]) for line in lines if line.startswith("RssAnon"))
            self.most_gb = max(self.most_gb, kilobytes / 1024**2)

    def __exit__(self, *_):
        self._done.set()
        self._thread.join()


def many_winds(directions=16, speeds_kt=(10, 20, 30, 40)):
    """Print the time and memory of 64 winds; True where both are small enough."""
    surface, arrival, _ = country(SIDE)
    area = Window(0, SIDE, 0, SIDE)  # the whole grid: the worst case
    worst = np.zeros((SIDE, SIDE), np.float32)
    with OwnMemory() as memory:
        begin = time.perf_counter()
        for number in range(directions):
            for knots in speeds_kt:
                wind = (knots * KNOT_MPS, 360.0 / directions * number)
                surfaces = sector_surfaces(
                    surface, arrival, CELL_M, move_losses(TAS_MPS, RATIO, *wind)
                )
                model = TurnModel(30.0, TAS_MPS, RATIO, 4.0, MANOEUVRE_MPS, *wind)
                found = worst_heading_in(area, surfaces, surface, CELL_M, model)
                np.maximum(worst, found, out=worst)
        seconds = time.perf_counter() - begin
    winds = directions * len(speeds_kt)
    print(f"{winds} winds over {SIDE} x {SIDE} cells, {os.cpu_count()} cores")
    print(
        f"  {seconds:.1f} s (at most {MOST_S:.0f}), {memory.most_gb:.2f} GB (at most {MOST_GB:.0f})"
    )
    return seconds <= MOST_S and memory.most_gb <= MOST_GB


def tiled(million_cells):
    """Print time and memory of both steps in tiles on one grid; seconds for a million cells."""
    side = round((million_cells * 1e6) ** 0.5)
    tile, arrival_tile, _ = country(1000, fields=15)
    times = -(-side // 1000)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        surface = np.memmap(folder / "surface.f32", np.float32, "w+", shape=(side, side))
        arrival = np.memmap(folder / "arrival.f32", np.float32, "w+", shape=(side, side))
        for row in range(times):
            for col in range(times):
                part = np.s_[row * 1000 : (row + 1) * 1000, col * 1000 : (col + 1) * 1000]
                rows, cols = surface[part].shape
                surface[part], arrival[part] = tile[:rows, :cols], arrival_tile[:rows, :cols]
        with OwnMemory() as memory:
            begin = time.perf_counter()
            losses = move_losses(TAS_MPS, RATIO, *WIND)
            surfaces = tiled_sector_surfaces(surface, arrival, CELL_M, losses, folder)
            between = time.perf_counter()
            tiled_worst_heading(surfaces, surface, CELL_M, MODEL, folder / "worst.f32")
            end = time.perf_counter()
        del surface, arrival, surfaces
    print(
        f"{side} x {side} cells in tiles: sectors {between - begin:.1f} s, worst heading "
        f"{end - between:.1f} s, {(end - begin) / million_cells:.3f} s a million cells, "
        f"{memory.most_gb:.2f} GB"
    )
    return (end - begin) / million_cells


def main():
    """Print all; exit 1 where a requirement is not met."""
    is_fast = many_winds()
    tiled(0.25)  # compiles
    for million_cells in [float(word) for word in sys.argv[1:]] or [1.0, 4.0, 25.0]:
        tiled(million_cells)
    return 0 if is_fast else 1


if __name__ == "__main__":
    sys.exit(main())
