"""Lines that no landing strip crosses: roads, railways, canals and fences.

A field is cut along them, as wide as each is taken to be, and every strip lies in one of the parts.
Wires are not among them: they stand high, and `field_surrounds` keeps strips farther off.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Final

import numpy as np
import shapely
from attrs import frozen
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from areaplan.planning.ground import Ground
from areaplan.planning.layers import Layers
from areaplan.sources.layers import Layer, Road

# From the drawn middle to the far side of the ditch; common practice, no source.
ROAD_HALF_WIDTH_M: Final = 5.0
FENCE_HALF_WIDTH_M: Final = 1.0  # how well it is drawn; common practice, no source
# How well edges are drawn: a road that a field ends at does not cross it.
_DRAWN_M: Final = 1.0


@frozen
class LineGroup:
    """Lines of one kind.

    Attributes
    ----------
    word : str
        What a person calls one, such as "road".
    half_width_m : float
        What is cut off on either side, above 0, metres.
    layers : tuple of Layer of Road
    """

    word: str
    half_width_m: float
    layers: tuple[Layer[Road], ...]


@frozen(eq=False)
class FieldLines:
    """All lines near the grid, found quickly.

    Attributes
    ----------
    words, names : tuple of str
        For each line what it is and how it is called.
    half_width_m : float64 array, shape (lines,)
    lines : object array of shapely geometry, shape (lines,)
        Local metres.
    """

    words: tuple[str, ...]
    names: tuple[str, ...]
    half_width_m: NDArray[np.float64]
    lines: NDArray[np.object_]
    _tree: shapely.STRtree

    def cut(self, field: BaseGeometry) -> FieldParts:
        """Take the lines out of a field.

        Parameters
        ----------
        field : shapely Polygon or MultiPolygon
            Local metres.
        """
        inside = shapely.buffer(field, -_DRAWN_M)
        reach = float(self.half_width_m.max(initial=0.0))
        near = np.sort(self._tree.query(field, predicate="dwithin", distance=reach))
        if not near.size:
            return FieldParts(field, ())
        wide = shapely.buffer(self.lines[near], self.half_width_m[near], quad_segs=4)
        rest = shapely.get_parts(shapely.difference(field, shapely.union_all(wide)))
        parts = shapely.MultiPolygon([part for part in rest if part.geom_type == "Polygon"])
        across = near[shapely.intersects(self.lines[near], inside)]
        return FieldParts(
            parts, tuple(dict.fromkeys((self.words[i], self.names[i]) for i in across))
        )


@frozen(eq=False)
class FieldParts:
    """What lines leave of a field.

    Attributes
    ----------
    polygon : shapely Polygon or MultiPolygon
        Local metres; empty where nothing is left.
    across : tuple of (str, str)
        What each line that runs through the field is, and its name.
    """

    polygon: BaseGeometry
    across: tuple[tuple[str, str], ...]


def line_groups(layers: Layers) -> tuple[LineGroup, ...]:
    """The layers of a project whose lines no strip crosses."""
    return (
        LineGroup("road", ROAD_HALF_WIDTH_M, layers.roads),
        LineGroup("railway", ROAD_HALF_WIDTH_M, layers.rails),
        LineGroup("canal", ROAD_HALF_WIDTH_M, layers.canals),
        LineGroup("fence", FENCE_HALF_WIDTH_M, layers.fences),
    )


def find_lines(groups: Iterable[LineGroup], ground: Ground) -> FieldLines:
    """Gather the lines that touch the grid or lie near it."""
    grid = ground.grid
    on_grid = shapely.box(grid.x_min_m, grid.y_min_m, grid.x_max_m, grid.y_max_m)
    words: list[str] = []
    names: list[str] = []
    halves: list[float] = []
    lines: list[BaseGeometry] = []
    for group in groups:
        local = _local([row for layer in group.layers for row in layer.rows], ground)
        for row, line in local:
            if shapely.dwithin(line, on_grid, group.half_width_m):
                words.append(group.word)
                names.append(row.name)
                halves.append(group.half_width_m)
                lines.append(line)
    found = np.empty(len(lines), dtype=np.object_)
    found[:] = lines
    return FieldLines(
        tuple(words),
        tuple(names),
        np.array(halves, dtype=np.float64),
        found,
        shapely.STRtree(found),
    )


def _local(rows: Sequence[Road], ground: Ground) -> list[tuple[Road, BaseGeometry]]:
    return [(row, ground.frame.geometry_to_local(row.geometry)) for row in rows]
