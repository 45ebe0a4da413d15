"""Altitudes from which a power-off glide reaches a field, by the sector that it leaves in.

For each sector k of `moves.py` and each cell x, with S the surface to clear, "arrival" the
altitude at which the glide may end over a cell (the same for all sectors, or lower in some by a
goal of `goals.py`), and the moves m of the sector's cone:

    A_k(x) = max(S(x), min(arrival_k(x), min over m of max(A_k(x + m) + loss(m), clear(x, m))))
    clear(x, m) = max over the cells c crossed by m of S(c) + loss up to leaving c

What it says: an aircraft at *any* point over cell x, at or above A_k(x), wings level on a track
of the cone, reaches a field at its arrival altitude by tracks that all lie in the cone, and is
nowhere below the surface of the cell that it is over.

The same with the *first* move held to the moves within 15 degrees of the sector's centre is kept
beside it: a turn towards the sector then has a narrow range of tracks to end on.

Why it can be trusted:

- Any point of a cell: the moves are flown parallel to the lines between centres, and a move has to
  clear every cell that its cell's square sweeps (`moves.crossed_cells`); it ends at the like point
  of the next cell, down to the last one, which is the field's.
- While over a crossed cell the aircraft has lost no more than it has lost on leaving it, so it is
  there at or above A_k(x) less that loss, hence at or above S.
- The cone is narrower than 180 degrees: along one axis every move leads forward by a cell or more.
  In the order of that axis all cells that x needs are finished before x. One pass is exact.
- No rounding: surface, arrival and losses are rounded *up* to whole steps of 1/2048 m, which
  float32 holds exactly below 8,192 m, sums included. At and above that the answer is
  "unreachable".
- Unknown ground is never crossed, and neither is the edge of the grid.

Assumptions: the wind is steady and the same at all heights. Moves one after the other that stand
for a straight track between them are flown as that track. A real bend within the cone (60 degrees
at most) is not counted: its arc is shorter than the corner by about as much as its bank costs (60
degrees at 65 kt and 30 degrees of bank lose 2 m more and pass the corner 35 m inside).
"""

from __future__ import annotations

from typing import Any, Final

import numpy as np
from attrs import frozen
from numpy.typing import NDArray

from areaplan.engine.goals import Goals
from areaplan.engine.moves import SECTORS, MoveLosses
from areaplan.engine.sweeps import (
    GROUPS,
    Answers,
    Group,
    Rows,
    group_steps,
    passable,
    sweep_in_bands,
    turned,
)
from areaplan.engine.threads import over_row_bands
from areaplan.grid import Float32Array, Int16Array

NO_FIELD: Final = -1
BAND_ROWS: Final = 32  # swept at a time, so that they are still in a core's cache when turned back


@frozen(eq=False)
class SectorSurfaces:
    """What a glide needs at each cell, by departure sector.

    Attributes
    ----------
    required_amsl_m : float32 array, shape (12, rows, cols)
        Lowest altitude, metres AMSL, for a glide that leaves in sector k (centred on 30 k degrees
        true), already on a track of its cone. Infinity where no known way leads to a field, NaN
        over unknown ground.
    field : int16 array, shape (12, rows, cols), or None
        Index of the field that this glide ends at, `NO_FIELD` where none; None if not asked for.
    ahead_amsl_m : float32 array, shape (12, rows, cols), or None
        As `required_amsl_m`, for a glide whose first move lies within 15 degrees of the sector's
        centre (the further ones anywhere in the cone). What `worst_heading` needs; None if it
        has been dropped to save memory.
    """

    required_amsl_m: Float32Array
    field: Int16Array | None
    ahead_amsl_m: Float32Array | None = None


def sector_surfaces(
    surface_amsl_m: Float32Array,
    arrival_amsl_m: Float32Array,
    cell_m: float,
    losses: MoveLosses,
    field_index: Int16Array | None = None,
    *,
    goals: Goals | None = None,
    threads: int | None = None,
) -> SectorSurfaces:
    """Compute the twelve surfaces; see the module for the recursion and what it promises.

    Parameters
    ----------
    surface_amsl_m : float32 array, shape (rows, cols)
        Altitude to clear: the highest ground, obstacle or tree of the cell and the clearance above
        it. NaN where unknown. Row 0 is the northernmost.
    arrival_amsl_m : float32 array, same shape
        Altitude at which the glide may end over the cell; infinity or NaN where there is no field.
    cell_m : float
        Side of a cell, metres, above 0.
    losses : MoveLosses
        Loss along each move in the wind considered.
    field_index : int16 array, same shape, or None
        Number of the field of a cell, `NO_FIELD` where none, to be told which field each glide
        ends at.
    goals : Goals or None
        Cells at which glides of single sectors may end, besides those of `arrival_amsl_m`.
    threads : int or None
        Count of threads; None takes one for each core. The result is the same for any number.

    Raises
    ------
    ValueError
        Arrays of different shapes, a cell size that is not above 0, or goals off the grid.
    """
    given = [surface_amsl_m, arrival_amsl_m] + ([] if field_index is None else [field_index])
    shapes = {array.shape for array in given}
    if len(shapes) != 1 or surface_amsl_m.ndim != 2:
        raise ValueError(f"arrays of shapes {sorted(shapes)}; expected one shape (rows, cols)")
    if not cell_m > 0.0:
        raise ValueError(f"cell of {cell_m} m; expected a side above 0")
    ends = Goals.none() if goals is None else goals
    ends.require_within(surface_amsl_m.shape)
    field = np.empty((0, 0), np.int16) if field_index is None else field_index.astype(np.int16)
    upright, turned_rows = _both_ways(surface_amsl_m, arrival_amsl_m, field, threads)
    unknown = np.isnan(surface_amsl_m)
    has_unknown = bool(unknown.any())
    required = np.empty((SECTORS, *surface_amsl_m.shape), np.float32)
    ahead = np.empty_like(required)
    label = np.empty((SECTORS, *field.shape), np.int16)

    def work(first_group: int, end_group: int) -> None:
        for group in GROUPS[first_group:end_group]:
            whole = turned_rows if group.is_turned else upright

            def read(first: int, end: int, whole: Rows = whole) -> Rows:
                rows = slice(first, end)
                return Rows(whole.surface[rows], whole.arrival[rows], whole.field[rows])

            def write(first: int, end: int, found: Answers, at: int, group: Group = group) -> None:
                rows = slice(at, at + end - first)
                pairs: list[tuple[Any, Any]] = [
                    (required, found.required),
                    (ahead, found.ahead),
                    (label, found.label),
                ]
                for target, source in pairs[: 3 if field.size else 2]:
                    for number, sector in enumerate(group.sectors):
                        if group.is_turned:
                            target[sector][:, first:end] = source[number, rows].T
                        else:
                            target[sector][first:end] = source[number, rows]

            steps = group_steps(group, cell_m, losses)
            ends_here = ends.rows_for(group, surface_amsl_m.shape)
            sweep_in_bands(steps, whole.surface.shape, BAND_ROWS, ends_here, read, write)
            if has_unknown:
                for sector in group.sectors:
                    np.copyto(required[sector], np.float32(np.nan), where=unknown)
                    np.copyto(ahead[sector], np.float32(np.nan), where=unknown)

    over_row_bands(work, len(GROUPS), threads=threads, band_rows=1)
    return SectorSurfaces(required, None if field_index is None else label, ahead)


def _both_ways(
    surface_amsl_m: Float32Array,
    arrival_amsl_m: Float32Array,
    field: Int16Array,
    threads: int | None,
) -> tuple[Rows, Rows]:
    """All rows as the sweeps read them, upright and turned."""
    surface, arrival = np.empty((2, *surface_amsl_m.shape), np.float32)
    surface_turned, arrival_turned = np.empty((2, *surface.shape[::-1]), np.float32)

    def lay(row0: int, row_end: int) -> None:
        rows = slice(row0, row_end)
        for given, upright, across in (
            (surface_amsl_m, surface, surface_turned),
            (arrival_amsl_m, arrival, arrival_turned),
        ):
            upright[rows] = passable(given[rows])
            across[:, rows] = upright[rows].T

    over_row_bands(lay, len(surface), threads=threads, band_rows=BAND_ROWS)
    return Rows(surface, arrival, field), Rows(surface_turned, arrival_turned, turned(field))


def sectors_reached(surfaces: SectorSurfaces, altitude_amsl_m: float) -> NDArray[np.int8]:
    """Count the sectors, 0 to 12, in which a field is within gliding distance at an altitude.

    Unknown ground counts 0: nothing is known to be reached from there.
    """
    count = np.zeros(surfaces.required_amsl_m.shape[1:], np.int8)
    for required in surfaces.required_amsl_m:
        count += required <= altitude_amsl_m
    return count
