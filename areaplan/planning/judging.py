"""The drawn area judged: shares by altitude, the block, and the overall verdict."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Final

import numpy as np
from attrs import frozen
from numpy.typing import NDArray

from areaplan.planning.plan import (
    NO_BAND_FT,
    UNKNOWN_FT,
    UNREACHABLE_FT,
    Block,
    Cells,
    JudgedCells,
    Shares,
    Verdict,
)

# Whole feet from the lowest to the highest value that int16 answers may hold.
_LOWEST_FT: Final = -32768
_COUNT: Final = 65536
STEP_FT: Final = 100  # the table of shares goes by hundreds of feet
ABOVE_PLANNED_FT: Final = 1000  # and ends this far above the highest planned altitude


@frozen(eq=False)
class Tallies:
    """How many cells of the area are what, at every whole foot from -32,768 up.

    Attributes
    ----------
    cells : int
        Cells of the area.
    legal, safe, both : int64 arrays, shape (65536,)
        Entry i counts the cells at altitude i - 32,768 ft AMSL.
    unknown : int
        Cells of which legality or glide is unknown, at any altitude.
    """

    cells: int
    legal: NDArray[np.int64]
    safe: NDArray[np.int64]
    both: NDArray[np.int64]
    unknown: int

    def at(self, altitude_amsl_ft: int) -> Shares:
        """Shares of the area at one altitude."""
        index = altitude_amsl_ft - _LOWEST_FT
        return Shares(
            altitude_amsl_ft,
            legal_share=int(self.legal[index]) / self.cells,
            safe_share=int(self.safe[index]) / self.cells,
            legal_and_safe_share=int(self.both[index]) / self.cells,
            unknown_share=self.unknown / self.cells,
        )


def tally(cells: JudgedCells) -> Tallies:
    """Count the cells of the area at every whole foot, exactly, from the band edges.

    Raises
    ------
    ValueError
        No cell is in the area.
    """
    inside = cells.is_in_area
    count = int(inside.sum())
    if count == 0:
        raise ValueError("no cell of the grid touches the area")
    required = cells.glide_required_amsl_ft[inside].astype(np.int64)
    is_safe_known = required != UNKNOWN_FT
    can_reach = is_safe_known & (required != UNREACHABLE_FT)
    is_known = is_safe_known & ~cells.is_legal_unknown[inside]
    legal = np.zeros(_COUNT + 1, dtype=np.int64)
    both = np.zeros(_COUNT + 1, dtype=np.int64)
    for slot in cells.bands_amsl_ft:
        floor, ceiling = (edge[inside].astype(np.int64) for edge in slot)
        is_band = floor != NO_BAND_FT
        _add(legal, floor[is_band], ceiling[is_band])
        low = np.maximum(floor, required)
        is_both = is_band & can_reach & is_known & (low <= ceiling)
        _add(both, low[is_both], ceiling[is_both])
    safe = np.zeros(_COUNT + 1, dtype=np.int64)
    _add(safe, required[can_reach], np.full(int(can_reach.sum()), UNREACHABLE_FT))
    return Tallies(
        count,
        np.cumsum(legal)[:_COUNT],
        np.cumsum(safe)[:_COUNT],
        np.cumsum(both)[:_COUNT],
        int((~is_known).sum()),
    )


def _add(
    steps: NDArray[np.int64], floor_ft: NDArray[np.int64], ceiling_ft: NDArray[np.int64]
) -> None:
    steps += np.bincount(floor_ft - _LOWEST_FT, minlength=_COUNT + 1)
    steps -= np.bincount(ceiling_ft + 1 - _LOWEST_FT, minlength=_COUNT + 1)


def altitude_table(cells: Cells, planned_ft: Sequence[int]) -> tuple[int, ...]:
    """Hundreds of feet from the area's lowest ground to above the highest planned altitude."""
    ground = cells.terrain_amsl_ft[cells.is_in_area]
    known = ground[ground != UNKNOWN_FT]
    lowest = int(known.min()) if known.size else min(planned_ft)
    first = -(-lowest // STEP_FT) * STEP_FT
    last = (max(planned_ft) + ABOVE_PLANNED_FT) // STEP_FT * STEP_FT
    return tuple(range(min(first, last), last + 1, STEP_FT))


def find_block(tallies: Tallies, planned_ft: Sequence[int]) -> Block | None:
    """The block of altitudes that is legal and safe everywhere, if there is one.

    Of several, the one that holds most planned altitudes, then the thickest up to
    `ABOVE_PLANNED_FT` above the highest planned altitude, then the lowest. Blocks that begin
    higher than that are left out.
    """
    is_whole = tallies.both == tallies.cells
    edges = np.flatnonzero(np.diff(np.concatenate([[False], is_whole, [False]]).astype(np.int8)))
    top = max(planned_ft) + ABOVE_PLANNED_FT
    best: tuple[tuple[int, int, int], Block] | None = None
    for start, stop in zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True):
        floor, ceiling = start + _LOWEST_FT, stop - 1 + _LOWEST_FT
        if floor > top:
            continue
        held = sum(floor <= altitude <= ceiling for altitude in planned_ft)
        rank = (held, min(ceiling, top) - floor, -floor)
        if best is None or rank > best[0]:
            is_open_above = ceiling >= UNREACHABLE_FT - 1
            best = rank, Block(floor, None if is_open_above else ceiling)
    return None if best is None else best[1]


def best_altitude(tallies: Tallies, table: Sequence[int], planned_ft: Sequence[int]) -> Shares:
    """The altitude with the greatest legal and safe share; the nearest to a planned one on ties."""
    lowest, highest = min(table), max(table)
    start = lowest - _LOWEST_FT
    both = tallies.both[start : highest - _LOWEST_FT + 1]
    altitudes = np.flatnonzero(both == both.max()) + lowest
    away = np.abs(altitudes[:, None] - np.asarray(planned_ft)[None]).min(axis=1)
    return tallies.at(int(altitudes[away.argmin()]))


def overall_verdict(planned: Iterable[Shares], air: Verdict = Verdict.MET) -> Verdict:
    """UNKNOWN while any of the area is unknown; MET when all of it is legal and safe throughout.

    `air` is the verdict on wind and stated weather: too much wind or too little of the other is
    never met, however good the ground.
    """
    shares = list(planned)
    if air is Verdict.UNKNOWN or any(row.unknown_share > 0.0 for row in shares):
        return Verdict.UNKNOWN
    is_met = air is Verdict.MET and all(row.legal_and_safe_share == 1.0 for row in shares)
    return Verdict.MET if is_met else Verdict.NOT_MET
