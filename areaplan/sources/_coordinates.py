"""Coordinate systems of files, and the strict way from and to WGS 84 longitude/latitude."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from areaplan.errors import InputError
from areaplan.sources._environment import load_pyproj
from areaplan.sources._text import one_line, shown

if TYPE_CHECKING:
    from pyproj import CRS, Transformer

WGS84_LONLAT = "EPSG:4326"


def parse_crs(text: str | None, name: str, key: str, missing_fix: str) -> CRS:
    """Read the coordinate system that a file states.

    Parameters
    ----------
    text : str or None
        Authority code or well-known text; None or "" when the file states none.
    name, key : str
        File and layer, for messages.
    missing_fix : str
        What to do when the file states none.

    Returns
    -------
    pyproj.CRS
        A geographic or projected system, perhaps with a vertical one.

    Raises
    ------
    InputError
        None stated, not understood, or local to a site.
    """
    pyproj = load_pyproj()
    expected = "a coordinate reference system, such as EPSG:4326"
    if not text:
        raise InputError.single(
            name,
            key,
            found="no coordinate reference system is stated",
            expected=expected,
            fix=missing_fix,
        )
    fix = "save the file again in WGS 84 longitude/latitude (EPSG:4326)"
    try:
        crs: CRS = pyproj.CRS.from_user_input(text)
    except pyproj.exceptions.CRSError as error:
        raise InputError.single(
            name,
            key,
            found=f"its coordinate reference system is not understood ({one_line(error)})",
            expected=expected,
            fix=fix,
        ) from error
    horizontal = horizontal_part(crs)
    # A GeoPackage's srs_id 0 and -1 arrive as an "undefined" system (OGC 12-128, 1.1.2.1.2).
    is_undefined = "undefined" in horizontal.name.lower()
    if not (horizontal.is_geographic or horizontal.is_projected) or is_undefined:
        raise InputError.single(
            name,
            key,
            found=f"its coordinate reference system {shown(horizontal.name)} is tied to no place",
            expected="a geographic or projected system with a known datum",
            fix=fix,
        )
    return crs


def horizontal_part(crs: CRS) -> CRS:
    """Horizontal system of a compound one, otherwise the system itself; always two-dimensional."""
    if crs.is_compound:
        return crs.sub_crs_list[0]
    return crs.to_2d() if len(crs.axis_info) == 3 else crs


def vertical_part(crs: CRS) -> CRS | None:
    """Vertical system of a compound one, or None."""
    return crs.sub_crs_list[1] if crs.is_compound else None


def strict_transformer(crs: CRS, name: str, key: str) -> Transformer:
    """Way from WGS 84 longitude/latitude (x, y order) to a file's horizontal system.

    A ballpark transformation, which leaves a datum shift of up to some hundred metres out without
    a word, is refused.

    Raises
    ------
    InputError
        No transformation is known.
    """
    pyproj = load_pyproj()
    horizontal = horizontal_part(crs)
    try:
        transformer: Transformer = pyproj.Transformer.from_crs(
            WGS84_LONLAT, horizontal, always_xy=True, allow_ballpark=False
        )
    except pyproj.exceptions.ProjError as error:
        raise InputError.single(
            name,
            key,
            found=f"no transformation is known between WGS 84 and {shown(horizontal.name)}",
            expected="a coordinate reference system with a known datum",
            fix="save the file again in WGS 84 longitude/latitude (EPSG:4326)",
        ) from error
    return transformer


def to_lonlat(transformer: Transformer, xy: NDArray[Any]) -> NDArray[np.float64]:
    """Coordinates of a file, shape (n, 2), to WGS 84 longitude/latitude; infinite where impossible.

    The transformer is one that `strict_transformer` made.
    """
    lon, lat = transformer.transform(xy[:, 0], xy[:, 1], direction="INVERSE")
    return np.column_stack([lon, lat])
