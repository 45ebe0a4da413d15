"""Rows of a raster shared out among threads."""

from __future__ import annotations

import os
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor

# Few enough rows that a band's part of the rasters stays in a core's cache, many enough that the
# start of a band costs nothing next to its work.
BAND_ROWS = 64


def over_row_bands(
    work: Callable[[int, int], None],
    rows: int,
    *,
    threads: int | None = None,
    band_rows: int = BAND_ROWS,
) -> None:
    """Call ``work(first_row, end_row)`` for bands that cover all rows, in threads.

    A kernel that lets go of the interpreter's lock (``nogil``) and writes only into its own rows
    gives the same bits for any number of threads.

    Parameters
    ----------
    work : callable
        Works on the rows from the first up to, not including, the second.
    rows : int
        Count of rows.
    threads : int or None
        Count of threads, at least 1; None takes one for each core.
    band_rows : int
        Rows of a band, at least 1.

    Raises
    ------
    ValueError
        `threads` or `band_rows` below 1.
    """
    workers = (os.cpu_count() or 1) if threads is None else threads
    if workers < 1 or band_rows < 1:
        raise ValueError(f"{workers} threads on bands of {band_rows} rows; expected 1 or more")
    starts = range(0, rows, band_rows)
    if workers == 1 or len(starts) <= 1:
        for start in starts:
            work(start, min(start + band_rows, rows))
        return
    with ThreadPoolExecutor(workers) as pool:
        for _ in pool.map(lambda start: work(start, min(start + band_rows, rows)), starts):
            pass  # taking the result raises what a band raised
