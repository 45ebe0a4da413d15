"""The room between lowest and highest altitude that a ground-reference figure has, cell by cell.

Of the open bands of a cell the one that leaves the most room counts; the glide is not in it: it
depends on the track at each point, and `site_flying.py` asks for it there.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np
from attrs import evolve, frozen

from areaplan.grid import BoolArray, Int32Array
from areaplan.planning.limits import sets_in_force
from areaplan.planning.manoeuvre_cells import AreaCells, Feet
from areaplan.planning.manoeuvres import demand_over, manoeuvres_in_force
from areaplan.planning.plan import NO_BAND_FT, NO_LIMIT_FT, Plan
from areaplan.rules.loading import load_rule_sets

NO_ROOM_FT: Final = 1 << 20  # a lowest altitude that no altitude reaches


@frozen(eq=False)
class Room:
    """Lowest and highest altitude of any moment of a figure. Arrays of the grid's shape.

    Attributes
    ----------
    low_amsl_ft : int32 array
        Whole feet AMSL, rounded up; `NO_ROOM_FT` outside the area, where it can't be told, and
        where no band is open.
    high_amsl_ft : int32 array
        Whole feet AMSL, rounded down; `NO_ROOM_FT` where nothing limits it from above.
    is_unknown : bool array
        It can't be told.
    used_ft, gained_ft : int
        Height that the manoeuvre's table keeps free below and above the entry.
    is_limited_above : bool
        The manoeuvre's tables say how high it is flown at most.
    """

    low_amsl_ft: Int32Array
    high_amsl_ft: Int32Array
    is_unknown: BoolArray
    used_ft: int
    gained_ft: int
    is_limited_above: bool


def figure_room(plan: Plan, manoeuvre: str) -> Room:
    """The room for figures whose heights a manoeuvre's tables give, the strictest of them.

    Parameters
    ----------
    plan : Plan
    manoeuvre : str
        Identifier of a built-in manoeuvre.

    Raises
    ------
    InputError
        A rule file has become unusable since the plan was made.
    """
    project = plan.project
    rule_sets = sets_in_force(load_rule_sets(project.rule_sets, project.rule_paths), project)
    demand = demand_over(plan, manoeuvres_in_force(rule_sets, project.flight)[manoeuvre])
    inside = AreaCells.of(plan)
    nothing = np.full(inside.count, -NO_ROOM_FT, dtype=np.int64)
    cells = evolve(inside, required_ft=nothing)  # of the glide the sites ask themselves
    surface_low, high_point = demand.lowest_point_ft(cells), demand.highest_point_ft(cells)
    low, high = _widest(cells.bands_ft, surface_low, high_point)
    unknown = cells.is_unknown(demand)
    low = np.where(unknown, NO_ROOM_FT, low)
    shape, area = plan.grid.shape, plan.cells.is_in_area

    def spread(values: Feet, elsewhere: int) -> Int32Array:
        grid = np.full(shape, elsewhere, dtype=np.int32)
        grid[area] = values
        return grid

    is_unknown = np.zeros(shape, dtype=np.bool_)
    is_unknown[area] = unknown
    return Room(
        spread(low, NO_ROOM_FT),
        spread(high, NO_ROOM_FT),
        is_unknown,
        demand.used_ft,
        demand.gained_ft,
        bool(demand.top) or demand.highest_ft is not None,
    )


def _widest(
    bands_ft: Sequence[Feet] | Feet, low_point: Feet, high_point: Feet
) -> tuple[Feet, Feet]:
    """Of all bands of each cell the one with the most room, as its lowest and highest altitude."""
    low = np.full(low_point.shape, NO_ROOM_FT, dtype=np.int64)
    high = np.full(low_point.shape, -NO_ROOM_FT, dtype=np.int64)
    room = np.full(low_point.shape, -4 * NO_ROOM_FT, dtype=np.int64)
    for floor_ft, ceiling_ft in bands_ft:
        first = np.maximum(floor_ft, low_point)
        last = np.minimum(ceiling_ft, high_point)
        last = np.where(last >= NO_LIMIT_FT, NO_ROOM_FT, last)
        is_wider = (floor_ft != NO_BAND_FT) & (last - first > room)
        low, high = np.where(is_wider, first, low), np.where(is_wider, last, high)
        room = np.where(is_wider, last - first, room)
    return low, high
