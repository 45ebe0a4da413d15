"""Points flown, judged: of a simulated manoeuvre, a planned route or a recorded flight alike.

Each point is judged by its cell, as `areaplan point` judges a place, but for one thing: the glide
is that from the point's own track over the ground (`engine.heading_surfaces`), not from the worst
heading. Heights are whole feet, rounded to the cautious side of each margin.

Assumptions: at every point the engine fails at the project's manoeuvre speed, wings level, on the
track given; the project's rules on the choice of fields ask for more than a glide and are not in
it (as in `planning.track`).
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final

import numpy as np
import shapely
from attrs import evolve, field, fields, frozen
from numpy.typing import NDArray

from areaplan.engine.glide import SectorSurfaces
from areaplan.engine.heading_surfaces import HeadingSurfaces, required_by_heading
from areaplan.engine.turns import TurnModel
from areaplan.grid import BoolArray, Float64Array, Int16Array, Int32Array
from areaplan.planning.cells import feet_up_array
from areaplan.planning.evaluation import silent
from areaplan.planning.glide import (
    ABOVE_PLANNED_M,
    GlideScene,
    glide_scene,
    own_winds,
    sectors_in_wind,
    turn_model,
)
from areaplan.planning.plan import NOBODY, UNKNOWN_FT, UNREACHABLE_FT, Plan
from areaplan.planning.point_margins import (
    NEVER_FT,
    cells_under,
    least_turning_field,
    legal_margins,
    whole_feet,
)
from areaplan.planning.reading import lay_ground
from areaplan.planning.winds import WindsMet
from areaplan.units import FOOT_M, Wind, feet_down

_CHUNK: Final = 1 << 17  # points judged at a time, so that a long recording needs little memory


__all__ = [
    "NEVER_FT",
    "Course",
    "CourseMargins",
    "FlownScene",
    "flown_scene",
    "judge_course",
]


def _numbers(values: Any) -> Float64Array:
    return np.array(values, dtype=np.float64, ndmin=1)


@frozen(eq=False)
class Course:
    """Points flown, arrays of one shape (n,). A point that is not finite is one not known.

    Attributes
    ----------
    x_m, y_m : float64 array
        Local metres of the project's frame, east and north.
    altitude_amsl_m : float64 array
        Metres above mean sea level.
    track_deg_true : float64 array
        Over the ground, degrees true.

    Raises
    ------
    ValueError
        Arrays of different shapes, or of more than one axis.
    """

    x_m: Float64Array = field(converter=_numbers)
    y_m: Float64Array = field(converter=_numbers)
    altitude_amsl_m: Float64Array = field(converter=_numbers)
    track_deg_true: Float64Array = field(converter=_numbers)

    def __attrs_post_init__(self) -> None:
        arrays = (self.x_m, self.y_m, self.altitude_amsl_m, self.track_deg_true)
        shapes = {array.shape for array in arrays}
        if len(shapes) != 1 or self.x_m.ndim != 1:
            raise ValueError(f"arrays of shapes {sorted(shapes)}; expected one shape (points,)")

    def __len__(self) -> int:
        return self.x_m.size


@frozen(eq=False)
class FlownScene:
    """Everything that points flown are judged by: made once by `flown_scene`, asked often.

    Attributes
    ----------
    plan : Plan
        What is legal: it does not depend on the wind.
    wind : Wind or WindsMet
        What the glides were computed in.
    glide : GlideScene
        Its project is the plan's, with the wind asked for.
    sectors : SectorSurfaces
        Labelled, by departure sector; without `ahead_amsl_m`.
    headings : HeadingSurfaces
    highest_amsl_ft : int
        Up to here the glide's airspeeds were taken: no glide that asks for more is counted on.
    turn : TurnModel
    notes : tuple of str
        What a person must know about the wind used.
    """

    plan: Plan
    wind: Wind | WindsMet
    glide: GlideScene
    sectors: SectorSurfaces
    headings: HeadingSurfaces
    highest_amsl_ft: int
    turn: TurnModel
    notes: tuple[str, ...] = ()


@frozen(eq=False)
class CourseMargins:
    """What each point of a course answers; arrays of shape (n,), heights in whole feet.

    Attributes
    ----------
    legal_margin_ft : int32 array
        0 or more: least distance to an edge of the open band that the point is in. Negative: how
        far it is to the nearest open band. `NEVER_FT` where no altitude is open, `UNKNOWN_FT`
        where unknown.
    legal_binder : int32 array
        Index into `Plan.binders` of what sets that edge; NOBODY where unknown.
    glide_required_amsl_ft : int32 array
        Lowest altitude from which a field is reached on the point's own track; `UNREACHABLE_FT`
        where none is known to be enough, `UNKNOWN_FT` where unknown.
    glide_margin_ft : int32 array
        The point's altitude less that; `UNKNOWN_FT` where unknown, `NEVER_FT` where none is known
        to be enough, or more is asked for than the scene's `highest_amsl_ft`. A point higher than
        that, over a place that asks for less, has a margin: it comes through there on its way down.
    field : int16 array
        Index into `Plan.fields`: of the departure sector that asks for the least, with the height
        lost in the turn on to it, from the point's own cell; NOBODY where none or unknown. In
        reach only where `glide_margin_ft` is 0 or more. The ground covered in the turn is in the
        margin, but not in the choice of this name: where two fields ask for nearly the same, the
        other one may be meant.
    height_agl_ft : int32 array
        Above the highest ground of the cell; `UNKNOWN_FT` where unknown.
    is_in_area : bool array
        The point itself lies in the drawn area, edges included.
    is_unknown : bool array
        Something asked of the point can't be told: it lies off the grid or is not finite, or its
        rules, airspace, ground or glide are unknown.
    """

    legal_margin_ft: Int32Array
    legal_binder: Int32Array
    glide_required_amsl_ft: Int32Array
    glide_margin_ft: Int32Array
    field: Int16Array
    height_agl_ft: Int32Array
    is_in_area: BoolArray
    is_unknown: BoolArray

    @property
    def is_met(self) -> BoolArray:
        """Where the point is known to be legal with a field within gliding distance."""
        return np.asarray(
            ~self.is_unknown & (self.legal_margin_ft >= 0) & (self.glide_margin_ft >= 0)
        )


_ANSWERS: Final = tuple(one.name for one in fields(CourseMargins))


def flown_scene(
    plan: Plan, wind: Wind | None = None, progress: Callable[[str], None] = silent
) -> FlownScene:
    """Compute the glides that points flown are judged by.

    Parameters
    ----------
    plan : Plan
    wind : Wind or None
        The wind to glide in, the same at all heights; the project's table of winds aloft, made for
        another wind, is then left aside (a note says so). None takes the project's own winds.
    progress : callable
        Told in a few words what is being done.

    Raises
    ------
    InputError
        The terrain files have changed since the plan was made.
    """
    progress("gliding distance from every heading")
    project = plan.project
    notes: tuple[str, ...] = ()
    if wind is not None:
        notes = _wind_notes(plan, wind)
        project = evolve(project, wind=wind, wind_source="as asked", winds_aloft=())
    ground = lay_ground(plan.layers.terrain, plan.frame, plan.grid)
    scene = glide_scene(project, plan.layers, ground)
    winds = own_winds(scene)
    sectors = sectors_in_wind(scene, winds)
    model = turn_model(scene, winds)
    headings = required_by_heading(sectors, scene.surface_amsl_m, plan.grid.cell_m, model)
    return FlownScene(
        plan=plan,
        wind=winds if wind is None else wind,
        glide=scene,
        sectors=evolve(sectors, ahead_amsl_m=None),
        headings=headings,
        highest_amsl_ft=feet_down(project.planned_altitudes_amsl_ft[-1] * FOOT_M + ABOVE_PLANNED_M),
        turn=model,
        notes=notes,
    )


def _wind_notes(plan: Plan, wind: Wind) -> tuple[str, ...]:
    project = plan.project
    if wind == project.wind and not project.winds_aloft:
        return ()
    note = f"Wind {wind} as asked, in place of the project's {project.wind}"
    aloft = "; its table of winds aloft is left aside" if project.winds_aloft else ""
    return (f"{note}{aloft}.",)


def judge_course(scene: FlownScene, course: Course) -> CourseMargins:
    """Judge every point of a course.

    Parameters
    ----------
    scene : FlownScene
    course : Course
        In the frame of the scene's plan.

    Returns
    -------
    CourseMargins
        One answer a point, in the same order; points off the grid are unknown.
    """
    starts = range(0, max(1, len(course)), _CHUNK)
    parts = [_judge(scene, course, slice(start, start + _CHUNK)) for start in starts]
    if len(parts) == 1:
        return parts[0]
    return CourseMargins(
        *(np.concatenate([getattr(part, name) for part in parts]) for name in _ANSWERS)
    )


def _judge(scene: FlownScene, course: Course, part: slice) -> CourseMargins:
    x_m, y_m = course.x_m[part], course.y_m[part]
    altitude_m, track = course.altitude_amsl_m[part], course.track_deg_true[part]
    cells = scene.plan.cells
    row, col, is_on_grid = cells_under(scene.plan.grid, x_m, y_m)
    down_ft, up_ft, is_altitude = whole_feet(altitude_m)
    is_placed = is_on_grid & is_altitude
    legal_ft, binder = legal_margins(cells, row, col, down_ft, up_ft)
    is_legal_known = is_placed & ~cells.is_legal_unknown[row, col]
    is_glide_placed = is_on_grid & np.isfinite(track)
    required_m = scene.headings.required_amsl_m(row, col, track)
    required_ft = np.where(
        is_glide_placed, feet_up_array(required_m[np.newaxis])[0], np.int16(UNKNOWN_FT)
    ).astype(np.int32)
    is_too_high = required_ft > scene.highest_amsl_ft
    glide_ft = np.where(is_too_high, NEVER_FT, down_ft - required_ft)
    is_glide_known = is_altitude & (required_ft != UNKNOWN_FT)
    terrain_ft = cells.terrain_amsl_ft[row, col]
    is_height_known = is_placed & (terrain_ft != UNKNOWN_FT)
    field_of = least_turning_field(scene.sectors, scene.turn, row, col, track)
    has_way = (required_ft != UNKNOWN_FT) & (required_ft != UNREACHABLE_FT)
    return CourseMargins(
        legal_margin_ft=_known(legal_ft, is_legal_known),
        legal_binder=np.where(is_legal_known, binder, np.int32(NOBODY)),
        glide_required_amsl_ft=required_ft,
        glide_margin_ft=_known(glide_ft, is_glide_known),
        field=np.where(has_way, field_of, np.int16(NOBODY)),
        height_agl_ft=_known(down_ft - terrain_ft, is_height_known),
        is_in_area=_in_area(scene, x_m, y_m),
        is_unknown=~(is_legal_known & is_glide_known & is_height_known),
    )


def _known(margin_ft: NDArray[np.int64], is_known: BoolArray) -> Int32Array:
    return np.where(is_known, margin_ft, UNKNOWN_FT).astype(np.int32)


def _in_area(scene: FlownScene, x_m: Float64Array, y_m: Float64Array) -> BoolArray:
    area = scene.plan.frame.geometry_to_local(scene.plan.layers.area.rows[0].geometry)
    shapely.prepare(area)
    is_finite = np.isfinite(x_m) & np.isfinite(y_m)
    inside = shapely.intersects_xy(
        area, np.where(is_finite, x_m, 0.0), np.where(is_finite, y_m, 0.0)
    )
    return np.asarray(is_finite & inside)
