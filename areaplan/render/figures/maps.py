"""The two maps of the briefing: the area with its classes and airspace, and its fields."""

from __future__ import annotations

from typing import Any, Final

import numpy as np
import shapely

from areaplan.planning.briefing import Briefing, wind_altitude_ft
from areaplan.planning.field_list import best_index
from areaplan.planning.plan import CellClass, Plan
from areaplan.render.briefing.places import wind_words
from areaplan.render.document.model import Figure
from areaplan.render.figures.base_map import (
    begin_map,
    end_map,
    extent_m,
    filled,
    lines,
    map_size_mm,
    outline,
    words,
)
from areaplan.render.figures.paper import INK, PAPER, SOFT, as_svg, canvas, cased
from areaplan.render.frames import class_frame
from areaplan.render.map_classes import CLASS_STYLES
from areaplan.render.text import CLASS_WORDS, percent_down, percent_up
from areaplan.units import feet_text

WIDTH_MM: Final = 186.0
MOST_MM: Final = 205.0
_LEFT_MM: Final = 13.0
_RIGHT_MM: Final = 3.0
_LEGEND_MM: Final = 18.0
_TICKS_MM: Final = 5.0
# The page's patterns as matplotlib writes them.
HATCH: Final = {
    "plain": "",
    "slash": "/////",
    "backslash": "\\\\\\\\\\",
    "cross": "xxxx",
    "dots": "....",
}
ALPHA: Final = 0.85


def overview(briefing: Briefing) -> Figure:
    """The area at its most usable planned altitude: classes, airspace, gates, routes, obstacles."""
    plan, name = briefing.plan, "overview"
    altitude_ft = wind_altitude_ft(plan)
    with canvas(name, *_paper_mm(briefing)) as sheet:
        axes = _axes(sheet, briefing)
        begin_map(axes, plan)
        handles = draw_classes(axes, plan, altitude_ft)
        _airspace(axes, briefing)
        _ways(axes, briefing)
        for quiet in briefing.plan.layers.noise:
            for row in quiet.rows:
                local = plan.frame.geometry_to_local(row.geometry)
                outline(axes, local, linewidth=0.8, linestyle=(0, (5, 2, 1, 2)))
        end_map(axes, briefing)
        _legend(sheet, handles, _OVERVIEW_MARKS)
        svg = as_svg(sheet, name)
    return Figure(
        name,
        svg,
        f"The area at {feet_text(altitude_ft)} AMSL",
        "Numbers are the corners of the table; beside obstacles the top as used, feet AMSL. "
        "Plain ground is usable; every pattern means do not use.",
        WIDTH_MM,
    )


def draw_classes(axes: Any, plan: Plan, altitude_ft: int) -> list[Any]:
    """Fill what every part of the area is, and give what the legend says of it."""
    from matplotlib.patches import Patch

    frame = class_frame(plan, altitude_ft)
    shares = dict(zip(frame["cell_class"], frame["share"], strict=True))
    handles = []
    for style in CLASS_STYLES:
        if int(style.cell_class) not in shares:
            continue
        shape = frame.geometry[frame["cell_class"] == int(style.cell_class)].iloc[0]
        look: dict[str, Any] = {
            "facecolor": style.fill,
            "edgecolor": style.ink,
            "hatch": HATCH[style.pattern],
            "linewidth": 0.0,
        }
        filled(axes, plan.frame.geometry_to_local(shape), **look, alpha=ALPHA, zorder=2)
        share = shares[int(style.cell_class)]
        is_good = style.cell_class is CellClass.LEGAL_WITH_FIELD
        told = percent_down(share) if is_good else percent_up(share)
        handles.append(Patch(label=f"{CLASS_WORDS[style.cell_class]}: {told}", **look))
    return handles


_OVERVIEW_MARKS: Final = (
    ("boundary", {"linewidth": 1.8}),
    ("airspace, closed", {"linewidth": 1.4, "linestyle": (0, (7, 2, 1.5, 2))}),
    ("airspace, open", {"linewidth": 0.8, "linestyle": (0, (6, 3))}),
    ("noise-sensitive", {"linewidth": 0.8, "linestyle": (0, (5, 2, 1, 2))}),
    ("route", {"linewidth": 1.1, "linestyle": (0, (1.5, 1.5))}),
    ("wires", {"linewidth": 0.7, "marker": "x", "markersize": 3.2}),
    ("obstacle", {"linewidth": 0.0, "marker": "^", "markersize": 4}),
)


_ALWAYS_DRAWN: Final = (_OVERVIEW_MARKS[0], *_OVERVIEW_MARKS[-2:])


def fields_map(briefing: Briefing) -> Figure:
    """The fields with the best way to land, woods, wires and obstacles."""
    plan, name = briefing.plan, "fields"
    from matplotlib.patches import Patch

    counts: dict[str, Any] = {"facecolor": "#5DBCE2", "edgecolor": INK, "linewidth": 0.5}
    other: dict[str, Any] = {
        "facecolor": PAPER,
        "edgecolor": INK,
        "linewidth": 0.5,
        "hatch": "////",
    }
    wood: dict[str, Any] = {
        "facecolor": "#DDD9CB",
        "edgecolor": SOFT,
        "linewidth": 0.4,
        "hatch": "...",
    }
    with canvas(name, *_paper_mm(briefing)) as sheet:
        axes = _axes(sheet, briefing)
        begin_map(axes, plan)
        for layer in plan.layers.woods:
            for row in layer.rows:
                filled(axes, plan.frame.geometry_to_local(row.geometry), **wood, zorder=2)
        for measured in briefing.fields:
            local = plan.frame.geometry_to_local(measured.field.geometry)
            filled(axes, local, **(counts if measured.counts else other), zorder=3)
            index = best_index(measured)
            if measured.counts and index is not None:
                begin, end = measured.strips.touchdown_m[index], measured.strips.rollout_m[index]
                axes.annotate(
                    "", tuple(end), xytext=tuple(begin), zorder=7, annotation_clip=True,
                    arrowprops={
                        "arrowstyle": "-|>", "color": INK, "linewidth": 0.8, "mutation_scale": 5,
                        "shrinkA": 0, "shrinkB": 0,
                    },
                )  # fmt: skip
            middle = local.representative_point()
            title = measured.field.name.removeprefix("Field ")
            words(axes, middle.x, middle.y, title, size=4.6, up=-5)
        end_map(axes, briefing)
        handles = [
            Patch(label="field that counts, with the best way to land in the wind", **counts),
            Patch(label="field that does not count", **other),
            Patch(label="wood", **wood),
        ]
        _legend(sheet, handles, _ALWAYS_DRAWN)
        svg = as_svg(sheet, name)
    return Figure(
        name,
        svg,
        f"Fields, wind {wind_words(plan.project.wind)}",
        "Names as in the table, without the word Field.",
        WIDTH_MM,
    )


def sites_map(briefing: Briefing) -> Figure:
    """The best place of each ground-reference figure as flown, over roads and woods."""
    from matplotlib.patches import Patch

    plan, name = briefing.plan, "sites"
    wood: dict[str, Any] = {"facecolor": "#DDD9CB", "edgecolor": SOFT, "linewidth": 0.4}
    found = () if briefing.sites is None else briefing.sites.figures
    best = [one.sites[0] for one in found if one.sites]
    with canvas(name, *_paper_mm(briefing)) as sheet:
        axes = _axes(sheet, briefing)
        begin_map(axes, plan)
        for layer in plan.layers.woods:
            for row in layer.rows:
                filled(axes, plan.frame.geometry_to_local(row.geometry), **wood, zorder=2)
        for roads in plan.layers.roads:
            for road in roads.rows:
                local = plan.frame.geometry_to_local(road.geometry)
                lines(axes, local, color=SOFT, linewidth=0.6, zorder=3)
        for number, site in enumerate(best, 1):
            course = shapely.LineString(np.column_stack([site.course.x_m, site.course.y_m]))
            lines(axes, course, linewidth=1.3, zorder=7)
            begin = course.coords[0]
            words(axes, begin[0], begin[1], chr(ord("A") + number - 1), size=8, weight="bold")
        end_map(axes, briefing)
        handles = [Patch(label="wood", **wood)]
        marks = (
            ("figure as flown, its letter at the entry", {"linewidth": 1.3}),
            ("road", {"linewidth": 0.6, "color": SOFT}),
            *_ALWAYS_DRAWN,
        )
        _legend(sheet, handles, marks)
        svg = as_svg(sheet, name)
    letters = "; ".join(
        f"{chr(ord('A') + number)} {site.figure.title}, {site.layout.reference.name}"
        for number, site in enumerate(best)
    )
    return Figure(
        name,
        svg,
        f"Best place of each figure, wind {wind_words(plan.project.wind)}",
        f"{letters or 'None was found'}.",
        WIDTH_MM,
    )


def _paper_mm(briefing: Briefing) -> tuple[float, float]:
    inner_mm = WIDTH_MM - _LEFT_MM - _RIGHT_MM
    below_mm = _LEGEND_MM + _TICKS_MM
    _, height_mm = map_size_mm(briefing.plan, inner_mm, MOST_MM - below_mm - _RIGHT_MM)
    return WIDTH_MM, height_mm + below_mm + _RIGHT_MM


def _axes(sheet: Any, briefing: Briefing) -> Any:
    width_mm, height_mm = _paper_mm(briefing)
    left, bottom = _LEFT_MM / width_mm, (_LEGEND_MM + _TICKS_MM) / height_mm
    right, top = 1.0 - _RIGHT_MM / width_mm, 1.0 - _RIGHT_MM / height_mm
    return sheet.add_axes((left, bottom, right - left, top - bottom))


def _legend(sheet: Any, patches: list[Any], marks: tuple[tuple[str, dict[str, Any]], ...]) -> None:
    from matplotlib.lines import Line2D

    handles = [
        *patches,
        *(Line2D([], [], label=told, **{"color": INK, **style}) for told, style in marks),
    ]
    sheet.legend(
        handles=handles, loc="lower left", ncols=3, frameon=False, fontsize=6, handlelength=3.4,
        handleheight=1.6, borderaxespad=0.2, columnspacing=1.2,
    )  # fmt: skip


def _airspace(axes: Any, briefing: Briefing) -> None:
    """Outlines of volumes inside the map; their names at the edge nearest the middle."""
    plan = briefing.plan
    west, south, east, north = extent_m(plan)
    frame = shapely.box(west, south, east, north)
    for volume in plan.volumes:
        local = plan.frame.geometry_to_local(volume.geometry)
        edge = shapely.intersection(local.boundary, frame)
        if edge.is_empty:
            continue
        style = _OVERVIEW_MARKS[1][1] if volume.is_blocking else _OVERVIEW_MARKS[2][1]
        lines(axes, edge, **{**style, "zorder": 5})
        longest = max(shapely.get_parts(edge), key=lambda part: float(part.length))
        place = longest.interpolate(0.5, normalized=True)
        text = f"{volume.name}\n{volume.lower_text} to {volume.upper_text}"
        words(axes, place.x, place.y, text, size=5, style="italic")


def _ways(axes: Any, briefing: Briefing) -> None:
    project, frame = briefing.plan.project, briefing.plan.frame
    for route in project.routes:
        local = frame.geometry_to_local(shapely.LineString(route.points))
        lines(axes, local, **{**_OVERVIEW_MARKS[4][1], "zorder": 7})
    for gate in project.gates:
        x_m, y_m = frame.to_local(gate.lon, gate.lat)
        axes.plot(
            [x_m], [y_m], marker="D", markersize=5, color=PAPER, markeredgecolor=INK, zorder=8,
            path_effects=cased(1.5),
        )  # fmt: skip
        words(axes, float(x_m), float(y_m), gate.name, size=5.6, up=8, weight="bold")
