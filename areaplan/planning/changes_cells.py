"""What changed over the ground between two results: floors, glide, and the classes of cells."""

from __future__ import annotations

from typing import Final

import numpy as np
from attrs import frozen
from numpy.typing import NDArray

from areaplan.grid import BoolArray, Int16Array, Int32Array
from areaplan.planning.plan import (
    NOBODY,
    UNKNOWN_FT,
    UNREACHABLE_FT,
    Binder,
    CellClass,
)
from areaplan.planning.result import Result

FLOOR: Final = "legal floor"
GLIDE: Final = "glide altitude"
_OUTSIDE: Final = -1


@frozen
class Extreme:
    """The greatest change of a surface one way, with its place and what binds there.

    `by_ft` is positive for a rise; `binder` is what sets the surface now where it rose, and what
    set it before where it fell; None where the ground itself or nothing does.
    """

    by_ft: int
    lat: float
    lon: float
    binder: Binder | None


@frozen
class SurfaceChange:
    """One surface over the part of the area that both plans hold; shares from 0 to 1 of it.

    Attributes
    ----------
    surface : str
    greatest_rise, greatest_fall : Extreme or None
        None where it rose, or fell, nowhere.
    risen_share, fallen_share : float
        Of cells known and finite before and now.
    closed_share, opened_share : float
        Where no altitude will do now and one did before; and the other way.
    newly_unknown_share, newly_known_share : float
    """

    surface: str
    greatest_rise: Extreme | None
    greatest_fall: Extreme | None
    risen_share: float
    fallen_share: float
    closed_share: float
    opened_share: float
    newly_unknown_share: float
    newly_known_share: float


@frozen
class ClassChange:
    """Cells of the common area at one altitude, shares from 0 to 1 of it.

    `lost` were legal with a field in reach and are known not to be; `gained` the other way;
    `newly_unknown` were known. `lat`, `lon`: a lost cell, the farthest inside the lost ground;
    None where none was lost.
    """

    altitude_amsl_ft: int
    lost_share: float
    gained_share: float
    newly_unknown_share: float
    lat: float | None
    lon: float | None


@frozen(eq=False)
class Overlay:
    """Cells of the new plan that lie in both areas, and the old cells beneath their centres.

    Attributes
    ----------
    new_cells, old_cells : (rows, cols) index arrays
        Of the same length; empty where the areas have nothing in common.
    new_area_share : float
        Share of the new area that lies in the old one, from 0 to 1.
    old_area_share : float
        Share of the old area that lies in the new one.
    is_same_grid : bool
        Whether both plans lie on one grid: then cells are compared with themselves.
    """

    new_cells: tuple[NDArray[np.int64], NDArray[np.int64]]
    old_cells: tuple[NDArray[np.int64], NDArray[np.int64]]
    new_area_share: float
    old_area_share: float
    is_same_grid: bool


def lay_over(old: Result, new: Result) -> Overlay:
    """Find the cells that both areas hold.

    Where the grids differ each new cell is compared with the old one that its centre lies in.
    """
    rows, cols = np.nonzero(new.cells.is_in_area)
    is_same = old.grid == new.grid and old.frame == new.frame
    if is_same:
        old_rows, old_cols = rows, cols
    else:
        x_m, y_m = new.grid.centre_x_m()[cols], new.grid.centre_y_m()[rows]
        old_rows, old_cols = _cells_at(old, *old.frame.to_local(*new.frame.to_lonlat(x_m, y_m)))
    is_common = old_rows != _OUTSIDE
    is_common[is_common] = old.cells.is_in_area[old_rows[is_common], old_cols[is_common]]
    covered = np.zeros(old.grid.shape, dtype=np.bool_)
    covered[old_rows[is_common], old_cols[is_common]] = True
    held_share = _held_share(old, new) if not is_same else None
    old_area = int(old.cells.is_in_area.sum())
    return Overlay(
        new_cells=(rows[is_common], cols[is_common]),
        old_cells=(old_rows[is_common], old_cols[is_common]),
        new_area_share=float(is_common.mean()),
        old_area_share=held_share if held_share is not None else int(covered.sum()) / old_area,
        is_same_grid=is_same,
    )


def is_same_ground(old: Result, new: Result) -> bool:
    """Whether every cell, in the area and around it, answers what it did."""
    answers = (
        "legal_floor_amsl_ft",
        "bands_amsl_ft",
        "is_legal_unknown",
        "glide_required_amsl_ft",
        "is_in_area",
    )
    return (old.grid, old.frame) == (new.grid, new.frame) and all(
        np.array_equal(getattr(old.cells, name), getattr(new.cells, name)) for name in answers
    )


def _held_share(old: Result, new: Result) -> float:
    rows, cols = np.nonzero(old.cells.is_in_area)
    x_m, y_m = old.grid.centre_x_m()[cols], old.grid.centre_y_m()[rows]
    new_rows, new_cols = _cells_at(new, *new.frame.to_local(*old.frame.to_lonlat(x_m, y_m)))
    is_held = new_rows != _OUTSIDE
    is_held[is_held] = new.cells.is_in_area[new_rows[is_held], new_cols[is_held]]
    return float(is_held.mean())


def _cells_at(
    result: Result, x_m: NDArray[np.float64], y_m: NDArray[np.float64]
) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    grid = result.grid
    cols = np.floor((x_m - grid.x_min_m) / grid.cell_m).astype(np.int64)
    rows = np.floor((grid.y_max_m - y_m) / grid.cell_m).astype(np.int64)
    is_inside = (rows >= 0) & (rows < grid.rows) & (cols >= 0) & (cols < grid.cols)
    return np.where(is_inside, rows, _OUTSIDE), np.where(is_inside, cols, _OUTSIDE)


def compare_surfaces(old: Result, new: Result, overlay: Overlay) -> tuple[SurfaceChange, ...]:
    """The legal floor and the altitude that the glide requires, cell by cell."""
    surfaces = (
        (FLOOR, "legal_floor_amsl_ft", "legal_floor_binder"),
        (GLIDE, "glide_required_amsl_ft", "glide_binder"),
    )
    return tuple(
        _compare_surface(
            name,
            (old, getattr(old.cells, values)[overlay.old_cells], overlay.old_cells),
            (new, getattr(new.cells, values)[overlay.new_cells], overlay.new_cells),
            binders,
        )
        for name, values, binders in surfaces
    )


_Side = tuple[Result, Int16Array, tuple[NDArray[np.int64], NDArray[np.int64]]]


def _compare_surface(name: str, before: _Side, after: _Side, binders: str) -> SurfaceChange:
    _, old_ft, _ = before
    new_side, new_ft, cells = after
    count = max(1, old_ft.size)
    was_known, is_known = old_ft != UNKNOWN_FT, new_ft != UNKNOWN_FT
    was_open, is_open = (
        was_known & (old_ft != UNREACHABLE_FT),
        is_known & (new_ft != UNREACHABLE_FT),
    )
    both = was_open & is_open
    rise = np.where(both, new_ft.astype(np.int32) - old_ft.astype(np.int32), 0)

    def extreme(index: int, side: _Side) -> Extreme | None:
        if rise.size == 0 or rise[index] == 0:
            return None
        lat, lon = _lat_lon(new_side, int(cells[0][index]), int(cells[1][index]))
        return Extreme(int(rise[index]), lat, lon, _binder(side, index, binders))

    highest = int(rise.argmax()) if rise.size else 0
    lowest = int(rise.argmin()) if rise.size else 0
    rose = rise.size and rise[highest] > 0
    fell = rise.size and rise[lowest] < 0
    return SurfaceChange(
        surface=name,
        greatest_rise=extreme(highest, after) if rose else None,
        greatest_fall=extreme(lowest, before) if fell else None,
        risen_share=int((rise > 0).sum()) / count,
        fallen_share=int((rise < 0).sum()) / count,
        closed_share=int((was_open & is_known & ~is_open).sum()) / count,
        opened_share=int((was_known & ~was_open & is_open).sum()) / count,
        newly_unknown_share=int((was_known & ~is_known).sum()) / count,
        newly_known_share=int((~was_known & is_known).sum()) / count,
    )


def _binder(side: _Side, index: int, binders: str) -> Binder | None:
    result, _, (rows, cols) = side
    table: Int32Array = getattr(result.cells, binders)
    number = int(table[rows[index], cols[index]])
    return None if number == NOBODY else result.binders[number]


def risen_cells(old: Result, new: Result, overlay: Overlay) -> BoolArray:
    """Where the floor or the glide asks for more than before, on the new plan's grid.

    A cell closed to all altitudes now counts as risen; one that is unknown now or was does not.
    """
    risen = np.zeros(overlay.new_cells[0].shape, dtype=np.bool_)
    for values in ("legal_floor_amsl_ft", "glide_required_amsl_ft"):
        before: Int16Array = getattr(old.cells, values)[overlay.old_cells]
        after: Int16Array = getattr(new.cells, values)[overlay.new_cells]
        risen |= (before != UNKNOWN_FT) & (after != UNKNOWN_FT) & (after > before)
    return _on_grid(new, overlay, risen)


def compare_classes(
    old: Result, new: Result, overlay: Overlay, altitude_amsl_ft: int
) -> tuple[ClassChange, BoolArray, BoolArray, BoolArray]:
    """What cells became at an altitude, and where, on the new plan's grid.

    Returns
    -------
    change : ClassChange
    is_lost, is_gained, is_newly_unknown : bool arrays of the new grid's shape
    """
    before = old.cells.classes(altitude_amsl_ft)[overlay.old_cells]
    after = new.cells.classes(altitude_amsl_ft)[overlay.new_cells]
    was_good, is_good = (
        before == CellClass.LEGAL_WITH_FIELD,
        after == CellClass.LEGAL_WITH_FIELD,
    )
    was_unknown, is_unknown = before == CellClass.UNKNOWN, after == CellClass.UNKNOWN
    picked = (
        was_good & ~is_good & ~is_unknown,
        is_good & ~was_good,
        is_unknown & ~was_unknown,
    )
    count = max(1, before.size)
    lost, gained, dark = (_on_grid(new, overlay, one) for one in picked)
    lat, lon = _deepest(new, lost)
    change = ClassChange(
        altitude_amsl_ft,
        lost_share=int(picked[0].sum()) / count,
        gained_share=int(picked[1].sum()) / count,
        newly_unknown_share=int(picked[2].sum()) / count,
        lat=lat,
        lon=lon,
    )
    return change, lost, gained, dark


def _on_grid(result: Result, overlay: Overlay, picked: BoolArray) -> BoolArray:
    where = np.zeros(result.grid.shape, dtype=np.bool_)
    where[overlay.new_cells] = picked
    return where


def _deepest(result: Result, where: BoolArray) -> tuple[float | None, float | None]:
    """A cell that is left when the ground is peeled ring by ring: inside its largest part."""
    if not where.any():
        return None, None
    left = where
    while True:
        inner = left.copy()
        inner[1:] &= left[:-1]
        inner[:-1] &= left[1:]
        inner[:, 1:] &= left[:, :-1]
        inner[:, :-1] &= left[:, 1:]
        inner[[0, -1]] = False
        inner[:, [0, -1]] = False
        if not inner.any():
            break
        left = inner
    row, col = divmod(int(left.argmax()), left.shape[1])
    return _lat_lon(result, row, col)


def _lat_lon(result: Result, row: int, col: int) -> tuple[float, float]:
    lon, lat = result.frame.to_lonlat(
        float(result.grid.centre_x_m()[col]), float(result.grid.centre_y_m()[row])
    )
    return float(lat), float(lon)
