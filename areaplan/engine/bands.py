"""Open bands of altitude between a legal floor and the volumes of airspace that are closed."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Any, Final

import numpy as np
from attrs import frozen
from numpy.typing import ArrayLike, NDArray

from areaplan.engine import _bands_kernels as kernels
from areaplan.engine.threads import over_row_bands
from areaplan.grid import BoolArray, Float64Array, Int16Array, Int32Array
from areaplan.units import FOOT_M

NO_VOLUME: Final = -1  # the legal floor, or no ceiling
NO_BAND: Final = -2  # this slot is not in use


@frozen(eq=False)
class Volumes:
    """Closed volumes of airspace, and the cells that each covers; made by `from_covers`.

    Attributes
    ----------
    lower_m, upper_m : float64 array, shape (volumes,)
        Limits in metres; infinite where there is none, NaN where it is not known.
    lower_is_agl, upper_is_agl : bool array, shape (volumes,)
        True where the limit is above ground, False where it is above mean sea level.
    lower_is_inclusive, upper_is_inclusive : bool array, shape (volumes,)
        False where the limit itself can be flown ("to but not including").
    group : int32 array, shape (rows, cols)
        Cells covered by the same volumes share a group: even a hundred volumes make few groups,
        which takes a fraction of the memory of a raster for each.
    first_of_group : int64 array, shape (groups + 1,)
        Group g owns volume_of_group[first_of_group[g] : first_of_group[g + 1]].
    volume_of_group : int32 array
        Volumes that cover the cells of each group, ascending within a group.
    """

    lower_m: Float64Array
    upper_m: Float64Array
    lower_is_agl: BoolArray
    upper_is_agl: BoolArray
    lower_is_inclusive: BoolArray
    upper_is_inclusive: BoolArray
    group: Int32Array
    first_of_group: NDArray[np.int64]
    volume_of_group: Int32Array

    def __len__(self) -> int:
        """Count of volumes."""
        return int(self.lower_m.size)

    @classmethod
    def from_covers(
        cls,
        covers: Iterable[BoolArray],
        shape: tuple[int, int],
        *,
        lower_m: ArrayLike,
        upper_m: ArrayLike,
        lower_is_agl: ArrayLike = False,
        upper_is_agl: ArrayLike = False,
        lower_is_inclusive: ArrayLike = True,
        upper_is_inclusive: ArrayLike = True,
    ) -> Volumes:
        """Gather volumes.

        Parameters
        ----------
        covers : iterable of bool array, shape (rows, cols)
            The cells that each volume covers, its lateral margin included. Taken one at a time,
            so a generator keeps memory low.
        shape : tuple of int
            Rows, columns.
        lower_m, upper_m : float or array of float, shape (volumes,)
            See the attributes; so for the rest.
        lower_is_agl, upper_is_agl : bool or array of bool, shape (volumes,)
        lower_is_inclusive, upper_is_inclusive : bool or array of bool, shape (volumes,)

        Raises
        ------
        ValueError
            A shape does not fit, there are more than 32 767 volumes, or a lower limit stands above
            an upper limit with the same reference; the message names the volume.
        """
        group, members, count = _groups(covers, shape)
        if count > np.iinfo(np.int16).max:
            raise ValueError(f"{count} volumes; at most {np.iinfo(np.int16).max} can be numbered")
        volumes = cls(
            _column("lower_m", lower_m, count, np.float64),
            _column("upper_m", upper_m, count, np.float64),
            _column("lower_is_agl", lower_is_agl, count, np.bool_),
            _column("upper_is_agl", upper_is_agl, count, np.bool_),
            _column("lower_is_inclusive", lower_is_inclusive, count, np.bool_),
            _column("upper_is_inclusive", upper_is_inclusive, count, np.bool_),
            group,
            np.cumsum([0, *map(len, members)], dtype=np.int64),
            np.array([volume for group in members for volume in group], dtype=np.int32),
        )
        is_swapped = volumes.lower_m > volumes.upper_m
        is_swapped &= volumes.lower_is_agl == volumes.upper_is_agl
        if is_swapped.any():
            volume = int(np.argmax(is_swapped))
            raise ValueError(
                f"volume {volume} has its lower limit {volumes.lower_m[volume]:g} m "
                f"above its upper limit {volumes.upper_m[volume]:g} m"
            )
        return volumes


@frozen(eq=False)
class Bands:
    """Open bands of every cell, from low to high.

    Attributes
    ----------
    edges_m : float64 array, shape (bands, 2, rows, cols)
        Lowest and highest usable altitude of each band, metres AMSL, both within the band;
        positive infinity where there is no ceiling, NaN in slots not in use. As many slots as the
        cell with the most bands needs, at least one.
    by : int16 array, shape (bands, 2, rows, cols)
        The volume that sets each edge; NO_VOLUME for the legal floor and for no ceiling, NO_BAND
        in slots not in use.
    is_unknown : bool array, shape (rows, cols)
        Cells that have no band because something about them is not known.
    """

    edges_m: Float64Array
    by: Int16Array
    is_unknown: BoolArray


def open_bands(
    floor_amsl_m: Float64Array,
    volumes: Volumes,
    lowest_ground_m: Float64Array,
    highest_ground_m: Float64Array,
    *,
    margin_m: float,
    top_m: float = math.inf,
    threads: int | None = None,
) -> Bands:
    """All altitudes of each cell at or above its floor that lie in no closed volume.

    A volume is closed from its lower limit less the margin to its upper limit plus the margin.
    With a margin those two altitudes can be flown, as can a limit that is not inclusive. Without
    one, the nearest altitude to an inclusive limit that can be flown is taken to be one foot away,
    the step of trade altitudes. A limit above ground follows the ground on the cautious side: the
    lower from the lowest ground of the cell, the upper from its highest.

    Parameters
    ----------
    floor_amsl_m : float64 array, shape (rows, cols)
        Legal floor, metres AMSL; infinite where nothing or everything is forbidden, NaN where
        unknown. What lies below the ground is not seen here: the floor must be above it.
    volumes : Volumes
        Closed volumes. One with a limit that is NaN makes all its cells unknown.
    lowest_ground_m, highest_ground_m : float64 array, shape (rows, cols)
        Ground in each cell, metres AMSL; NaN where unknown, which matters under a finite limit
        above ground only.
    margin_m : float
        Vertical margin, finite, at least 0, metres.
    top_m : float
        Altitudes above this, metres AMSL, are not looked at; a band that reaches it ends there,
        as if by no volume.
    threads : int or None
        Threads to share the rows among, one for each core if None. The answer does not depend
        on it.

    Returns
    -------
    Bands
        A band of a single altitude (two volumes that share a limit which neither includes) is
        kept.

    Raises
    ------
    ValueError
        A shape does not fit, the margin is negative or not finite, or `top_m` is NaN.
    """
    shape = volumes.group.shape
    arrays = {
        "floor_amsl_m": floor_amsl_m,
        "lowest_ground_m": lowest_ground_m,
        "highest_ground_m": highest_ground_m,
    }
    for name, array in arrays.items():
        if array.shape != shape:
            raise ValueError(f"{name} has shape {array.shape}; expected {shape} as the volumes")
    if not (math.isfinite(margin_m) and margin_m >= 0.0):
        raise ValueError(f"margin_m is {margin_m}; expected finite metres of 0 or more")
    if math.isnan(top_m):
        raise ValueError("top_m is NaN; expected metres or positive infinity")
    floor, lowest, highest = (
        np.ascontiguousarray(array, dtype=np.float64) for array in arrays.values()
    )
    limits = kernels.Limits(
        volumes.lower_m,
        volumes.upper_m,
        _gap_m(volumes.lower_is_inclusive, margin_m),
        _gap_m(volumes.upper_is_inclusive, margin_m),
        volumes.lower_is_agl,
        volumes.upper_is_agl,
        volumes.group,
        volumes.first_of_group,
        volumes.volume_of_group,
    )
    most_volumes = int(np.diff(volumes.first_of_group).max(initial=0))
    is_unknown = np.zeros(shape, dtype=np.bool_)

    def run(edges_m: Float64Array, by: Int16Array) -> int:
        """Fill the slots (none when they are to be counted); return the most bands of a cell."""
        most = [0]

        def work(first_row: int, end_row: int) -> None:
            found = kernels.band_rows(
                first_row, end_row, floor, limits, lowest, highest, float(top_m), most_volumes,
                edges_m, by, is_unknown,
            )  # fmt: skip
            most.append(found)

        over_row_bands(work, shape[0], threads=threads)
        return max(most)

    most_bands = run(np.empty((0, 2, *shape)), np.empty((0, 2, *shape), dtype=np.int16))
    slots = max(1, most_bands)
    edges_m = np.full((slots, 2, *shape), np.nan)
    by = np.full((slots, 2, *shape), NO_BAND, dtype=np.int16)
    run(edges_m, by)
    return Bands(edges_m, by, is_unknown)


def _gap_m(is_inclusive: BoolArray, margin_m: float) -> Float64Array:
    """How far from each limit the nearest altitude lies that can be flown."""
    if margin_m > 0.0:
        return np.full(is_inclusive.shape, margin_m)
    return np.where(is_inclusive, FOOT_M, 0.0)


def _column(name: str, values: ArrayLike, count: int, dtype: type) -> NDArray[Any]:
    array: NDArray[Any] = np.asarray(values, dtype=dtype)
    if array.ndim and array.shape != (count,):
        raise ValueError(f"{name} has shape {array.shape}; expected ({count},) as the covers")
    return np.array(np.broadcast_to(array, count))


def _groups(
    covers: Iterable[BoolArray], shape: tuple[int, int]
) -> tuple[Int32Array, list[list[int]], int]:
    """Group of each cell, the volumes of each group, and the count of volumes."""
    group = np.zeros(shape, dtype=np.int32)
    members: list[list[int]] = [[]]
    sizes = [group.size]
    count = 0
    for volume, cover in enumerate(covers):
        count += 1
        if cover.shape != shape:
            raise ValueError(f"cover {volume} has shape {cover.shape}; expected {shape}")
        covered = group[cover]
        moved = np.bincount(covered, minlength=len(members))
        becomes = np.arange(len(members), dtype=np.int32)
        for old in np.flatnonzero(moved):
            if moved[old] == sizes[old]:
                members[old].append(volume)
                continue
            becomes[old] = len(members)
            sizes[old] -= int(moved[old])
            sizes.append(int(moved[old]))
            members.append([*members[old], volume])
        group[cover] = becomes[covered]
    return group, members, count
