"""The difference between two plans on the interactive map of the new one.

Ground is outlined as it is judged, cell by cell, and filled with marks that say what it became; the
things that changed carry the numbers of the printed list.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Final

import numpy as np
import shapely
from attrs import frozen
from shapely.geometry.base import BaseGeometry

from areaplan.grid import BoolArray, Grid
from areaplan.planning.changes import Changes
from areaplan.planning.changes_sides import side_words
from areaplan.planning.changes_things import Change, ThingChange
from areaplan.planning.plan import Plan
from areaplan.render.changes_sections import (
    COMPARED,
    GROUND_WORDS,
    Numbered,
    counted_words,
    gravest_sections,
    ground_section,
    how_words,
    left_words,
    numbered_things,
    shares_section,
)
from areaplan.render.map import map_html
from areaplan.render.map_foreword import Foreword, Part, section_part
from areaplan.render.map_markup import place_html, said
from areaplan.render.map_pooling import coarsened_flags
from areaplan.render.map_shape_table import Drawn
from areaplan.render.map_ways import to_lonlat
from areaplan.render.whole_file import write_whole
from areaplan.units import feet_text

# Corners of all outlines together: they take some 0.7 MB, and a screen keeps up with them.
MOST_CORNERS: Final = 60_000
_SAME_EDGE_DEG: Final = 2e-5  # about 2 m: thinner than the edge itself is drawn
_GROUND: Final = ("lost", "gained", "unknown", "risen")


def write_changes_map(changes: Changes, plan: Plan, path: Path) -> None:
    """Write the new plan's map with the difference on it as one HTML file.

    Parameters
    ----------
    changes : Changes
    plan : Plan
        The new plan, of which `changes.new` is the result.
    path : Path
        Where to write; an existing file is replaced.

    Raises
    ------
    InputError
        As `map.map_html`; or the folder is missing or can't be written to.
    """
    write_whole(path, changes_map_html(changes, plan), "the map of the difference", "--map")


def changes_map_html(changes: Changes, plan: Plan) -> str:
    """The map of `write_changes_map` as HTML: the same text for the same inputs."""
    numbered = numbered_things(changes)
    ground = ground_outlines(changes, plan)
    over = {
        **ground.drawn,
        **_marks(numbered),
        "area_before": tuple(_before(changes.old.area, plan)),
    }
    first = Foreword(
        subject=f"What changed since {side_words(changes.old)}",
        short=f"Compared: {COMPARED[changes.verdict]}",
        meaning=f"Compared: {COMPARED[changes.verdict]}.",
        sentences=(
            *changes.notes,
            "Everything below what changed is the sheet of the new plan.",
        ),
        parts=(
            *(
                section_part(f"changes-{i}", one)
                for i, one in enumerate(gravest_sections(changes), 1)
            ),
            section_part("changes-ground", ground_section(changes), _legend(changes, ground)),
            section_part("changes-shares", shares_section(changes)),
            Part("changes-things", "Things that changed", _things(changes, numbered)),
        ),
    )
    return map_html(plan, over=over, first=first)


@frozen
class GroundOutlines:
    """Outlines of ground that changed.

    Attributes
    ----------
    drawn : dict
        Rows by layer of the page: for lost, gained and unknown ground one for each compared
        altitude, one for risen ground; empty where nothing changed so.
    cell_m : float
        Side of the squares that they are made of, metres.
    factor : int
        Cells along such a side: 1 unless there were more outlines than a page can draw. Then
        ground that is lost, unknown or risen looks larger than it is, gained ground smaller.
    """

    drawn: dict[str, tuple[Drawn, ...]]
    cell_m: float
    factor: int


def ground_outlines(
    changes: Changes, plan: Plan, most_corners: int = MOST_CORNERS
) -> GroundOutlines:
    """Outline every group of cells that became the same, longitude and latitude.

    Parameters
    ----------
    changes : Changes
    plan : Plan
        The new plan, on whose grid they lie.
    most_corners : int
        Of all outlines together; squares of 2, 4, 8... cells are taken until they are no more.
    """
    where = _where(changes)
    factor = 1
    while True:
        groups = {
            layer: _groups(flags, plan.grid, factor, is_gained=layer.startswith("ground_gained"))
            for layer, flags in where.items()
        }
        corners = sum(int(shapely.get_num_coordinates(rows).sum()) for rows in groups.values())
        if corners <= most_corners:
            break
        factor *= 2
    drawn: dict[str, tuple[Drawn, ...]] = {
        layer: tuple((to_lonlat(one, plan.frame), *_words(layer)) for one in rows)
        for layer, rows in groups.items()
    }
    return GroundOutlines(drawn, plan.grid.cell_m * factor, factor)


def _where(changes: Changes) -> dict[str, BoolArray]:
    """Cells by layer of the page."""
    found = {"ground_risen": changes.is_risen}
    for row, places in zip(changes.classes, changes.places, strict=True):
        at = f"@{row.altitude_amsl_ft}"
        found[f"ground_gained{at}"] = places.is_gained
        found[f"ground_lost{at}"] = places.is_lost
        found[f"ground_unknown{at}"] = places.is_newly_unknown
    return found


def _words(layer: str) -> tuple[str, str]:
    """Name of a group, short enough for the map, and what it means."""
    name, _, at = layer.removeprefix("ground_").partition("@")
    return f"{name} at {feet_text(int(at))}" if at else name, GROUND_WORDS[name]


def _groups(flags: BoolArray, grid: Grid, factor: int, *, is_gained: bool) -> list[BaseGeometry]:
    """Polygons round cells that touch along an edge, in local metres."""
    from rasterio.features import shapes
    from rasterio.transform import Affine

    if factor > 1:
        grid, flags = coarsened_flags(grid, flags, factor, is_of_all=is_gained)
    if not flags.any():
        return []
    to_local = Affine(grid.cell_m, 0.0, grid.x_min_m, 0.0, -grid.cell_m, grid.y_max_m)
    found = shapes(flags.astype(np.uint8), mask=flags, connectivity=4, transform=to_local)
    return [shapely.geometry.shape(outline) for outline, _ in found]


_THING_LAYERS: Final = {
    Change.REMOVED: "things_removed",
    Change.ADDED: "things_added",
    Change.CHANGED: "things_changed",
}


def _marks(numbered: Numbered) -> dict[str, tuple[Drawn, ...]]:
    return {
        layer: tuple(_mark(number, row) for number, row in numbered if row.change is change)
        for change, layer in _THING_LAYERS.items()
    }


def _mark(number: int, row: ThingChange) -> Drawn:
    how = how_words(row)
    told = (("Layer", row.kind), *((("How", how),) if how else ()))
    return shapely.Point(row.lon, row.lat), str(number), f"{row.name}, {row.change}", told


def _before(old_area: BaseGeometry, plan: Plan) -> Iterator[Drawn]:
    new_area = plan.layers.area.rows[0].geometry
    elsewhere = old_area.boundary.difference(new_area.boundary.buffer(_SAME_EDGE_DEG))
    if not elsewhere.is_empty:
        yield elsewhere, "edge of the area before", ""


def _legend(changes: Changes, ground: GroundOutlines) -> str:
    """What each mark means, and which altitudes there are."""
    rows = "".join(
        f'<tr><td><canvas class="sample" data-sample="ground_{name}" width="88" height="40" '
        f'role="img" aria-label="the mark of {name} ground"></canvas></td>'
        f'<th scope="row"><strong>{name}</strong>: {said(GROUND_WORDS[name])}</th></tr>'
        for name in _GROUND
    )
    altitudes = ", ".join(feet_text(row.altitude_amsl_ft) for row in changes.classes)
    coarse = (
        f" Drawn in squares of {ground.cell_m:g} m, {ground.factor} cells wide: lost, unknown and "
        "risen ground looks larger than it is, gained ground smaller."
        if ground.factor > 1
        else ""
    )
    return (
        f'<table class="legend">{rows}</table><p class="small">Lost, gained and unknown ground is '
        f"compared at {altitudes} AMSL alone: choosing one of these altitudes shows what changed "
        f"there, any other leaves what was shown. Each patch names its altitude.{coarse}</p>"
    )


def _things(changes: Changes, numbered: Numbered) -> str:
    """The numbered list with a button for each place."""
    entries = "".join(
        f'<div class="entry"><p><strong>{number}. {said(row.name)}</strong>, {said(row.kind)}: '
        f"{row.change}</p>{_how(row)}{place_html(row.lat, row.lon)}</div>"
        for number, row in numbered
    )
    left = left_words(changes, numbered)
    more = f"<p>{said(left)}</p>" if left else ""
    return f"<p>{said(counted_words(changes))}</p>{entries}{more}"


def _how(row: ThingChange) -> str:
    how = how_words(row)
    return f"<p>{said(how)}</p>" if how else ""
