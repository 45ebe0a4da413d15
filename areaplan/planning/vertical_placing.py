"""Where in the area a figure that uses height fits with its drift, and the best place for it.

Every cell's centre is tried as the entry (of the steep spiral: as the point), on every heading the
figure may be entered on and to both sides. It fits where every cell that its track touches, in any
of the winds, lies wholly in the area and leaves the heights of its tables room in an open band,
above ground and rules and within gliding distance of a field whatever the heading, at its lowest
altitude: the height used is kept free below the entry all along the track. Of a cell's bands the
one nearest to the entry that `answer_manoeuvres` gives counts, so that neighbours agree.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np
import shapely
from attrs import evolve, frozen
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from areaplan.atmosphere import true_airspeed_range
from areaplan.engine.vertical_figures import Heights, VerticalFigure
from areaplan.grid import BoolArray, Grid, Int32Array
from areaplan.planning.glide import ABOVE_PLANNED_M
from areaplan.planning.limits import sets_in_force
from areaplan.planning.manoeuvre_cells import AreaCells, Demand, Feet
from areaplan.planning.manoeuvres import ManoeuvreAnswer, demand_over, manoeuvres_in_force
from areaplan.planning.plan import NO_BAND_FT, NO_LIMIT_FT, UNREACHABLE_FT, Plan
from areaplan.planning.site_cells import bulges_m, cells_touched
from areaplan.planning.site_room import NO_ROOM_FT
from areaplan.planning.vertical_shapes import VerticalShape, vertical_shapes
from areaplan.planning.winds import refuse_wind_as_fast, winds_met
from areaplan.rules.loading import load_rule_sets
from areaplan.rules.vertical_asked import VerticalAsked, VerticalKind, builtin_vertical
from areaplan.units import FOOT_M, Wind, feet_down, feet_up

ENTRY_STEP_FT: Final = 50
_ABOVE_LOWEST_FT: Final = 250  # entries are looked for so far above the lowest one

Cells = tuple[NDArray[np.int64], NDArray[np.int64]]


@frozen(eq=False)
class VerticalPlace:
    """The best place of a figure. Whole feet, margins rounded down.

    Attributes
    ----------
    lat, lon : float
        Of the entry; of the steep spiral the point that it is flown round.
    shape : VerticalShape
    entry_amsl_ft, lowest_entry_amsl_ft, highest_entry_amsl_ft : int
        The last is `site_room.NO_ROOM_FT` or near it where nothing limits it.
    room_ft, glide_ft, ceiling_ft : int
        Least height, with what the figure uses and gains kept free, above what ground and rules
        ask, above the altitude from which a field is reached on any heading, and below what limits
        it from above.
    edge_m : float
        Least distance of its track inside the area's edge.
    """

    lat: float
    lon: float
    shape: VerticalShape
    entry_amsl_ft: int
    lowest_entry_amsl_ft: int
    highest_entry_amsl_ft: int
    room_ft: int
    glide_ft: int
    ceiling_ft: int
    edge_m: float


@frozen(eq=False)
class Placing:
    """Where one manoeuvre fits.

    Attributes
    ----------
    asked : VerticalAsked
    wind : Wind
        At the ground; headings at the entry go by it.
    tas_mps : float
        The highest true airspeed at its entry.
    used_ft, gained_ft : int
        Below and above the entry: of the tables, or of the figure as flown where it is more.
    share : float
        Of the area's cells, 0 to 1, those that serve as its place at some entry altitude.
    place : VerticalPlace or None
        None where it fits nowhere.
    """

    asked: VerticalAsked
    wind: Wind
    tas_mps: float
    used_ft: int
    gained_ft: int
    share: float
    place: VerticalPlace | None


def place_manoeuvres(plan: Plan, answers: Sequence[ManoeuvreAnswer]) -> dict[str, Placing]:
    """Find where manoeuvres fit, in the plan's own winds.

    Parameters
    ----------
    plan : Plan
    answers : sequence of ManoeuvreAnswer
        From `answer_manoeuvres` for this plan.

    Returns
    -------
    dict
        By identifier; manoeuvres that are not among the built-in figures are left out.

    Raises
    ------
    InputError
        A rule file has become unusable since the plan was made, or a wind as fast as the aircraft.
    """
    project = plan.project
    rule_sets = sets_in_force(load_rule_sets(project.rule_sets, project.rule_paths), project)
    in_force, figures = manoeuvres_in_force(rule_sets, project.flight), builtin_vertical()
    cells, is_whole = AreaCells.of(plan), _wholly_inside(plan)
    found = {}
    for answer in answers:
        if answer.id in figures:
            demand = demand_over(plan, in_force[answer.id])
            found[answer.id] = _place(
                plan, figures[answer.id], demand, answer.entry_amsl_ft, cells, is_whole
            )
    return found


def _place(
    plan: Plan,
    asked: VerticalAsked,
    demand: Demand,
    anchor_ft: int | None,
    cells: AreaCells,
    is_whole: BoolArray,
) -> Placing:
    project, craft = plan.project, plan.project.aircraft
    top_ft = max(project.planned_altitudes_amsl_ft) + feet_down(ABOVE_PLANNED_M)
    anchor_ft = top_ft if anchor_ft is None else anchor_ft
    top_ft = max(top_ft, anchor_ft + _ABOVE_LOWEST_FT + demand.gained_ft)
    low_ft = int(cells.terrain_ft.min())
    deviation_k = project.isa_deviation_k
    speed_mps = craft.manoeuvre_speed_mps
    fast_mps = true_airspeed_range(
        speed_mps, min(low_ft, top_ft) * FOOT_M, top_ft * FOOT_M, deviation_k
    )[1]
    winds = winds_met(project, low_ft * FOOT_M, top_ft * FOOT_M).winds
    slowest_mps = min(craft.manoeuvre_speed_mps, craft.best_glide_speed_mps)
    refuse_wind_as_fast(project, max(wind.speed_mps for wind in winds), slowest_mps)
    heights = Heights(demand.used_ft * FOOT_M, demand.gained_ft * FOOT_M)
    step_m = 0.5 * plan.grid.cell_m
    shapes = tuple(vertical_shapes(asked, craft, fast_mps / speed_mps, winds, heights, step_m))
    flown = [figure for shape in shapes for figure in shape.flown]
    demand = evolve(
        demand,
        used_ft=max(demand.used_ft, *(feet_up(one.height_used_m) for one in flown)),
        gained_ft=max(demand.gained_ft, *(feet_up(one.height_gained_m) for one in flown)),
    )
    room = _room(plan, demand, cells, is_whole, anchor_ft)
    share, place = _best(plan, demand, shapes, room, top_ft)
    tas_mps = fast_mps
    if asked.kind is VerticalKind.STEEP_SPIRAL:
        tas_mps *= craft.best_glide_speed_mps / speed_mps
    return Placing(asked, winds[0], tas_mps, demand.used_ft, demand.gained_ft, share, place)


@frozen(eq=False)
class _Room:
    """Lowest and highest altitude of any moment, and the part of the lowest that the glide asks."""

    low_ft: Int32Array
    high_ft: Int32Array
    glide_ft: Int32Array
    solid_ft: Int32Array


def _room(
    plan: Plan,
    demand: Demand,
    cells: AreaCells,
    is_whole: BoolArray,
    anchor_ft: int,
) -> _Room:
    without_glide = evolve(cells, required_ft=np.full(cells.count, -NO_ROOM_FT, dtype=np.int64))
    solid, high_point = demand.lowest_point_ft(without_glide), demand.highest_point_ft(cells)
    floor, ceiling = _nearest_band(cells.bands_ft, anchor_ft)
    is_closed = cells.is_unknown(demand) | (cells.required_ft >= UNREACHABLE_FT)
    solid = np.where(is_closed, NO_ROOM_FT, np.maximum(solid, floor))
    high = np.minimum(ceiling, high_point)
    high = np.where(high >= NO_LIMIT_FT, NO_ROOM_FT, high)
    area = plan.cells.is_in_area

    def spread(values: Feet, elsewhere: int) -> Int32Array:
        grid = np.full(plan.grid.shape, elsewhere, dtype=np.int32)
        grid[area] = values
        return grid

    solid_grid = np.where(is_whole, spread(solid, NO_ROOM_FT), np.int32(NO_ROOM_FT))
    glide_grid = spread(np.where(is_closed, NO_ROOM_FT, cells.required_ft), NO_ROOM_FT)
    low_grid = np.maximum(solid_grid, glide_grid)
    return _Room(low_grid, spread(high, -NO_ROOM_FT), glide_grid, solid_grid)


def _nearest_band(bands_ft: Feet, anchor_ft: int) -> tuple[Feet, Feet]:
    """Of each cell's bands the one that holds an altitude, or comes nearest to it."""
    count = bands_ft.shape[-1]
    floor = np.full(count, NO_ROOM_FT, dtype=np.int64)
    ceiling = np.full(count, -NO_ROOM_FT, dtype=np.int64)
    nearest = np.full(count, NO_ROOM_FT, dtype=np.int64)
    for low, high in bands_ft:
        off = np.maximum(np.maximum(low - anchor_ft, anchor_ft - high), 0)
        is_nearer = (low != NO_BAND_FT) & (off < nearest)
        floor, ceiling = np.where(is_nearer, low, floor), np.where(is_nearer, high, ceiling)
        nearest = np.where(is_nearer, off, nearest)
    return floor, ceiling


def _best(
    plan: Plan, demand: Demand, shapes: Sequence[VerticalShape], room: _Room, top_ft: int
) -> tuple[float, VerticalPlace | None]:
    """Share of the area that serves, and the place with the largest smallest margin."""
    area = plan.cells.is_in_area
    rows, cols = np.nonzero(area)
    edge = shapely.boundary(_area_local(plan))
    shapely.prepare(edge)
    x_m, y_m = plan.grid.centre_x_m()[cols], plan.grid.centre_y_m()[rows]
    points: NDArray[np.object_] = np.asarray(shapely.points(x_m, y_m))
    off_edge_m = np.asarray(shapely.distance(edge, points))
    serves = np.zeros(rows.size, dtype=np.bool_)
    best: tuple[float, int, VerticalShape] | None = None
    for shape in shapes:
        low, high = _extremes(plan.grid, shape, room, rows, cols)
        # The airspeed flown holds up to the top looked at: no figure is placed above it.
        lowest, highest = low + demand.used_ft, np.minimum(high, top_ft) - demand.gained_ft
        fits = lowest <= highest
        serves |= fits
        if not fits.any():
            continue
        reach_m = max(figure.track.reach_m for figure in shape.flown)
        margin_ft = np.minimum(0.5 * (highest - lowest), float(_ABOVE_LOWEST_FT))
        margin_ft = np.minimum(margin_ft, (off_edge_m - reach_m) / FOOT_M)
        margin_ft = np.where(fits, margin_ft, -np.inf)
        # Of equal ones the farthest from the edge.
        top = np.flatnonzero(margin_ft == margin_ft.max())
        at = int(top[np.argmax(off_edge_m[top])])
        if best is None or margin_ft[at] > best[0]:
            best = (float(margin_ft[at]), at, shape)
    share = float(serves.sum()) / rows.size
    if best is None:
        return share, None
    _, at, shape = best
    return share, _told(plan, demand, shape, room, top_ft, (int(rows[at]), int(cols[at])))


def _extremes(
    grid: Grid,
    shape: VerticalShape,
    room: _Room,
    rows: NDArray[np.int64],
    cols: NDArray[np.int64],
) -> tuple[Feet, Feet]:
    """Highest low and lowest high of the cells touched from each place; no room off the grid."""
    down, right = footprint(grid, shape.flown)
    pad = int(max(np.abs(down).max(), np.abs(right).max()))
    low_ft = np.pad(room.low_ft, pad, constant_values=NO_ROOM_FT)
    high_ft = np.pad(room.high_ft, pad, constant_values=-NO_ROOM_FT)
    low = np.full(rows.size, -NO_ROOM_FT, dtype=np.int64)
    high = np.full(rows.size, NO_ROOM_FT, dtype=np.int64)
    for d, r in zip((down + pad).tolist(), (right + pad).tolist(), strict=True):
        low = np.maximum(low, low_ft[rows + d, cols + r])
        high = np.minimum(high, high_ft[rows + d, cols + r])
    return low, high


def footprint(grid: Grid, flown: Sequence[VerticalFigure]) -> Cells:
    """Cells that figures touch: rows and columns from the cell from whose centre they are flown."""
    size = 1 + 2 * max(int(np.ceil(one.track.reach_m / grid.cell_m)) + 2 for one in flown)
    middle = size // 2
    half_m = 0.5 * size * grid.cell_m
    board = Grid(x_min_m=-half_m, y_max_m=half_m, cell_m=grid.cell_m, rows=size, cols=size)
    touched = [cells_touched(board, one.track, 0.0, 0.0) for one in flown]
    numbers = np.unique(np.concatenate([one.row * size + one.col for one in touched]))
    return numbers // size - middle, numbers % size - middle


def _told(
    plan: Plan,
    demand: Demand,
    shape: VerticalShape,
    room: _Room,
    top_ft: int,
    cell: tuple[int, int],
) -> VerticalPlace:
    row, col = cell
    down, right = footprint(plan.grid, shape.flown)
    at = (row + down, col + right)
    solid = int(room.solid_ft[at].max()) + demand.used_ft
    glide = int(room.glide_ft[at].max()) + demand.used_ft
    high = int(room.high_ft[at].min()) - demand.gained_ft
    lowest = max(solid, glide)
    highest = min(high, top_ft - demand.gained_ft)
    middle = min((lowest + highest) // 2, lowest + _ABOVE_LOWEST_FT)
    rounded = ENTRY_STEP_FT * round(middle / ENTRY_STEP_FT)
    entry = rounded if lowest <= rounded <= highest else middle
    x_m, y_m = float(plan.grid.centre_x_m()[col]), float(plan.grid.centre_y_m()[row])
    lon, lat = plan.frame.to_lonlat(x_m, y_m)
    edge = shapely.boundary(_area_local(plan))
    edge_m = min(
        float(shapely.distance(edge, line)) - bulge_m
        for line, bulge_m in (_line(one, x_m, y_m) for one in shape.flown)
    )
    return VerticalPlace(
        lat=float(lat),
        lon=float(lon),
        shape=shape,
        entry_amsl_ft=entry,
        lowest_entry_amsl_ft=lowest,
        highest_entry_amsl_ft=high,
        room_ft=entry - solid,
        glide_ft=entry - glide,
        ceiling_ft=high - entry,
        edge_m=max(edge_m, 0.0),
    )


def _line(figure: VerticalFigure, x_m: float, y_m: float) -> tuple[BaseGeometry, float]:
    track = figure.track
    line = shapely.LineString(np.column_stack([x_m + track.east_m, y_m + track.north_m]))
    return line, float(np.abs(bulges_m(track)).max(initial=0.0))


def _area_local(plan: Plan) -> BaseGeometry:
    area = shapely.union_all([row.geometry for row in plan.layers.area.rows])
    return plan.frame.geometry_to_local(area)


def _wholly_inside(plan: Plan) -> BoolArray:
    """Cells whose whole square lies in the drawn area."""
    area = _area_local(plan)
    shapely.prepare(area)
    rows, cols = np.nonzero(plan.cells.is_in_area)
    half_m = 0.5 * plan.grid.cell_m
    x_m, y_m = plan.grid.centre_x_m()[cols], plan.grid.centre_y_m()[rows]
    boxes = shapely.box(x_m - half_m, y_m - half_m, x_m + half_m, y_m + half_m)
    is_whole = np.zeros(plan.grid.shape, dtype=np.bool_)
    is_whole[rows, cols] = shapely.covers(area, boxes)
    return is_whole
