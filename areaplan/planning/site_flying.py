"""A ground-reference figure flown at a place, and judged: every cell that its track touches."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Final

import numpy as np
import shapely
from attrs import frozen
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from areaplan.atmosphere import true_airspeed_range
from areaplan.engine.constant_radius import SteadyFlight
from areaplan.engine.flight import STANDARD_GRAVITY_MPS2
from areaplan.engine.ground_track import GroundTrack
from areaplan.engine.pylon_eights import pivotal_height_m
from areaplan.grid import BoolArray, Float64Array
from areaplan.planning.evaluation import silent
from areaplan.planning.flown import Course, CourseMargins, FlownScene, flown_scene, judge_course
from areaplan.planning.plan import NOBODY, UNKNOWN_FT, Plan
from areaplan.planning.point_margins import cells_under
from areaplan.planning.site import NEVER_FT, FieldAt, Site
from areaplan.planning.site_cells import CellsTouched, bulges_m, cells_touched
from areaplan.planning.site_layouts import Layout, Shape
from areaplan.planning.site_room import NO_ROOM_FT, Room
from areaplan.planning.winds import refuse_wind_as_fast
from areaplan.units import FOOT_M, Wind, feet_down, feet_up

ENTRY_STEP_FT: Final = 50  # altitudes that a pilot reads off an altimeter
# Entries are looked for so far above the lowest one, not halfway to a ceiling that is far off.
_ABOVE_LOWEST_FT: Final = 250
_QUARTERS: Final = 4
_NO_BASE: Final = (NO_ROOM_FT, NO_ROOM_FT)


@frozen(eq=False)
class SiteScene:
    """What sites are looked for in: made once for a wind, used for every figure.

    Attributes
    ----------
    flown : FlownScene
    flight : SteadyFlight
        The highest true airspeed of the altitudes considered, and the wind.
    lowest_tas_mps : float
        The lowest one, m/s.
    rooms : mapping
        By manoeuvre, the room between lowest and highest altitude.
    area : shapely geometry
        The drawn area, local metres.
    """

    flown: FlownScene
    flight: SteadyFlight
    lowest_tas_mps: float
    rooms: Mapping[str, Room]
    area: BaseGeometry

    @property
    def plan(self) -> Plan:
        """The plan judged by."""
        return self.flown.plan


def site_scene(
    plan: Plan, wind: Wind, rooms: Mapping[str, Room], progress: Callable[[str], None] = silent
) -> SiteScene:
    """Compute the glides of a plan in one wind, and how fast the figures are flown.

    Parameters
    ----------
    plan : Plan
    wind : Wind
    rooms : mapping
        From `site_room.figure_room`, by manoeuvre.
    progress : callable
        Told in a few words what is being done.

    Raises
    ------
    InputError
        The terrain files have changed since the plan was made, or a wind as fast as the aircraft.
    """
    slow_mps, fast_mps = _airspeeds_mps(plan, wind, rooms)
    refuse_wind_as_fast(plan.project, wind.speed_mps, slow_mps)
    flight = SteadyFlight(fast_mps, wind)
    flown = flown_scene(plan, wind, progress)
    area = shapely.union_all([row.geometry for row in plan.layers.area.rows])
    local = plan.frame.geometry_to_local(area)
    shapely.prepare(local)
    return SiteScene(flown, flight, slow_mps, rooms, local)


def _airspeeds_mps(plan: Plan, wind: Wind, rooms: Mapping[str, Room]) -> tuple[float, float]:
    """True airspeed at the lowest ground, and at the highest altitude planned or of a figure."""
    ground_ft = plan.cells.terrain_amsl_ft[plan.cells.is_in_area]
    ground_ft = ground_ft[ground_ft != UNKNOWN_FT]
    planned_ft = max(plan.project.planned_altitudes_amsl_ft)
    low_ft, high_ft = int(ground_ft.min(initial=planned_ft)), planned_ft
    for room in rooms.values():
        tops_ft = room.high_amsl_ft[np.abs(room.high_amsl_ft) < NO_ROOM_FT]
        if room.is_limited_above and tops_ft.size:
            high_ft = max(high_ft, int(tops_ft.max()))

    def airspeeds(to_ft: int) -> tuple[float, float]:
        return true_airspeed_range(
            plan.project.aircraft.manoeuvre_speed_mps,
            low_ft * FOOT_M,
            max(to_ft, low_ft) * FOOT_M,
            plan.project.isa_deviation_k,
        )

    if not all(room.is_limited_above for room in rooms.values()):
        # Then the pivotal height says how high, whatever the ceiling of the air.
        fast_mps = airspeeds(high_ft)[1]
        pivotal_ft = feet_up(float(pivotal_height_m(fast_mps, fast_mps + wind.speed_mps)))
        high_ft = max(high_ft, int(ground_ft.max(initial=low_ft)) + pivotal_ft)
    return airspeeds(high_ft)


def fly_site(scene: SiteScene, layout: Layout) -> Site:
    """Fly one layout in steps of half a cell, at the altitude with the greatest margin."""
    plan, shape = scene.plan, layout.shape
    room = scene.rooms[shape.figure.manoeuvre]
    track = shape.fly(0.5 * plan.grid.cell_m)
    touched = cells_touched(plan.grid, track, layout.x_m, layout.y_m)
    lowest, highest = _entries(scene, layout, track, touched)
    base_ft = _base_ft(plan, layout)
    entry, top_entry = _entry_ft(plan, shape, base_ft, max(lowest), highest)
    x_m, y_m = layout.x_m + track.east_m, layout.y_m + track.north_m
    course = Course(x_m, y_m, entry * FOOT_M + track.above_entry_m, track.track_deg_true)
    margins = judge_course(scene.flown, course)
    is_dark = room.is_unknown[touched.row, touched.col] & _is_inside(plan, touched)
    lon, lat = plan.frame.to_lonlat(x_m, y_m)
    return Site(
        layout=layout,
        track=track,
        course=course,
        margins=margins,
        entry_amsl_ft=entry,
        lowest_entry_amsl_ft=max(lowest),
        highest_entry_amsl_ft=highest,
        room_ft=max(entry - lowest[0], NEVER_FT),
        ceiling_ft=max(highest - top_entry, NEVER_FT),
        glide_ft=max(entry - lowest[1], NEVER_FT),
        edge_m=_edge_m(scene, x_m, y_m, float(np.abs(bulges_m(track)).max(initial=0.0))),
        is_unknown=bool(is_dark.any() or margins.is_unknown.any() or base_ft is _NO_BASE),
        fields=_fields_at(plan, track.time_s, margins),
        lon=lon,
        lat=lat,
    )


def _is_inside(plan: Plan, touched: CellsTouched) -> BoolArray:
    return np.asarray(touched.is_on_grid & plan.cells.is_in_area[touched.row, touched.col])


def _entries(
    scene: SiteScene, layout: Layout, track: GroundTrack, touched: CellsTouched
) -> tuple[tuple[int, int], int]:
    """Lowest entry by what stands and rules, and by the glide; highest entry; whole feet AMSL.

    Cells outside the area are left out: the edge tells of them.
    """
    figure = layout.shape.figure
    room = scene.rooms[figure.manoeuvre]
    inside = np.flatnonzero(_is_inside(scene.plan, touched))
    row, col = touched.row[inside], touched.col[inside]
    used_ft = gained_ft = feet_up(figure.tolerance_m)
    if layout.shape.entry_above_m is None:
        used_ft, gained_ft = max(used_ft, room.used_ft), max(gained_ft, room.gained_ft)
    else:
        used_ft += feet_up(_lower_when_slower_m(scene, layout.shape.entry_above_m, track))
    at_sea = Course(
        touched.x_m[inside],
        touched.y_m[inside],
        np.zeros(inside.size),
        touched.track_deg_true[inside],
    )
    required = judge_course(scene.flown, at_sea).glide_required_amsl_ft.astype(np.int64)
    # As in `judge_course`, no glide from above the airspeeds computed for is counted on.
    is_reached = (required != UNKNOWN_FT) & (required <= scene.flown.highest_amsl_ft)
    required = np.where(is_reached, required, NO_ROOM_FT)
    below_ft = touched.lowest_above_m[inside] / FOOT_M
    above_ft = touched.highest_above_m[inside] / FOOT_M
    low = np.ceil(room.low_amsl_ft[row, col] - below_ft).max(initial=-NO_ROOM_FT)
    glide = np.ceil(required - below_ft).max(initial=-NO_ROOM_FT)
    high = np.floor(room.high_amsl_ft[row, col] - above_ft).min(initial=NO_ROOM_FT)
    return (int(low) + used_ft, int(glide) + used_ft), int(high) - gained_ft


def _lower_when_slower_m(scene: SiteScene, entry_above_m: float, track: GroundTrack) -> float:
    """How much lower the pivotal height is at the lowest true airspeed than as flown, at most."""
    tas_mps = scene.flight.tas_mps
    heights_m = entry_above_m + track.above_entry_m
    tail_mps = heights_m * STANDARD_GRAVITY_MPS2 / tas_mps - tas_mps
    slow_mps = scene.lowest_tas_mps
    lower_m = pivotal_height_m(slow_mps, np.maximum(slow_mps + tail_mps, 0.0))
    return float(np.max(heights_m - lower_m))


def _base_ft(plan: Plan, layout: Layout) -> tuple[int, int]:
    """Ground of the lower and of the higher pylon, feet AMSL; `_NO_BASE` where it can't be told."""
    xy = shapely.get_coordinates(layout.reference.geometry)
    row, col, is_on = cells_under(plan.grid, xy[:, 0], xy[:, 1])
    ground_ft = plan.cells.terrain_amsl_ft[row, col].astype(np.int64)
    if layout.shape.entry_above_m is None:
        return 0, 0
    if not is_on.all() or (ground_ft == UNKNOWN_FT).any():
        return _NO_BASE
    return int(ground_ft.min()), int(ground_ft.max())


def _entry_ft(
    plan: Plan, shape: Shape, base_ft: tuple[int, int], lowest: int, highest: int
) -> tuple[int, int]:
    """The altitude at the entry, and the highest that may be flown there.

    Where the figure itself says how high, they are those above the lower and the higher pylon;
    otherwise both lie in the middle of the room.
    """
    planned_ft = max(plan.project.planned_altitudes_amsl_ft)
    if base_ft is _NO_BASE:
        return planned_ft, planned_ft
    if shape.entry_above_m is not None:
        low_ft, high_ft = base_ft
        return low_ft + feet_down(shape.entry_above_m), high_ft + feet_up(shape.entry_above_m)
    has_ceiling = abs(highest) < NO_ROOM_FT // 2
    if abs(lowest) > NO_ROOM_FT // 2:
        entry = min(planned_ft, highest) if has_ceiling else planned_ft
        return entry, entry
    reach = lowest + _ABOVE_LOWEST_FT
    middle = reach if highest > NO_ROOM_FT // 2 else min((lowest + highest) // 2, reach)
    if highest < -NO_ROOM_FT // 2:
        middle = planned_ft
    rounded = ENTRY_STEP_FT * round(middle / ENTRY_STEP_FT)
    entry = rounded if lowest <= rounded <= highest else middle
    return entry, entry


def _edge_m(scene: SiteScene, x_m: Float64Array, y_m: Float64Array, bulge_m: float) -> float:
    """Least distance of a track inside the area's edge; negative where it leaves the area."""
    line = shapely.LineString(np.stack([x_m, y_m], axis=1))
    if shapely.covers(scene.area, line):
        inside_m = float(shapely.distance(shapely.boundary(scene.area), line)) - bulge_m
        return inside_m if inside_m >= 0.0 else -FOOT_M
    points: NDArray[np.object_] = np.asarray(shapely.points(x_m, y_m))
    return -max(float(np.max(shapely.distance(scene.area, points))), FOOT_M)


def _fields_at(plan: Plan, time_s: Float64Array, margins: CourseMargins) -> tuple[FieldAt, ...]:
    """The field to use at the beginning of each quarter."""
    rows = []
    for quarter in range(_QUARTERS):
        share = quarter / _QUARTERS
        at = int(np.searchsorted(time_s, share * time_s[-1]))
        index, margin_ft = int(margins.field[at]), int(margins.glide_margin_ft[at])
        is_reached = index != NOBODY and margin_ft >= 0
        rows.append(FieldAt(share, plan.fields[index].name if is_reached else None, margin_ft))
    return tuple(rows)
