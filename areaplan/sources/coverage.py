"""The region for which a source speaks: outside it, silence means nothing."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import shapely
from shapely.geometry.base import BaseGeometry

from areaplan.errors import InputError
from areaplan.sources._text import shown
from areaplan.sources._vector import read_vector
from areaplan.sources.layers import Obstacle
from areaplan.sources.spec import SourceSpec

_POLYGONS: Final = frozenset({2})


def coverage(spec: SourceSpec, rows: Sequence[object]) -> BaseGeometry | None:
    """Region inside which the absence of a row means absence in the data.

    Parameters
    ----------
    spec : SourceSpec
        Its `covers` is "all", "extent", or the name of a polygon file.
    rows : sequence
        Rows of the layer: obstacles, or anything with a `geometry`.

    Returns
    -------
    shapely geometry or None
        Longitude/latitude. None for "all". For "extent" the bounding box of the rows; an empty
        polygon where that has no area, because then the source speaks for no region.

    Raises
    ------
    InputError
        The polygon file is not usable.
    """
    return read_coverage(spec, rows)[0]


def read_coverage(spec: SourceSpec, rows: Sequence[object]) -> tuple[BaseGeometry | None, str]:
    """Find the coverage, with the digest of the polygon file; see `coverage`."""
    if spec.covers == "all":
        return None, ""
    if spec.covers == "extent":
        return _extent(rows), ""
    if spec.covers_path is None:
        raise InputError.single(
            ", ".join(spec.names) or str(spec.kind),
            f"{spec.key}.covers",
            found=shown(spec.covers),
            expected='"all", "extent" or the name of a polygon file',
            fix="say for which region the source speaks",
        )
    table = read_vector(spec.covers_path, spec.covers, dimensions=_POLYGONS)
    region = shapely.union_all([feature.geometry for feature in table.features])
    return region, table.sha256


def _extent(rows: Sequence[object]) -> BaseGeometry:
    if not rows:
        return shapely.Polygon()
    places = [_place_of(row) for row in rows]
    west, south, east, north = (float(edge) for edge in shapely.total_bounds(places))
    if west == east or south == north:
        return shapely.Polygon()
    return shapely.Polygon.from_bounds(west, south, east, north)


def _place_of(row: object) -> BaseGeometry:
    if isinstance(row, Obstacle):
        return shapely.Point(row.lon, row.lat)
    geometry: BaseGeometry = getattr(row, "geometry")  # noqa: B009
    return geometry
