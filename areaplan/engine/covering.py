"""The fewest of some sets that together hold everything any of them holds."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import ArrayLike

MOST_THINGS: Final = 20  # the search keeps one number for each set of things


def fewest_that_cover(holds: ArrayLike) -> tuple[int, ...]:
    """Pick the fewest rows whose union is the union of all: exactly, not by a greedy guess.

    Breadth first over the sets of things held by one row, two rows, and so on: the first time that
    the union of all is reached, no fewer rows can do it.

    Parameters
    ----------
    holds : bool array, shape (rows, things)
        Which things each row holds; at most `MOST_THINGS` things.

    Returns
    -------
    tuple of int
        Row numbers, ascending; of several smallest answers the one whose rows come first. Empty
        where no row holds anything.

    Raises
    ------
    ValueError
        Too many things, or an array that is not of two axes.
    """
    table = np.asarray(holds, dtype=np.bool_)
    if table.ndim != 2 or table.shape[1] > MOST_THINGS:
        raise ValueError(
            f"array of shape {table.shape}; expected (rows, things) with up to {MOST_THINGS} things"
        )
    masks = (table.astype(np.int64) << np.arange(table.shape[1])).sum(axis=1).tolist()
    wanted = 0
    for mask in masks:
        wanted |= mask
    first_with: dict[int, int] = {}
    for row, mask in enumerate(masks):
        first_with.setdefault(mask, row)
    reached: dict[int, tuple[int, ...]] = {0: ()}
    frontier = dict(reached)
    while wanted not in reached:
        found: dict[int, tuple[int, ...]] = {}
        for held, rows in frontier.items():
            for mask, row in first_with.items():
                more, with_row = held | mask, tuple(sorted((*rows, row)))
                if more not in reached and (more not in found or with_row < found[more]):
                    found[more] = with_row
        reached |= found
        frontier = found
    return reached[wanted]
