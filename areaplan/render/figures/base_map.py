"""The ground that both maps are drawn on: frame, minutes, scale, contours, boundary, things."""

from __future__ import annotations

import math
from typing import Any, Final

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from areaplan.planning.briefing import Briefing
from areaplan.planning.plan import UNKNOWN_FT, Plan
from areaplan.render.figures.paper import INK, PAPER, RULE, SOFT, cased, plain
from areaplan.units import NAUTICAL_MILE_M

# What is shown round the area: a share of its longer side, inside limits.
_BEYOND_SHARE: Final = 0.25
_BEYOND_M: Final = (0.4 * NAUTICAL_MILE_M, 1.5 * NAUTICAL_MILE_M)
_SCALES_NM: Final = (4.0, 2.0, 1.0, 0.5)
_CONTOUR_STEPS_FT: Final = (20, 50, 100, 200, 500, 1000)
_MOST_CONTOURS: Final = 14
_MINUTES: Final = (0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 15.0, 30.0)
_MOST_TICKS: Final = 8
_CROSS_STEP_M: Final = 600.0  # between the crosses of a wire


def extent_m(plan: Plan) -> tuple[float, float, float, float]:
    """West, south, east, north of what a map shows, local metres: the area and a strip round it."""
    area = plan.frame.geometry_to_local(plan.layers.area.rows[0].geometry)
    west, south, east, north = area.bounds
    longer_m = max(east - west, north - south)
    beyond_m = min(max(_BEYOND_SHARE * longer_m, _BEYOND_M[0]), _BEYOND_M[1])
    grid = plan.grid
    return (
        max(west - beyond_m, grid.x_min_m),
        max(south - beyond_m, grid.y_min_m),
        min(east + beyond_m, grid.x_max_m),
        min(north + beyond_m, grid.y_max_m),
    )


def map_size_mm(plan: Plan, width_mm: float, most_mm: float) -> tuple[float, float]:
    """Width and height that show the extent without bending it, inside a given paper."""
    west, south, east, north = extent_m(plan)
    height_mm = width_mm * (north - south) / (east - west)
    if height_mm > most_mm:
        return width_mm * most_mm / height_mm, most_mm
    return width_mm, height_mm


def begin_map(axes: Any, plan: Plan) -> None:
    """Frame the extent with minutes of latitude and longitude, contours below, a scale inside."""
    west, south, east, north = extent_m(plan)
    axes.set_xlim(west, east)
    axes.set_ylim(south, north)
    axes.set_aspect("equal")
    axes.set_facecolor("#F4F3EE")
    _ticks(axes, plan)
    _contours(axes, plan)


def end_map(axes: Any, briefing: Briefing) -> None:
    """Boundary with its corners, wires, obstacles and a scale on top of all else."""
    plan = briefing.plan
    area = plan.frame.geometry_to_local(plan.layers.area.rows[0].geometry)
    outline(axes, area, linewidth=1.8)
    for corner in briefing.corners:
        x_m, y_m = plan.frame.to_local(corner.place.lon, corner.place.lat)
        words(axes, float(x_m), float(y_m), str(corner.number), size=7.5, weight="bold")
    for layer in plan.layers.wires:
        for row in layer.rows:
            _wire(axes, plan.frame.geometry_to_local(row.geometry))
    for standing in briefing.obstacles:
        x_m, y_m = plan.frame.to_local(standing.place.lon, standing.place.lat)
        if not _holds(plan, float(x_m), float(y_m)):
            continue
        axes.plot(
            [x_m], [y_m], marker="^", color=INK, markersize=3.6, markeredgecolor=PAPER,
            markeredgewidth=0.5, zorder=8,
        )  # fmt: skip
        if standing.top_amsl_ft is not None:
            words(axes, float(x_m), float(y_m), f"{standing.top_amsl_ft}", size=5.2, up=5)
    scale_and_north(axes, plan)


def _wire(axes: Any, geometry: BaseGeometry) -> None:
    """A span with a cross every few hundred metres, which reads in whatever direction it runs."""
    lines(axes, geometry, linewidth=0.7)
    for part in shapely.get_parts(geometry):
        along = np.arange(_CROSS_STEP_M / 2.0, float(part.length), _CROSS_STEP_M)
        xy = shapely.get_coordinates(shapely.line_interpolate_point(part, along))
        axes.plot(
            xy[:, 0], xy[:, 1], linestyle="", marker="x", markersize=3.2, markeredgewidth=0.8,
            color=INK, zorder=6,
        )  # fmt: skip


def outline(axes: Any, geometry: BaseGeometry, **style: Any) -> None:
    """The rings of polygons in ink on a white casing."""
    for polygon in shapely.get_parts(geometry):
        for ring in (polygon.exterior, *polygon.interiors):
            lines(axes, ring, **style)


def lines(axes: Any, geometry: BaseGeometry, **style: Any) -> None:
    """Lines in ink on a white casing."""
    given = {"color": INK, "zorder": 6, **style}
    width = float(given.get("linewidth", 1.0))
    for part in shapely.get_parts(geometry):
        xy = shapely.get_coordinates(part)
        axes.plot(xy[:, 0], xy[:, 1], path_effects=cased(width + 1.4), **given)


def filled(axes: Any, geometry: BaseGeometry, **style: Any) -> None:
    """Polygons as one patch, their holes open."""
    from matplotlib.patches import PathPatch
    from matplotlib.path import Path

    paths = [
        Path(shapely.get_coordinates(ring), closed=True)
        for polygon in shapely.get_parts(geometry)
        for ring in (polygon.exterior, *polygon.interiors)
    ]
    if paths:
        axes.add_patch(PathPatch(Path.make_compound_path(*paths), **style))


def words(
    axes: Any, x_m: float, y_m: float, text: str, *, size: float, up: float = 0.0, **style: Any
) -> None:
    """Words at a place, `up` points above it, cut off at the frame."""
    axes.annotate(
        plain(text), (x_m, y_m), xytext=(0, up), textcoords="offset points", ha="center",
        va="center", fontsize=size, path_effects=cased(), zorder=9, annotation_clip=True,
        clip_on=True, **style,
    )  # fmt: skip


def _holds(plan: Plan, x_m: float, y_m: float) -> bool:
    west, south, east, north = extent_m(plan)
    return west <= x_m <= east and south <= y_m <= north


def _contours(axes: Any, plan: Plan) -> None:
    grid, terrain = plan.grid, plan.cells.terrain_amsl_ft
    known = terrain != UNKNOWN_FT
    if not known.any():
        return
    low, high = int(terrain[known].min()), int(terrain[known].max())
    step = next(
        (one for one in _CONTOUR_STEPS_FT if (high - low) / one <= _MOST_CONTOURS),
        _CONTOUR_STEPS_FT[-1],
    )
    levels = np.arange(math.floor(low / step) * step + step, high, step)
    if levels.size == 0:
        return
    heights = np.where(known, terrain, np.nan).astype(np.float64)
    west, south, east, north = extent_m(plan)
    x_m, y_m = grid.centre_x_m(), grid.centre_y_m()
    cols, rows = (west <= x_m) & (x_m <= east), (south <= y_m) & (y_m <= north)
    drawn = axes.contour(
        x_m[cols], y_m[rows], heights[np.ix_(rows, cols)], levels=levels, colors=RULE,
        linewidths=0.3, zorder=1,
    )  # fmt: skip
    axes.clabel(drawn, fontsize=4.5, fmt="%d", inline_spacing=1)


def _ticks(axes: Any, plan: Plan) -> None:
    west, south, east, north = extent_m(plan)
    lon_w, lat_s = plan.frame.to_lonlat(west, south)
    lon_e, lat_n = plan.frame.to_lonlat(east, north)
    for axis, low, high, sides in (
        (axes.xaxis, float(lon_w), float(lon_e), ("E", "W")),
        (axes.yaxis, float(lat_s), float(lat_n), ("N", "S")),
    ):
        minutes = (high - low) * 60.0
        step = next((one for one in _MINUTES if minutes / one <= _MOST_TICKS), _MINUTES[-1])
        values = np.arange(math.ceil(low * 60 / step) * step, high * 60, step) / 60.0
        if axis is axes.xaxis:
            places = [float(plan.frame.to_local(one, float(lat_s))[0]) for one in values]
        else:
            places = [float(plan.frame.to_local(float(lon_w), one)[1]) for one in values]
        axis.set_ticks(places, [_minute(float(one), step, *sides) for one in values])
    axes.tick_params(labelsize=5.5, length=2.5, width=0.6, pad=1.5, top=True, right=True)


def _minute(value: float, step: float, plus: str, minus: str) -> str:
    """Degrees and minutes, with tenths where the ticks stand closer than a minute."""
    degrees, tenths = divmod(round(abs(value) * 600), 600)
    minutes = f"{tenths // 10:02d}" if step >= 1.0 else f"{tenths / 10:04.1f}"
    return f"{degrees}°{minutes}'{minus if value < 0 else plus}"


def scale_and_north(axes: Any, plan: Plan) -> tuple[tuple[float, float], ...]:
    """A scale in two halves, and where north is: grid north, under a degree from true.

    Returns
    -------
    tuple of (float, float)
        Places in local metres that other words had better keep off.
    """
    west, south, east, north = extent_m(plan)
    x_m, y_m = west + 0.03 * (east - west), south + 0.03 * (north - south)
    third_nm = (east - west) / NAUTICAL_MILE_M / 3.0
    whole_nm = next((one for one in _SCALES_NM if one <= third_nm), _SCALES_NM[-1])
    half_m = whole_nm * NAUTICAL_MILE_M / 2.0
    for begin in (0, 1):
        axes.plot(
            [x_m + begin * half_m, x_m + (begin + 1) * half_m], [y_m, y_m],
            color=INK if begin == 0 else SOFT, linewidth=3, solid_capstyle="butt", zorder=9,
            path_effects=cased(4.5),
        )  # fmt: skip
    words(axes, x_m + half_m, y_m, f"{whole_nm:g} NM", size=6, up=7)
    top = north - 0.02 * (north - south)
    at = east - 0.03 * (east - west)
    axes.annotate(
        "N", (at, top), xytext=(at, top - 0.08 * (north - south)), ha="center", fontsize=7,
        arrowprops={"arrowstyle": "->", "color": INK, "linewidth": 0.9}, path_effects=cased(),
        zorder=9,
    )  # fmt: skip
    return (*((x_m + half * half_m, y_m) for half in (0.0, 0.5, 1.0, 1.5, 2.0)), (at, top))
