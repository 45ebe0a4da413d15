"""Places over the ground as complex numbers, metres east + i metres north."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

Places = NDArray[np.complex128]


def bearing_step(bearing_deg_true: ArrayLike) -> Places:
    """One metre along bearings, degrees true, as a place: i exp(-ib)."""
    step: Places = 1j * np.exp(-1j * np.radians(np.asarray(bearing_deg_true, dtype=np.float64)))
    return step
