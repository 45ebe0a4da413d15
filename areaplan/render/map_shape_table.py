"""Shapes of the page, each different one once."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from areaplan.geodesy import LocalFrame
from areaplan.grid import Grid
from areaplan.render.map_place import lonlat_box

# 1e-6 degrees is 0.11 m: finer than any line on a screen.
_STEPS_PER_DEGREE: Final = 1e6
# Edges are straight in longitude and latitude (RFC 7946, 3.1.1), on the screen in Mercator: cut
# to this length the two lie within 0.2 m of each other up to 60 degrees of latitude.
_EDGE_STEP_DEG: Final = 0.02
# How far outside the grid something is still drawn.
_DRAWN_BEYOND_DEG: Final = 0.02

# A thing drawn: geometry in longitude and latitude, name, figures told below it; and where there is
# more to say when it is asked about, pairs of a term and its words.
Drawn = tuple[BaseGeometry, str, str] | tuple[BaseGeometry, str, str, tuple[tuple[str, str], ...]]
_Lines = list[list[int]]


class ShapeTable:
    """Each different shape once, as whole steps of longitude and latitude.

    A shape is ``{"p": points, "l": lines, "r": rings}``, absent when empty; each is a list of
    flat lists ``[lon, lat, dlon, dlat, ...]`` in 1e-6 degrees, every pair after the first a
    difference from the one before.

    Parameters
    ----------
    frame : LocalFrame
        The plan's frame.
    grid : Grid
        The page's grid; only shapes near it are wanted.
    """

    def __init__(self, frame: LocalFrame, grid: Grid) -> None:
        self.shapes: list[dict[str, _Lines]] = []
        self._index: dict[bytes, int] = {}
        self._box = lonlat_box(frame, grid)

    def add(self, geometry: BaseGeometry) -> int:
        """Index of a longitude/latitude geometry in the table; equal geometries share one."""
        key = shape_key(geometry)
        if key not in self._index:
            self._index[key] = len(self.shapes)
            self.shapes.append(_shape(geometry))
        return self._index[key]

    def is_near(self, geometry: BaseGeometry) -> bool:
        """Whether a geometry's bounding box comes near the grid."""
        west, south, east, north = geometry.bounds
        box, beyond = self._box, _DRAWN_BEYOND_DEG
        return bool(
            west <= box[2] + beyond
            and east >= box[0] - beyond
            and south <= box[3] + beyond
            and north >= box[1] - beyond
        )

    def rows(self, drawn: Iterable[Drawn], *, is_everywhere: bool = False) -> list[list[object]]:
        """``[shape, name, figures]`` of each thing near the grid, or of all; then what it tells."""
        return [
            [self.add(one[0]), *one[1:]] for one in drawn if is_everywhere or self.is_near(one[0])
        ]


def shape_key(geometry: BaseGeometry) -> bytes:
    """The same for equal geometries."""
    key: bytes = shapely.to_wkb(geometry)
    return key


def _shape(geometry: BaseGeometry) -> dict[str, _Lines]:
    found: dict[str, _Lines] = {"p": [], "l": [], "r": []}
    cut = shapely.segmentize(shapely.force_2d(geometry), _EDGE_STEP_DEG)
    for part in shapely.get_parts(cut):
        dimension = int(shapely.get_dimensions(part))
        if dimension == 2:
            found["r"] += [_steps(ring) for ring in shapely.get_rings(part)]
        else:
            found["p" if dimension == 0 else "l"].append(_steps(part))
    return {kind: lists for kind, lists in found.items() if lists}


def _steps(line: BaseGeometry) -> list[int]:
    whole = np.rint(shapely.get_coordinates(line) * _STEPS_PER_DEGREE).astype(np.int64)
    whole[1:] -= whole[:-1].copy()
    steps: list[int] = whole.ravel().tolist()
    return steps
