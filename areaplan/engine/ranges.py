"""The one check that a formula makes of the numbers it is given."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from areaplan.grid import Float64Array


def within(
    values: ArrayLike, what: str, low: float, *, below: float = np.inf, is_open: bool = False
) -> Float64Array:
    """Values as float64, checked to lie in a range; NaN, which is unknown, passes.

    Parameters
    ----------
    values : float or array
        What to check.
    what : str
        Name and unit for the message.
    low : float
        Smallest value allowed.
    below : float
        Bound that no value may reach.
    is_open : bool
        Whether `low` itself is outside as well.

    Raises
    ------
    ValueError
        A value outside the range; the message names the first one and the range.
    """
    array = np.asarray(values, dtype=np.float64)
    is_bad = (array < low) | (array >= below) | (is_open & (array == low))
    if np.any(is_bad):
        bound = f"{'above' if is_open else 'at least'} {low:g}"
        upper = f" and below {below:g}" if np.isfinite(below) else " and finite"
        raise ValueError(f"{what} {array[is_bad].flat[0]:g}; expected {bound}{upper}")
    return array
