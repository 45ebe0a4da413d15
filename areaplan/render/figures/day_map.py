"""The day sheet's drawing: today's usable part, fields with the way to land, closed air, wind, sun.

Made to stand in one of the two columns of the sheet.
"""

from __future__ import annotations

from importlib import util
from typing import Any, Final

import shapely

from areaplan.planning.briefing import wind_altitude_ft
from areaplan.planning.briefing_places import Corner, corners, surveyor
from areaplan.planning.briefing_words import NOTHING_WRITTEN
from areaplan.planning.day import DaySheet
from areaplan.planning.field_list import best_index
from areaplan.planning.plan import Plan
from areaplan.render.document.model import Figure
from areaplan.render.figures.base_map import (
    begin_map,
    extent_m,
    filled,
    lines,
    map_size_mm,
    outline,
    scale_and_north,
)
from areaplan.render.figures.day_dial import GLARE, draw_dial, sun_words, wind_words
from areaplan.render.figures.labels import Labels, Spot
from areaplan.render.figures.maps import draw_classes
from areaplan.render.figures.paper import INK, PAPER, as_svg, canvas, cased, plain
from areaplan.render.figures.section_marks import CLOSED
from areaplan.units import feet_text

# As wide as a column of the day sheet on A4: across the whole page it would take twice the room.
WIDTH_MM: Final = 92.0
HEIGHT_MM: Final = 92.0
_LEFT_MM: Final = 12.0
_EDGE_MM: Final = 1.5  # above the map
_RIGHT_MM: Final = 5.0  # half of the last tick's words
_BELOW_MM: Final = 26.5  # words of the ticks, dial and legend
_DIAL_MM: Final = 21.0
_ALONG_EDGE: Final = (0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8, 0.1, 0.9, 0.03, 0.97)
_MOST_LIMITS: Final = 2  # told below the map; the briefing tells all
_ARROW_PT: Final = 1.0  # kept free about an arrow
# A plate instead of a casing: a third of the bytes, and there may be a hundred names.
_UNDER_NAMES: Final[dict[str, Any]] = {
    "boxstyle": "square,pad=0.05",
    "facecolor": PAPER,
    "edgecolor": "none",
    "alpha": 0.8,
}
_FIELD: Final[dict[str, Any]] = {"facecolor": PAPER, "edgecolor": INK, "linewidth": 0.4}


def day_map(sheet: DaySheet) -> Figure | None:
    """Draw the area of a day sheet at the planned altitude of which most is usable today.

    Parameters
    ----------
    sheet : DaySheet

    Returns
    -------
    Figure or None
        The same bytes for the same sheet. None without matplotlib, which the extra `pdf` brings.

    Raises
    ------
    InputError
        The project's landmarks do not fit the corners of the boundary.
    """
    if util.find_spec("matplotlib") is None:
        return None
    plan, name = sheet.plan, "day"
    altitude_ft = wind_altitude_ft(plan)
    words = plan.project.briefing or NOTHING_WRITTEN
    numbered = corners(plan, words, surveyor(plan, words))
    with canvas(name, WIDTH_MM, HEIGHT_MM) as paper:
        axes = _axes(paper, plan)
        begin_map(axes, plan)
        handles = draw_classes(axes, plan, altitude_ft)
        labels = Labels(axes)
        for x_m, y_m in scale_and_north(axes, plan):
            labels.keep_free(x_m, y_m, 8.0)
        _boundary(axes, labels, plan, numbered)
        _draw_fields(axes, labels, sheet)
        without = _closed_air(axes, labels, plan)
        _name_fields(labels, sheet)
        draw_dial(paper, plan.project.wind, sheet.sun, _box(1.0, 0.5, _DIAL_MM, _DIAL_MM))
        _legend(paper, handles, sheet, without)
        svg = as_svg(paper, name)
    return Figure(
        name, svg, f"The area today at {feet_text(altitude_ft)} AMSL", _described(sheet), WIDTH_MM
    )


def _described(sheet: DaySheet) -> str:
    return (
        f"Plain ground is usable; every pattern means do not use. Arrows on fields show the way to "
        f"land today, {wind_words(sheet.plan.project.wind)}; fields without an arrow do not count. "
        f"Numbers are the corners as in the briefing. {_sentence(sun_words(sheet.sun))}"
    )


def _sentence(words: str) -> str:
    return f"{words[0].upper()}{words[1:]}."


def _box(left_mm: float, low_mm: float, width_mm: float, height_mm: float) -> tuple[float, ...]:
    """A place on the sheet as shares of it."""
    return left_mm / WIDTH_MM, low_mm / HEIGHT_MM, width_mm / WIDTH_MM, height_mm / HEIGHT_MM


def _axes(paper: Any, plan: Plan) -> Any:
    """The map's frame in the upper part of the sheet."""
    room_mm = WIDTH_MM - _LEFT_MM - _RIGHT_MM
    width_mm, height_mm = map_size_mm(plan, room_mm, HEIGHT_MM - _BELOW_MM - _EDGE_MM)
    left_mm = _LEFT_MM + (room_mm - width_mm) / 2.0
    return paper.add_axes(_box(left_mm, HEIGHT_MM - _EDGE_MM - height_mm, width_mm, height_mm))


def _boundary(axes: Any, labels: Labels, plan: Plan, numbered: tuple[Corner, ...]) -> None:
    area = plan.frame.geometry_to_local(plan.layers.area.rows[0].geometry)
    outline(axes, area, linewidth=1.8)
    for corner in numbered:
        x_m, y_m = (float(one) for one in plan.frame.to_local(corner.place.lon, corner.place.lat))
        spots = [Spot(x_m, y_m, right, up) for right in (5.0, -5.0, 0.0) for up in (5.0, -5.0, 0.0)]
        inside_first = sorted(
            spots,
            key=lambda spot: area.contains(shapely.Point(x_m + spot.right_pt, y_m + spot.up_pt)),
        )
        labels.place(
            str(corner.number), inside_first, size=7.0, weight="bold", path_effects=cased()
        )


def _draw_fields(axes: Any, labels: Labels, sheet: DaySheet) -> None:
    """Every field, with an arrow along the best strip of those that count."""
    plan = sheet.plan
    for measured in plan.measured:
        local = plan.frame.geometry_to_local(measured.field.geometry)
        filled(axes, local, **_FIELD, zorder=3)
        index = best_index(measured)
        if not measured.counts or index is None:
            continue
        begin, end = measured.strips.touchdown_m[index], measured.strips.rollout_m[index]
        arrow = axes.annotate(
            "", tuple(end), xytext=tuple(begin), zorder=7, annotation_clip=True,
            arrowprops={
                "arrowstyle": "-|>", "color": INK, "linewidth": 0.8, "mutation_scale": 5,
                "shrinkA": 0, "shrinkB": 0,
            },
        )  # fmt: skip
        arrow.arrow_patch.set_clip_box(axes.bbox)
        for share in (0.0, 0.5, 1.0):
            x_m, y_m = begin + share * (end - begin)
            labels.keep_free(float(x_m), float(y_m), _ARROW_PT)


def _name_fields(labels: Labels, sheet: DaySheet) -> None:
    """Names where there is room, those that the area leans on most before the others."""
    plan = sheet.plan
    rank = {field.name: number for number, field in enumerate(sheet.fields)}
    for row in sorted(plan.measured, key=lambda one: rank.get(one.field.name, len(rank))):
        local = plan.frame.geometry_to_local(row.field.geometry)
        west, south, east, north = local.bounds
        x_m, y_m = (west + east) / 2.0, (south + north) / 2.0
        spots = [
            Spot(x_m, south, 0.0, -2.4, "center", "top"),
            Spot(x_m, north, 0.0, 2.4, "center", "bottom"),
            Spot(east, y_m, 2.4, 0.0, "left"),
            Spot(west, y_m, -2.4, 0.0, "right"),
        ]
        labels.place(row.field.name.removeprefix("Field "), spots, size=4.8, bbox=_UNDER_NAMES)


def _closed_air(axes: Any, labels: Labels, plan: Plan) -> list[str]:
    """Airspace that is closed to the flight at some altitude, with its name and limits.

    Returns
    -------
    list of str
        Names and limits of those whose limits found no room beside them.
    """
    frame = shapely.box(*extent_m(plan))
    without = []
    for volume in plan.volumes:
        local = plan.frame.geometry_to_local(volume.geometry)
        edge = shapely.intersection(local.boundary, frame)
        if not volume.is_blocking or edge.is_empty:
            continue
        lines(axes, edge, **{**CLOSED, "zorder": 5})
        longest = max(shapely.get_parts(edge), key=lambda part: float(part.length))
        places = [longest.interpolate(share, normalized=True) for share in _ALONG_EDGE]
        spots = [
            Spot(place.x, place.y, right, up, ha)
            for up in (0.0, 8.0, -8.0, 14.0, -14.0, 20.0, -20.0, 28.0, -28.0)
            for right, ha in ((4.0, "left"), (-4.0, "right"), (0.0, "center"))
            for place in places
        ]
        text = f"{volume.name}\n{volume.lower_text} to {volume.upper_text}"
        look: dict[str, Any] = {"size": 5.0, "style": "italic", "path_effects": cased(2.4)}
        if not labels.place(text, spots, **look):
            labels.place(volume.name, spots, **look)
            without.append(text.replace("\n", ": "))
    return list(dict.fromkeys(without))


def _legend(paper: Any, handles: list[Any], sheet: DaySheet, without: list[str]) -> None:
    """What the marks of map and dial mean, beside the dial; limits that the map has no room for."""
    from matplotlib.lines import Line2D
    from matplotlib.patches import Patch

    avoid = sheet.sun.headings_to_avoid_deg_true
    marks = [
        Patch(label="field; arrow: the way to land today; none: does not count", **_FIELD),
        Line2D([], [], label="airspace closed to the flight", color=INK, **CLOSED),
        *(Line2D([], [], label=plain(words), linestyle="") for words in without[:_MOST_LIMITS]),
        Line2D([], [], label=wind_words(sheet.plan.project.wind), color=INK, linewidth=2.0),
        *([] if avoid is None else [Patch(label=sun_words(sheet.sun), **GLARE)]),
    ]
    paper.legend(
        handles=[*handles, *marks], loc="lower left", frameon=False, fontsize=5.2,
        bbox_to_anchor=((_DIAL_MM + 3.0) / WIDTH_MM, 0.5 / HEIGHT_MM), handlelength=2.8,
        handleheight=1.2, borderaxespad=0.0, labelspacing=0.25, borderpad=0.0,
    )  # fmt: skip
