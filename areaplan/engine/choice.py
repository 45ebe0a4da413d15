"""From which altitude up enough departure sectors, or enough different fields, are in reach.

A sector is in reach at and above its altitude of `glide.py`, and leads to one field: its label.
What else lies in reach of a sector, by a longer way, is not looked at: there may be more fields
than are counted here, never fewer. Both counts only grow with altitude, so that "at least n" holds
at every altitude from the one given up.

Unknown sectors (NaN) are taken as out of reach. Where the answer would be infinite though unknown
sectors might make it finite, it is NaN.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import numpy as np
from attrs import frozen
from numpy.typing import NDArray

from areaplan.grid import BoolArray, Float32Array, Int16Array

NO_LABEL: Final = -1
_BAND_CELLS: Final = 1 << 17  # cells sorted at once: keeps the sorted copies at some 30 MB


@frozen(eq=False)
class EnoughFrom:
    """Lowest altitude with enough in reach, and what comes in reach last there.

    Attributes
    ----------
    amsl_m : float32 array, shape (rows, cols)
        Metres AMSL; infinity where no altitude considered gives enough, NaN where it can't be told.
    last : int16 array, shape (rows, cols)
        Sector, or label, that makes it enough. Where the altitude is not finite, a sector that is
        out of reach, or NO_LABEL.
    """

    amsl_m: Float32Array
    last: Int16Array


def enough_sectors(sector_amsl_m: Float32Array, count: int) -> EnoughFrom:
    """From which altitude up at least so many sectors are in reach: the count-th smallest.

    Parameters
    ----------
    sector_amsl_m : float32 array, shape (sectors, rows, cols)
        Metres AMSL; infinity out of reach, NaN unknown.
    count : int
        From 1 to the number of sectors.

    Raises
    ------
    ValueError
        A count out of that range.
    """
    answer = _empty(sector_amsl_m, count)
    for rows in _bands(sector_amsl_m):
        sectors = sector_amsl_m[:, rows]
        nth = np.argsort(sectors, axis=0, kind="stable")[count - 1]  # NaN stands last
        answer.last[rows] = nth
        amsl_m = np.take_along_axis(sectors, nth[np.newaxis], axis=0)[0]
        answer.amsl_m[rows] = _or_unknown(amsl_m, np.isfinite(sectors).sum(axis=0), sectors, count)
    return answer


def enough_labels(sector_amsl_m: Float32Array, sector_label: Int16Array, count: int) -> EnoughFrom:
    """From which altitude up the sectors in reach have at least so many different labels.

    Parameters
    ----------
    sector_amsl_m : float32 array, shape (sectors, rows, cols)
        Metres AMSL; infinity out of reach, NaN unknown.
    sector_label : int16 array of that shape
        Where each sector leads; NO_LABEL counts for nothing.
    count : int
        From 1 to the number of sectors.

    Raises
    ------
    ValueError
        A count out of that range, or arrays of different shapes.
    """
    if sector_label.shape != sector_amsl_m.shape:
        raise ValueError(f"labels {sector_label.shape}; expected {sector_amsl_m.shape}")
    answer = _empty(sector_amsl_m, count)
    for rows in _bands(sector_amsl_m):
        sectors = sector_amsl_m[:, rows]
        order = np.argsort(sectors, axis=0, kind="stable")
        rising = np.take_along_axis(sectors, order, axis=0)
        labels = np.take_along_axis(sector_label[:, rows], order, axis=0)
        is_new = _first_of_its_label(labels) & np.isfinite(rising)
        found = is_new.cumsum(axis=0)
        is_enough = found >= count
        nth = is_enough.argmax(axis=0)[np.newaxis]
        is_reached = is_enough[-1]
        amsl_m = np.take_along_axis(rising, nth, axis=0)[0]
        label = np.take_along_axis(labels, nth, axis=0)[0]
        answer.last[rows] = np.where(is_reached, label, NO_LABEL)
        amsl_m = np.where(is_reached, amsl_m, np.float32(np.inf))
        answer.amsl_m[rows] = _or_unknown(amsl_m, found[-1], sectors, count)
    return answer


def _first_of_its_label(labels: Int16Array) -> BoolArray:
    """Along the first axis, whether no entry before has the same label."""
    is_first = labels != NO_LABEL
    for index in range(1, len(labels)):
        is_first[index] &= ~(labels[:index] == labels[index]).any(axis=0)
    return np.asarray(is_first)


def _or_unknown(
    amsl_m: Float32Array, found: NDArray[np.int64], sectors: Float32Array, count: int
) -> Float32Array:
    """NaN instead of "no altitude" where unknown sectors might fill the count."""
    might = found + np.isnan(sectors).sum(axis=0) >= count
    endless = np.where(might, np.float32(np.nan), np.float32(np.inf))
    return np.where(found >= count, amsl_m, endless).astype(np.float32)


def _empty(sector_amsl_m: Float32Array, count: int) -> EnoughFrom:
    sectors, *shape = sector_amsl_m.shape
    if not 1 <= count <= sectors:
        raise ValueError(f"count {count}; expected 1 to {sectors}")
    return EnoughFrom(np.empty(shape, np.float32), np.empty(shape, np.int16))


def _bands(sector_amsl_m: Float32Array) -> Iterator[slice]:
    _, rows, cols = sector_amsl_m.shape
    step = max(1, _BAND_CELLS // max(1, cols))
    for first in range(0, rows, step):
        yield slice(first, min(first + step, rows))
