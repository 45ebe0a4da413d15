"""The cells as the page carries them: cut and coarsened as far as the file size asks."""

from __future__ import annotations

import json
import math
from collections.abc import Iterator
from typing import Any, Final

import numpy as np
from attrs import evolve, frozen
from numpy.typing import NDArray

from areaplan.errors import InputError
from areaplan.grid import Grid, Int16Array, Int32Array
from areaplan.planning.limits_by_wind import NOT_IN_CALM, OUTSIDE, UNKNOWN_IN_CALM, WindLimits
from areaplan.planning.plan import (
    NO_BAND_FT,
    NO_LIMIT_FT,
    NOBODY,
    UNKNOWN_FT,
    UNREACHABLE_FT,
    Cells,
    Plan,
)
from areaplan.render.map_codec import packed
from areaplan.render.map_pooling import box_of_area, coarsened, coarsened_limits, cut
from areaplan.render.map_wind import PageLimits, limits_on_grid
from areaplan.units import FOOT_M, NAUTICAL_MILE_M

# What is kept round the area when the file would grow too large.
KEPT_AROUND_M: Final = NAUTICAL_MILE_M
_LARGEST_FACTOR: Final = 12
_UNKNOWN_BIT: Final = 1
_IN_AREA_BIT: Final = 2


@frozen(eq=False)
class PageCells:
    """Cells as the page carries them.

    Attributes
    ----------
    grid : Grid
        The grid of the page's cells, in the same metres as the plan's.
    json_text : str
        The packed arrays as JSON, read by page/cells.js.
    notes : tuple of str
        What was cut or coarsened, for the sheet; empty when nothing was.
    """

    grid: Grid
    json_text: str
    notes: tuple[str, ...]


def page_cells(plan: Plan, budget_bytes: int, wind: WindLimits | None = None) -> PageCells:
    """Pack the cells into a budget: whole, else cut to the area, else coarsened as well.

    Parameters
    ----------
    plan : Plan
        The evaluated plan.
    budget_bytes : int
        Largest length of the JSON text.
    wind : WindLimits, optional
        Carried as well when given: the least limit of every cell.

    Raises
    ------
    InputError
        Even coarse cells exceed the budget.
    """
    size_bytes = 0
    limits = None if wind is None else limits_on_grid(wind, plan)
    for grid, cells, limits_here, notes in _candidates(plan, limits):
        text = _cells_json(plan, grid, cells, limits_here)
        size_bytes = len(text)
        if size_bytes <= budget_bytes:
            return PageCells(grid, text, notes)
    raise InputError.single(
        "map",
        "grid",
        found=f"the map's data take {size_bytes / 1e6:.1f} MB however coarse the cells",
        expected=f"at most {budget_bytes / 1e6:.1f} MB",
        fix="make the practice area smaller, or `cell` in [grid] larger",
    )


def _candidates(
    plan: Plan, limits: PageLimits | None
) -> Iterator[tuple[Grid, Cells, PageLimits | None, tuple[str, ...]]]:
    grid, cells = plan.grid, plan.cells
    yield grid, cells, limits, ()
    rows, cols = box_of_area(grid, cells.is_in_area, KEPT_AROUND_M)
    notes: tuple[str, ...] = ()
    near_grid, near_cells = cut(grid, cells, rows, cols)
    near = limits and evolve(limits, least_kt=limits.least_kt[rows, cols])
    if near_grid.shape != grid.shape:
        notes = (
            f"This map carries no data beyond {KEPT_AROUND_M / NAUTICAL_MILE_M:g} NM round the "
            "practice area, to keep the file small; the plan itself looked further.",
        )
        yield near_grid, near_cells, near, notes
    for factor in range(2, _LARGEST_FACTOR + 1):
        if near_grid.cell_m * factor > 0.25 * KEPT_AROUND_M:
            return
        coarse_grid, coarse_cells = coarsened(near_grid, near_cells, factor)
        coarse = near and evolve(
            near, least_kt=coarsened_limits(near.least_kt, coarse_grid, factor, OUTSIDE)
        )
        words = (
            f"This map carries cells of {coarse_grid.cell_m:g} m, each as cautious as the worst of "
            f"the {factor * factor} cells of {grid.cell_m:g} m below it, to keep the file small; "
            "shares shown here may be lower than the plan's own."
        )
        yield coarse_grid, coarse_cells, coarse, (*notes, words)


def _cells_json(plan: Plan, grid: Grid, cells: Cells, limits: PageLimits | None) -> str:
    bands = _used_bands(cells)
    (floor_binder, band_binder, glide_binder), used = _compact(
        cells.legal_floor_binder, cells.bands_binder[:bands], cells.glide_binder
    )
    flags = (
        cells.is_legal_unknown * np.int16(_UNKNOWN_BIT) + cells.is_in_area * np.int16(_IN_AREA_BIT)
    ).astype(np.int16)

    def stack(values: NDArray[np.int16], *, is_label: bool) -> list[dict[str, object]]:
        layers = values.reshape(-1, *grid.shape)
        return [packed(layer, is_label=is_label) for layer in layers]

    table: dict[str, Any] = {
        "rows": grid.rows,
        "cols": grid.cols,
        "cell_m": grid.cell_m,
        "x_min_m": grid.x_min_m,
        "y_max_m": grid.y_max_m,
        "foot_m": FOOT_M,
        "nautical_mile_m": NAUTICAL_MILE_M,
        "unknown_ft": UNKNOWN_FT,
        "unreachable_ft": UNREACHABLE_FT,
        "no_limit_ft": NO_LIMIT_FT,
        "no_band_ft": NO_BAND_FT,
        "nobody": NOBODY,
        "unknown_bit": _UNKNOWN_BIT,
        "in_area_bit": _IN_AREA_BIT,
        "binders": [
            [binder.limit.rule, binder.limit.title, binder.feature]
            for binder in (plan.binders[index] for index in used)
        ],
        "confirm": {
            limit.rule: limit.confirm
            for limit in (plan.binders[index].limit for index in used)
            if limit.confirm
        },
        "arrays": {
            "terrain_amsl_ft": stack(cells.terrain_amsl_ft, is_label=False),
            "legal_floor_amsl_ft": stack(cells.legal_floor_amsl_ft, is_label=False),
            "legal_floor_binder": stack(floor_binder, is_label=True),
            "bands_amsl_ft": stack(cells.bands_amsl_ft[:bands], is_label=False),
            "bands_binder": stack(band_binder, is_label=True),
            "glide_required_amsl_ft": stack(cells.glide_required_amsl_ft, is_label=False),
            "glide_binder": stack(glide_binder, is_label=True),
            "sector_amsl_ft": stack(cells.sector_amsl_ft, is_label=False),
            "sector_field": stack(cells.sector_field, is_label=True),
            "field": stack(cells.field, is_label=True),
            "flags": stack(flags, is_label=True),
        },
    }
    if limits is not None:
        table["wind"] = {
            "altitude_amsl_ft": limits.altitude_amsl_ft,
            "highest_kt": limits.highest_kt,
            "not_in_calm": NOT_IN_CALM,
            "unknown": UNKNOWN_IN_CALM,
            "outside": OUTSIDE,
        }
        table["arrays"]["wind_limit_kt"] = stack(limits.least_kt, is_label=True)
    return as_script_json(table)


def as_script_json(value: object) -> str:
    """JSON that can stand inside a script element: nothing in it can end or open one.

    Raises
    ------
    ValueError
        A number is not finite; JSON has no word for it.
    """
    text = json.dumps(value, ensure_ascii=True, allow_nan=False, separators=(",", ":"))
    return text.replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026")


def _used_bands(cells: Cells) -> int:
    """Bands up to the last slot that any cell uses, at least one."""
    is_used = (cells.bands_amsl_ft[:, 0] != NO_BAND_FT).any(axis=(1, 2))
    return max(1, int(np.flatnonzero(is_used)[-1]) + 1 if is_used.any() else 1)


def _compact(*binders: Int32Array) -> tuple[tuple[Int16Array, ...], tuple[int, ...]]:
    """Binders renumbered to those in use, so that they fit in int16."""
    used = np.unique(np.concatenate([np.unique(one) for one in binders]))
    used = used[used != NOBODY]
    if used.size > np.iinfo(np.int16).max:
        raise InputError.single(
            "map",
            "binders",
            found=f"{used.size} different features set limits on this map",
            expected=f"at most {np.iinfo(np.int16).max}",
            fix="make the practice area or `around` in [grid] smaller",
        )

    def renumber(values: Int32Array) -> Int16Array:
        place = np.searchsorted(used, values)
        return np.where(values == NOBODY, NOBODY, place).astype(np.int16)

    return tuple(map(renumber, binders)), tuple(int(index) for index in used)


def altitude_span_ft(plan: Plan) -> tuple[int, int]:
    """Lowest and highest altitude of the page's control, whole hundreds of feet AMSL.

    From the lowest known ground of the area to the highest altitude that the plan looked at,
    with room above the planned ones.
    """
    ground = plan.cells.terrain_amsl_ft[plan.cells.is_in_area]
    ground = ground[ground != UNKNOWN_FT]
    looked_at = [shares.altitude_amsl_ft for shares in plan.by_altitude]
    planned = list(plan.project.planned_altitudes_amsl_ft)
    lowest = min([int(ground.min())] if ground.size else looked_at + planned)
    highest = max([*looked_at, *(altitude + 500 for altitude in planned), lowest + 1000])
    lowest = min(lowest, *planned) if planned else lowest
    return math.floor(lowest / 100) * 100, math.ceil(highest / 100) * 100
