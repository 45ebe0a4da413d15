"""The map of the difference: an SVG of its own, written as text, the same bytes each time.

Ground is drawn as it is judged, cell by cell; things that changed carry the numbers of the list.
Only presentation attributes are used, no style and no script.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from html import escape
from typing import Final

import numpy as np
import shapely
from attrs import frozen
from shapely.geometry.base import BaseGeometry

from areaplan.geodesy import LocalFrame
from areaplan.grid import BoolArray, Grid
from areaplan.planning.changes import Changes, ClassPlaces
from areaplan.planning.changes_things import Change, ThingChange
from areaplan.planning.plan import CellClass
from areaplan.render.changes_sections import GROUND_WORDS
from areaplan.render.map_classes import CLASS_STYLES
from areaplan.units import NAUTICAL_MILE_M, feet_text

WIDTH: Final = 720
_MARGIN: Final = 24.0
_LEGEND_LINE: Final = 20
_INK: Final = "#1B1F23"
_STYLE: Final = {style.cell_class: style for style in CLASS_STYLES}
# What a cell became: the id of its pattern, its style, and its words. Later ones lie on top.
_LAYERS: Final = (
    ("risen", CellClass.LEGAL_NO_FIELD, GROUND_WORDS["risen"]),
    ("gained", CellClass.LEGAL_WITH_FIELD, GROUND_WORDS["gained"]),
    ("lost", CellClass.NEITHER, GROUND_WORDS["lost"]),
    ("dark", CellClass.UNKNOWN, GROUND_WORDS["unknown"]),
)
_MARKS: Final = {
    Change.ADDED: (_INK, "#FFFFFF", "", "added"),
    Change.CHANGED: ("#FFFFFF", _INK, "", "changed"),
    Change.REMOVED: ("#FFFFFF", _INK, "2 2", "removed"),
}


@frozen
class _View:
    """From local metres to the picture."""

    x_min_m: float
    y_max_m: float
    per_m: float
    height: float

    def at(self, x_m: float, y_m: float) -> tuple[float, float]:
        """Across and down, in picture units."""
        return (
            _MARGIN + (x_m - self.x_min_m) * self.per_m,
            _MARGIN + (self.y_max_m - y_m) * self.per_m,
        )


def changes_svg(changes: Changes, index: int, numbered: Sequence[tuple[int, ThingChange]]) -> str:
    """Draw what changed at one of the compared altitudes.

    Parameters
    ----------
    changes : Changes
    index : int
        Into `changes.classes`.
    numbered : sequence of (int, ThingChange)
        Things to mark, each with its number in the list.
    """
    new = changes.new
    areas = [_area(changes.old.area, new.frame)]
    areas.append(_area(new.area, new.frame))
    view = _view(areas, numbered, new.frame)
    altitude = feet_text(changes.classes[index].altitude_amsl_ft)
    legend = list(_legend(f"c{index}", altitude))
    height = view.height + _LEGEND_LINE * len(legend) + 10
    title = f"What changed at {altitude} AMSL"
    marks = [_mark(view, new.frame, number, thing) for number, thing in numbered]
    return "\n".join(
        [
            f'<svg xmlns="http://www.w3.org/2000/svg" role="img" viewBox="0 0 {WIDTH} '
            f'{height:.0f}" width="{WIDTH}" height="{height:.0f}" '
            f'font-family="system-ui, sans-serif" aria-label="{escape(title)}">',
            f"<title>{escape(title)}</title>",
            _patterns(f"c{index}"),
            f'<rect width="{WIDTH}" height="{height:.0f}" fill="#FFFFFF"/>',
            *_grounds(view, new.grid, changes.places[index], changes.is_risen, f"c{index}"),
            _outline(view, areas[0], ' stroke-dasharray="7 5"'),
            _outline(view, areas[1], ""),
            *marks,
            *_scale_and_north(view),
            *(
                f'{swatch}<text x="52" y="{view.height + _LEGEND_LINE * (i + 1):.0f}" '
                f'font-size="13" fill="{_INK}">{escape(words)}</text>'
                for i, (swatch, words) in enumerate(_placed(legend, view.height))
            ),
            "</svg>\n",
        ]
    )


def _area(lonlat: BaseGeometry, frame: LocalFrame) -> BaseGeometry:
    return frame.geometry_to_local(lonlat)


def _view(
    areas: Sequence[BaseGeometry],
    numbered: Sequence[tuple[int, ThingChange]],
    frame: LocalFrame,
) -> _View:
    points = [shapely.Point(*frame.to_local(thing.lon, thing.lat)) for _, thing in numbered]
    x_min, y_min, x_max, y_max = shapely.total_bounds([*areas, *points])
    # A tenth of the width round it, so that marks on the edge are seen whole.
    pad = 0.05 * max(x_max - x_min, y_max - y_min)
    x_min, y_min, x_max, y_max = x_min - pad, y_min - pad, x_max + pad, y_max + pad
    per_m = (WIDTH - 2 * _MARGIN) / (x_max - x_min)
    return _View(x_min, y_max, per_m, 2 * _MARGIN + (y_max - y_min) * per_m)


def _patterns(mark: str) -> str:
    strokes = {
        "slash": "M-2,2 L2,-2 M0,8 L8,0 M6,10 L10,6",
        "cross": "M0,8 L8,0 M0,0 L8,8",
    }
    made = []
    for name, cell_class, _ in _LAYERS:
        style = _STYLE[cell_class]
        inked = ""
        if style.pattern in strokes:
            path = strokes[style.pattern]
            inked = f'<path d="{path}" stroke="{style.ink}" stroke-width="1.2" fill="none"/>'
        elif style.pattern == "dots":
            inked = f'<circle cx="4" cy="4" r="1.3" fill="{style.ink}"/>'
        made.append(
            f'<pattern id="{mark}-{name}" width="8" height="8" patternUnits="userSpaceOnUse">'
            f'<rect width="8" height="8" fill="{style.fill}"/>{inked}</pattern>'
        )
    return f"<defs>{''.join(made)}</defs>"


def _grounds(
    view: _View, grid: Grid, places: ClassPlaces, is_risen: BoolArray, mark: str
) -> Iterator[str]:
    kinds = {
        "risen": is_risen,
        "gained": places.is_gained,
        "lost": places.is_lost,
        "dark": places.is_newly_unknown,
    }
    for name, _, _ in _LAYERS:
        path = "".join(_runs(view, grid, kinds[name]))
        if path:
            yield f'<path d="{path}" fill="url(#{mark}-{name})"/>'


def _runs(view: _View, grid: Grid, where: BoolArray) -> Iterator[str]:
    """A rectangle for every run of cells in a row."""
    padded = np.zeros((grid.rows, grid.cols + 2), dtype=np.int8)
    padded[:, 1:-1] = where
    steps = np.diff(padded, axis=1)
    rows, starts = np.nonzero(steps == 1)
    _, ends = np.nonzero(steps == -1)
    tall = grid.cell_m * view.per_m
    for row, start, end in zip(rows.tolist(), starts.tolist(), ends.tolist(), strict=True):
        x, y = view.at(grid.x_min_m + start * grid.cell_m, grid.y_max_m - row * grid.cell_m)
        yield f"M{x:.2f},{y:.2f}h{(end - start) * tall:.2f}v{tall:.2f}H{x:.2f}z"


def _outline(view: _View, area: BaseGeometry, dash: str) -> str:
    rings = [
        ring
        for polygon in shapely.get_parts(area)
        for ring in (polygon.exterior, *polygon.interiors)
    ]
    path = "".join(
        "M" + "L".join("{:.2f},{:.2f}".format(*view.at(x, y)) for x, y in ring.coords) + "z"
        for ring in rings
    )
    return f'<path d="{path}" fill="none" stroke="{_INK}" stroke-width="2"{dash}/>'


def _mark(view: _View, frame: LocalFrame, number: int, thing: ThingChange) -> str:
    fill, ink, dash, _ = _MARKS[thing.change]
    x, y = view.at(*(float(value) for value in frame.to_local(thing.lon, thing.lat)))
    dashed = f' stroke-dasharray="{dash}"' if dash else ""
    return (
        f"<g><title>{escape(f'{thing.name}, {thing.change}')}</title>"
        f'<circle cx="{x:.2f}" cy="{y:.2f}" r="9" fill="{fill}" stroke="{_INK}" '
        f'stroke-width="1.5"{dashed}/><text x="{x:.2f}" y="{y + 3.8:.2f}" font-size="10.5" '
        f'text-anchor="middle" fill="{ink}">{number}</text></g>'
    )


def _scale_and_north(view: _View) -> Iterator[str]:
    length = NAUTICAL_MILE_M * view.per_m
    y = view.height - 8
    yield (
        f'<path d="M{_MARGIN:.0f},{y:.1f}h{length:.1f}m0,-4v8M{_MARGIN:.0f},{y - 4:.1f}v8" '
        f'stroke="{_INK}" stroke-width="1.5" fill="none"/>'
        f'<text x="{_MARGIN + length + 6:.1f}" y="{y + 4:.1f}" font-size="12" '
        f'fill="{_INK}">1 NM</text>'
    )
    x = WIDTH - 20
    yield (
        f'<path d="M{x},36v-22m-5,8l5,-8l5,8" stroke="{_INK}" stroke-width="1.5" fill="none"/>'
        f'<text x="{x}" y="50" font-size="12" text-anchor="middle" fill="{_INK}">N</text>'
    )


def _legend(mark: str, altitude: str) -> Iterator[tuple[str, str]]:
    """A template of each swatch, with its height left open, and its words."""
    for name, _, words in _LAYERS:
        at = "" if name == "risen" else f"at {altitude}: "
        yield (
            f'<rect x="{_MARGIN:.0f}" y="{{top}}" width="20" height="13" '
            f'fill="url(#{mark}-{name})" stroke="{_INK}" stroke-width="0.5"/>',
            f"{at}{words}",
        )
    yield (
        f'<path d="M{_MARGIN:.0f},{{middle}}h20" stroke="{_INK}" stroke-width="2" '
        'stroke-dasharray="7 5"/>',
        "the old area; the new one is drawn through",
    )
    for fill, _, dash, words in _MARKS.values():
        dashed = f' stroke-dasharray="{dash}"' if dash else ""
        yield (
            f'<circle cx="{_MARGIN + 10:.0f}" cy="{{middle}}" r="7" fill="{fill}" '
            f'stroke="{_INK}" stroke-width="1.5"{dashed}/>',
            f"{words}, with its number in the list",
        )


def _placed(legend: Sequence[tuple[str, str]], above: float) -> Iterator[tuple[str, str]]:
    for i, (swatch, words) in enumerate(legend):
        base = above + _LEGEND_LINE * (i + 1)
        yield swatch.format(top=f"{base - 11:.0f}", middle=f"{base - 4:.0f}"), words
