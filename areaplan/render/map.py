"""The map of a plan: one HTML file that opens with the network cut."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from importlib.resources import files
from pathlib import Path
from typing import Final

import shapely
from attrs import asdict

from areaplan.errors import InputError
from areaplan.planning.limits_by_wind import WindLimits
from areaplan.planning.plan import WHATEVER_THE_HEADING, Plan, Verdict
from areaplan.render.map_cells import altitude_span_ft, as_script_json, page_cells
from areaplan.render.map_choice import paintings_json
from areaplan.render.map_classes import CLASS_STYLES
from areaplan.render.map_controls import answer_html, controls_html
from areaplan.render.map_fields import field_outlines
from areaplan.render.map_figure import (
    OfflineFigure,
    OfflineMap,
    StartPage,
    Verbatim,
    leaflet_files,
)
from areaplan.render.map_foreword import Foreword
from areaplan.render.map_place import fit_place, lonlat_box
from areaplan.render.map_shape_table import Drawn
from areaplan.render.map_shapes import page_shapes
from areaplan.render.map_sheet import sheet_html
from areaplan.render.map_wind import paintings_shown
from areaplan.render.text import CLASS_WORDS, verdict_text
from areaplan.render.whole_file import write_whole

LARGEST_FILE_BYTES: Final = 12_000_000
# Kept free of the cells: sheet, scripts and policy round them.
_ROUND_CELLS_BYTES: Final = 700_000
_STYLES: Final = ("page.css", "sheet.css", "print.css")
# In the order in which they need each other.
_SCRIPTS: Final = (
    "unpack.js",
    "place.js",
    "cells.js",
    "palette.js",
    "choice.js",
    "relief.js",
    "ground.js",
    "shapes.js",
    "labels.js",
    "styles.js",
    "glyphs.js",
    "ways.js",
    "standoffs.js",
    "drawing.js",
    "answer.js",
    "answer_view.js",
    "altitude.js",
    "panel.js",
    "marks.js",
    "start.js",
)


def write_map(plan: Plan, path: Path, wind: WindLimits | None = None) -> None:
    """Write the map of a plan as one HTML file.

    The file is written beside its place and then moved into it, so that nobody ever meets half of
    it and an older map survives a failure.

    Parameters
    ----------
    plan : Plan
        The evaluated plan.
    path : Path
        Where to write; an existing file is replaced.
    wind : WindLimits, optional
        Shown in the sheet, and one more painting of the map, when given.

    Raises
    ------
    InputError
        As `map_html`; or the folder is missing or can't be written to.
    """
    write_whole(path, map_html(plan, wind), "the map", "--out")


def map_html(
    plan: Plan,
    wind: WindLimits | None = None,
    over: Mapping[str, Sequence[Drawn]] | None = None,
    first: Foreword | None = None,
) -> str:
    """The map of a plan as HTML: the same text for the same plan, below 12 MB.

    Parameters
    ----------
    plan : Plan
        The evaluated plan; only drawn, nothing is judged here.
    wind : WindLimits, optional
        As in `write_map`.
    over : mapping, optional
        What else is drawn over everything, as `map_shapes.page_shapes` takes it.
    first : Foreword, optional
        What the sheet says of it before all else.

    Raises
    ------
    InputError
        The file would be too large however coarse its cells, the area is too large for the page's
        map projection, or too many features set limits.
    """
    drawn = as_script_json(page_shapes(plan, plan.grid, over))
    budget_bytes = LARGEST_FILE_BYTES - _ROUND_CELLS_BYTES - len(drawn)
    cells = page_cells(plan, budget_bytes, wind)
    lowest_ft, highest_ft = altitude_span_ft(plan)
    planned = plan.project.planned_altitudes_amsl_ft
    grid_box = lonlat_box(plan.frame, cells.grid)
    table = {
        "place": fit_place(plan.frame, cells.grid).as_json(),
        "fit_box": _fit_box(plan, grid_box, over),
        "grid_box": grid_box,
        "lowest_ft": lowest_ft,
        "highest_ft": highest_ft,
        "planned_ft": planned,
        "fields": field_outlines(plan),
        "classes": [
            {
                **asdict(style),
                "key": style.cell_class.name.lower(),
                "words": CLASS_WORDS[style.cell_class],
            }
            for style in CLASS_STYLES
        ],
        "paintings": paintings_json(paintings_shown(wind)),
        "whatever_the_heading": WHATEVER_THE_HEADING,
        "verdict_words": {one.value: verdict_text(one) for one in Verdict},
    }
    figure = OfflineFigure(f"{plan.project.name}: practice area", leaflet_files())
    for name in _STYLES:
        figure.header.add_child(Verbatim(f"<style>\n{_page_file(name)}</style>"), name=name)
    left = f'<div id="left">{sheet_html(plan, cells.notes, wind, first)}{answer_html()}</div>'
    body = left + controls_html(plan, lowest_ft, highest_ft, first)
    figure.html.add_child(Verbatim(body), name="sheet")
    for name, text in (
        ("areaplan-table", as_script_json(table)),
        ("areaplan-cells", cells.json_text),
        ("areaplan-drawn", drawn),
    ):
        block = Verbatim(f'<script type="application/json" id="{name}">{text}</script>')
        figure.html.add_child(block, name=name)
    figure.add_child(_chart(plan))
    for name in _SCRIPTS:
        figure.script.add_child(Verbatim(_page_file(name)), name=name)
    html = figure.offline_html()
    size_bytes = len(html.encode("utf-8"))
    if size_bytes > LARGEST_FILE_BYTES:
        raise InputError.single(
            "map",
            "file",
            found=f"the map would take {size_bytes / 1e6:.1f} MB",
            expected=f"at most {LARGEST_FILE_BYTES / 1e6:.0f} MB",
            fix="give fewer structures, roads or other shapes, or a smaller practice area",
        )
    return html


def _fit_box(
    plan: Plan, grid_box: tuple[float, ...], over: Mapping[str, Sequence[Drawn]] | None
) -> tuple[float, ...]:
    """What is shown at first and on paper: the area, and routes if they are what the map is for."""
    ways = [row[0] for name in ("gates", "routes") for row in (over or {}).get(name, ())]
    west, south, east, north = shapely.total_bounds(
        [plan.layers.area.rows[0].geometry, *ways]
    ).tolist()
    low, high = grid_box[:2], grid_box[2:]
    return max(west, low[0]), max(south, low[1]), min(east, high[0]), min(north, high[1])


def _chart(plan: Plan) -> OfflineMap:
    """The folium map, centred on the frame; the page then fits it to the area."""
    chart = OfflineMap(
        location=[plan.frame.lat, plan.frame.lon],
        tiles=None,
        zoom_start=12,
        zoom_control="bottomright",
        prefer_canvas=True,
        min_zoom=8,
        max_zoom=18,
        attribution_control=False,
        zoom_animation=False,
        fade_animation=False,
        bounce_at_zoom_limits=False,
    )
    chart.add_child(StartPage(), name="start")
    return chart


def _page_file(name: str) -> str:
    """Text of one of the page's own scripts or styles, which are package data."""
    return (files("areaplan.render") / "page" / name).read_text(encoding="utf-8")
