"""Routes in and out and the gates between, judged like the area: legal, with a field all along.

A route is judged on its line, at its altitude, in every cell that it crosses, on the track flown
there; a gate whatever the heading. As everywhere, unknown is never clear: a route of which any
part is unknown is UNKNOWN.
"""

from __future__ import annotations

from typing import Final

import numpy as np
import shapely

from areaplan.engine.ways import HEADING_STEP_DEG, HEADINGS
from areaplan.engine.worst_heading import reach_cells
from areaplan.errors import InputError
from areaplan.grid import BoolArray, Int32Array
from areaplan.planning.flown import Course, CourseMargins, FlownScene, judge_course
from areaplan.planning.gates import Gate, Route, Use
from areaplan.planning.plan import UNKNOWN_FT, Verdict
from areaplan.planning.project import Project
from areaplan.planning.route_answers import GateAnswer, InAndOut, RouteAnswer
from areaplan.planning.route_course import RouteCourse, route_course
from areaplan.planning.route_telling import Told, lowest_met_ft
from areaplan.units import FOOT_M, NAUTICAL_MILE_M

ASSUMPTIONS: Final = (
    "A route is judged on its line and at its altitude, in every cell that it crosses. To one "
    "side of it, or lower, what is said here may not hold.",
    "The glide along a route is that from the track flown, in a bend from all tracks of the turn; "
    "at a gate it is that of the worst heading. The wind is steady.",
    "Rules on the choice of fields ask for more than one field within gliding distance; they are "
    "judged over the area, not along routes.",
)


def judge_routes(scene: FlownScene) -> tuple[RouteAnswer, ...]:
    """Judge every route of the project, those for both directions once each way."""
    return tuple(
        _judge_route(scene, route, is_reversed)
        for route in scene.plan.project.routes
        for is_reversed in ((False, True) if route.use is Use.BOTH else (False,))
    )


def judge_gates(scene: FlownScene) -> tuple[GateAnswer, ...]:
    """Judge every gate of the project at its altitude."""
    return tuple(_judge_gate(scene, gate) for gate in scene.plan.project.gates)


def judge_all(scene: FlownScene) -> InAndOut:
    """Judge every gate and every route of the project."""
    return InAndOut(scene, judge_gates(scene), judge_routes(scene))


def refuse_nothing(project: Project) -> None:
    """Refuse a project that declares neither gates nor routes.

    Raises
    ------
    InputError
        With what to add.
    """
    if not project.gates and not project.routes:
        raise InputError.single(
            str(project.path),
            "route",
            found="neither a [[route]] nor a [[gate]] table",
            expected="at least one of them to judge",
            fix='add [[route]] with name, points = [[LAT, LON], ...], altitude = "2100 ft AMSL"',
        )


def _judge_route(scene: FlownScene, route: Route, is_reversed: bool) -> RouteAnswer:
    plan = scene.plan
    points = route.points[::-1] if is_reversed else route.points
    flown = route_course(points, route.altitude_amsl_ft * FOOT_M, plan.grid, plan.frame)
    margins = judge_course(scene, flown.course)
    told = Told(scene, flown, margins)
    everywhere = np.ones(len(flown.course), dtype=np.bool_)
    is_legal, has_field = margins.legal_margin_ft >= 0, margins.glide_margin_ft >= 0
    return RouteAnswer(
        route=route,
        is_reversed=is_reversed,
        verdict=_verdict(margins),
        length_nm=flown.total_m / NAUTICAL_MILE_M,
        legal=told.legal(everywhere),
        glide=told.glide(everywhere),
        lowest_agl_ft=_lowest(margins.height_agl_ft),
        met_share=told.share(margins.is_met),
        legal_share=told.share(is_legal),
        field_share=told.share(has_field),
        unknown_share=told.share(margins.is_unknown),
        stretches=tuple(told.stretches()),
        around_needed_m=_around_needed(scene, flown.course, margins.is_unknown),
        lowest_met_amsl_ft=lowest_met_ft(scene, flown, margins),
    )


def _judge_gate(scene: FlownScene, gate: Gate) -> GateAnswer:
    plan = scene.plan
    x_m, y_m = (float(value) for value in plan.frame.to_local(gate.lon, gate.lat))
    tracks = np.arange(HEADINGS) * HEADING_STEP_DEG
    same = np.ones(HEADINGS)
    course = Course(x_m * same, y_m * same, gate.altitude_amsl_ft * FOOT_M * same, tracks)
    margins = judge_course(scene, course)
    told = Told(scene, RouteCourse(course, 0.0 * same, 0.0 * same), margins)
    everywhere = np.ones(HEADINGS, dtype=np.bool_)
    area = plan.frame.geometry_to_local(plan.layers.area.rows[0].geometry)
    return GateAnswer(
        gate=gate,
        verdict=_verdict(margins),
        legal=told.legal(everywhere),
        glide=None if margins.is_unknown.any() else told.glide(everywhere),
        height_agl_ft=_lowest(margins.height_agl_ft),
        to_edge_nm=float(shapely.distance(area.boundary, shapely.Point(x_m, y_m)))
        / NAUTICAL_MILE_M,
        is_in_area=bool(margins.is_in_area[0]),
        around_needed_m=_around_needed(scene, course, margins.is_unknown),
    )


def _verdict(margins: CourseMargins) -> Verdict:
    if margins.is_unknown.any():
        return Verdict.UNKNOWN
    return Verdict.MET if margins.is_met.all() else Verdict.NOT_MET


def _lowest(height_agl_ft: Int32Array) -> int | None:
    known = height_agl_ft[height_agl_ft != UNKNOWN_FT]
    return int(known.min()) if known.size else None


def _around_needed(scene: FlownScene, course: Course, is_unknown: BoolArray) -> float | None:
    """The reach of the grid with which unknown points near or beyond its edge would lie within.

    Near: where the windows of a turn, in which nothing may be unknown, leave the grid.
    """
    grid = scene.plan.grid
    x_m, y_m = course.x_m[is_unknown], course.y_m[is_unknown]
    within_m = np.min(
        [x_m - grid.x_min_m, grid.x_max_m - x_m, y_m - grid.y_min_m, grid.y_max_m - y_m], axis=0
    )
    missing_m = reach_cells(scene.turn, grid.cell_m) * grid.cell_m - within_m
    if not missing_m.size or missing_m.max() <= 0.0:
        return None
    return scene.plan.project.around_m + float(missing_m.max())
