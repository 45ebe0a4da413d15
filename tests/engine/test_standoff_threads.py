"""Rows shared out among threads."""

from __future__ import annotations

import numpy as np
import pytest

from areaplan.engine.threads import over_row_bands


@pytest.mark.parametrize("threads", [1, 2, 7, None])
@pytest.mark.parametrize("rows", [0, 1, 63, 64, 65, 1000])
def test_every_row_is_worked_on_once(rows: int, threads: int | None) -> None:
    visits = np.zeros(rows, dtype=int)

    def work(first_row: int, end_row: int) -> None:
        assert 0 < end_row - first_row <= 64
        visits[first_row:end_row] += 1

    over_row_bands(work, rows, threads=threads)
    assert (visits == 1).all()


@pytest.mark.parametrize("threads", [1, 3])
def test_what_a_band_raises_comes_out(threads: int) -> None:
    def work(first_row: int, _end_row: int) -> None:
        if first_row:
            raise ZeroDivisionError(first_row)

    with pytest.raises(ZeroDivisionError, match="50"):
        over_row_bands(work, 100, threads=threads, band_rows=50)


def test_bands_of_no_row_are_refused() -> None:
    with pytest.raises(ValueError, match="bands of 0 rows"):
        over_row_bands(lambda *_: None, 10, band_rows=0)
