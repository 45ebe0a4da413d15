"""Where a manoeuvre fits, cell by cell in whole feet, and what stops it where it does not."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

import numpy as np
from attrs import frozen
from numpy.typing import NDArray

from areaplan.grid import BoolArray, Float64Array
from areaplan.planning.choice import GLIDE_LIMIT
from areaplan.planning.plan import (
    NO_BAND_FT,
    NO_LIMIT_FT,
    NOBODY,
    UNKNOWN_FT,
    UNREACHABLE_FT,
    Binder,
    Plan,
)
from areaplan.rules.flying import Manoeuvre
from areaplan.rules.model import Severity
from areaplan.units import FOOT_M

Feet = NDArray[np.int64]

_LOWEST_FT: Final = -32768
_COUNT: Final = 65536
_MOST_STOPS: Final = 6
_SLACK_FT: Final = 1e-6  # as in units.feet_up
_NO_FLOOR_FT: Final = -32000


@frozen(eq=False)
class AreaCells:
    """The cells of the area in whole feet, one value each; `bands` has shape (slots, 2, cells)."""

    terrain_ft: Feet
    required_ft: Feet
    floor_ft: Feet
    bands_ft: Feet
    bands_binder: Feet
    floor_binder: Feet
    is_silent: BoolArray

    @property
    def count(self) -> int:
        """Cells of the area."""
        return int(self.terrain_ft.size)

    @classmethod
    def of(cls, plan: Plan) -> AreaCells:
        """The cells of a plan's area."""
        cells = plan.cells
        inside = cells.is_in_area
        required = cells.glide_required_amsl_ft[inside].astype(np.int64)
        terrain = cells.terrain_amsl_ft[inside].astype(np.int64)
        return cls(
            terrain,
            required,
            cells.legal_floor_amsl_ft[inside].astype(np.int64),
            cells.bands_amsl_ft[:, :, inside].astype(np.int64),
            cells.bands_binder[:, :, inside].astype(np.int64),
            cells.legal_floor_binder[inside].astype(np.int64),
            cells.is_legal_unknown[inside] | (required == UNKNOWN_FT) | (terrain == UNKNOWN_FT),
        )

    def is_unknown(self, demand: Demand) -> BoolArray:
        """Cells where it can't be told."""
        dark = self.is_silent.copy()
        for _, floor_ft in demand.obstructions:
            dark |= floor_ft == UNKNOWN_FT
        return dark


@frozen(eq=False)
class Demand:
    """What a manoeuvre asks, in whole feet, each with the table that asks.

    Attributes
    ----------
    completion, top : tuples of (Manoeuvre, feet above ground)
    lowest_ft, highest_ft : int or None
        The block of the school, AMSL.
    block_by : Manoeuvre or None
    used_ft, gained_ft : int
    obstructions : tuple of (Manoeuvre, feet AMSL for each cell)
    """

    completion: tuple[tuple[Manoeuvre, int], ...]
    top: tuple[tuple[Manoeuvre, int], ...]
    lowest_ft: int | None
    highest_ft: int | None
    block_by: Manoeuvre | None
    used_ft: int
    gained_ft: int
    obstructions: tuple[tuple[Manoeuvre, Feet], ...] = ()

    def lowest_point_ft(self, cells: AreaCells) -> Feet:
        """Lowest altitude of any moment of it, but for rules and airspace."""
        low = np.maximum(cells.required_ft, cells.terrain_ft)
        for _, height_ft in self.completion:
            low = np.maximum(low, cells.terrain_ft + height_ft)
        for _, floor_ft in self.obstructions:
            low = np.maximum(low, floor_ft)
        return low if self.lowest_ft is None else np.maximum(low, self.lowest_ft)

    def needed_entry_ft(self, cells: AreaCells, otherwise_ft: int) -> int:
        """Lowest entry at which neither ground, rules nor glide ask for more, where any is enough.

        `otherwise_ft` where it can't be told anywhere.
        """
        low = np.maximum(self.lowest_point_ft(cells), cells.floor_ft)
        known = low[~cells.is_unknown(self) & (low < UNREACHABLE_FT)]
        return int(known.max()) + self.used_ft if known.size else otherwise_ft

    def highest_point_ft(self, cells: AreaCells) -> Feet:
        """Highest altitude of any moment of it, but for airspace."""
        high = np.full(cells.terrain_ft.shape, NO_LIMIT_FT, dtype=np.int64)
        for _, height_ft in self.top:
            high = np.minimum(high, cells.terrain_ft + height_ft)
        return high if self.highest_ft is None else np.minimum(high, self.highest_ft)


def lowest_ft(floor_amsl_m: Float64Array) -> Feet:
    """Floors in whole feet, rounded up; NaN to UNKNOWN_FT, -inf to no floor at all."""
    feet = np.ceil(np.clip(floor_amsl_m / FOOT_M - _SLACK_FT, _NO_FLOOR_FT, UNREACHABLE_FT))
    return np.where(np.isnan(feet), float(UNKNOWN_FT), feet).astype(np.int64)


def fitting_counts(cells: AreaCells, demand: Demand) -> Feet:
    """How many cells take the manoeuvre, for every whole foot of entry from -32,768 up."""
    steps = np.zeros(_COUNT + 1, dtype=np.int64)
    low_point, high_point = demand.lowest_point_ft(cells), demand.highest_point_ft(cells)
    is_known = ~cells.is_unknown(demand) & (cells.required_ft != UNREACHABLE_FT)
    for floor_ft, ceiling_ft in cells.bands_ft:
        high = np.minimum(ceiling_ft, high_point)
        # A ceiling that the data do not have is not lowered by the height gained.
        last = np.where(high >= NO_LIMIT_FT, NO_LIMIT_FT - 1, high - demand.gained_ft)
        first = np.maximum(floor_ft, low_point) + demand.used_ft
        fits = is_known & (floor_ft != NO_BAND_FT) & (first <= last)
        steps += np.bincount(first[fits] - _LOWEST_FT, minlength=_COUNT + 1)
        steps -= np.bincount(last[fits] + 1 - _LOWEST_FT, minlength=_COUNT + 1)
    return np.cumsum(steps)[:_COUNT]


_Found = tuple[str, str, str, str, str, float]


def stops_at(
    cells: AreaCells, demand: Demand, entry_ft: int, binders: Sequence[Binder]
) -> tuple[_Found, ...]:
    """What stops a manoeuvre that is entered at an altitude, the greatest share first.

    Returns
    -------
    tuple of (rule, title, severity, feature, confirm, share of the area)
    """
    low, high = entry_ft - demand.used_ft, entry_ft + demand.gained_ft
    found = [
        (*words, int(mask.sum()) / cells.count)
        for words, mask in _all_stops(cells, demand, low, high, binders)
        if mask.any()
    ]
    return tuple(sorted(found, key=lambda row: -row[5])[:_MOST_STOPS])


_Words = tuple[str, str, str, str, str]


def _all_stops(
    cells: AreaCells, demand: Demand, low: int, high: int, binders: Sequence[Binder]
) -> Iterator[tuple[_Words, BoolArray]]:
    unknown = ("unknown", "the data do not say", Severity.LAW.value, "", "")
    dark = cells.is_unknown(demand)
    yield unknown, dark
    known = ~dark
    for row, height_ft in demand.completion:
        words = _words(row, f"lowest point less than {row.completion_text} above the ground")
        yield words, known & (low < cells.terrain_ft + height_ft)
    for row, height_ft in demand.top:
        words = _words(row, f"highest point more than {row.top_text} above the ground")
        yield words, known & (high > cells.terrain_ft + height_ft)
    for row, floor_ft in demand.obstructions:
        words = _words(
            row,
            f"less than {row.above_highest_text} above the highest thing within {row.within_text}",
        )
        yield words, known & (low < floor_ft)
    is_outside = (demand.lowest_ft is not None and low < demand.lowest_ft) or (
        demand.highest_ft is not None and high > demand.highest_ft
    )
    if is_outside and demand.block_by is not None:
        yield _words(demand.block_by, "outside the school's block for it"), known
    yield (
        (GLIDE_LIMIT.rule, GLIDE_LIMIT.title, GLIDE_LIMIT.severity.value, "", ""),
        known & (low < cells.required_ft),
    )
    yield from _closed(cells, known, low, high, binders)


def _words(row: Manoeuvre, title: str) -> _Words:
    return (row.id, title, row.severity.value, "", row.confirm)


def _closed(
    cells: AreaCells, known: BoolArray, low: int, high: int, binders: Sequence[Binder]
) -> Iterator[tuple[_Words, BoolArray]]:
    """Rules whose floor is too high, and airspace between the lowest and the highest point."""
    by, is_closed = closing_binder(cells, low, high)
    is_closed &= known
    for index in np.unique(by[is_closed]):
        mask = is_closed & (by == index)
        if index == NOBODY:
            yield ("airspace", "no open band holds it", Severity.LAW.value, "", ""), mask
            continue
        limit, feature = binders[int(index)].limit, binders[int(index)].feature
        yield (limit.rule, limit.title, limit.severity.value, feature, limit.confirm), mask


def closing_binder(cells: AreaCells, low_ft: int, high_ft: int) -> tuple[Feet, BoolArray]:
    """What closes each cell to a flight between two altitudes, glide and the unknown left aside.

    Parameters
    ----------
    cells : AreaCells
    low_ft, high_ft : int
        Lowest and highest altitude flown, whole feet AMSL; the same for level flight.

    Returns
    -------
    by : int64 array, shape (cells,)
        Index into `Plan.binders` of what closes the cell: a rule whose floor is above the lowest
        point, else the airspace on top of the band below, else what is under the first band above;
        NOBODY where there is no such band. To be read where `is_closed` only.
    is_closed : bool array, shape (cells,)
        No open band holds both altitudes; true as well where nothing is known.
    """
    is_open = np.zeros(cells.count, dtype=np.bool_)
    by = np.full(cells.count, NOBODY, dtype=np.int64)
    for (floor_ft, ceiling_ft), binder in zip(cells.bands_ft, cells.bands_binder, strict=True):
        is_band = floor_ft != NO_BAND_FT
        is_open |= is_band & (floor_ft <= low_ft) & (high_ft <= ceiling_ft)
        # The airspace on top of the band below, else that under the first band above.
        is_under = is_band & (floor_ft <= low_ft) & (ceiling_ft < high_ft)
        is_first = is_band & (floor_ft > low_ft) & (by == NOBODY)
        by = np.where(is_under, binder[1], np.where(is_first, binder[0], by))
    return np.where(low_ft < cells.floor_ft, cells.floor_binder, by), ~is_open
