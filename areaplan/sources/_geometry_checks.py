"""Geometries from a file, checked one by one, moved to WGS 84 longitude/latitude.

Nothing is repaired: a polygon that crosses itself has two readings, and only its author knows
which is meant.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any, Final

import numpy as np
import shapely
from numpy.typing import NDArray

from areaplan.errors import Fault

_KINDS: Final = {0: "points", 1: "lines", 2: "polygons"}
_GEOMETRY_COLLECTION: Final = 7  # type code of OGC Simple Features, as in shapely.GeometryType
_MAX_SPAN_DEG: Final = 180.0


def checked_geometries(
    blobs: NDArray[Any],
    to_lonlat: Callable[[NDArray[Any]], NDArray[np.float64]],
    dimensions: frozenset[int],
    fault_at: Callable[[int, str, str, str], Fault],
) -> tuple[NDArray[Any], list[Fault]]:
    """Decode, check and transform geometries.

    Parameters
    ----------
    blobs : array of object
        Well-known binary of each feature, None where it has no geometry.
    to_lonlat : callable
        From coordinates of the file, shape (n, 2), to longitude/latitude in degrees.
    dimensions : frozenset of int
        Kinds accepted: 0 points, 1 lines, 2 polygons.
    fault_at : callable
        Makes a fault from a position, what was found, what was expected and the fix.

    Returns
    -------
    geometries : array of object, shape (len(blobs),)
        Longitude/latitude, two-dimensional; not to be used where a fault was found.
    faults : list of Fault
        At most one for each feature, in file order.
    """
    found: dict[int, tuple[str, str, str]] = {}
    geometries = shapely.force_2d(
        shapely.from_wkb(np.asarray(blobs, dtype=object), on_invalid="ignore")
    )
    _check_kinds(blobs, geometries, dimensions, found)
    _check_finite(geometries, found)
    good = _good(geometries, found)
    geometries[good] = shapely.transform(geometries[good], to_lonlat)
    _check_range(geometries, good, found)
    _check_shape(geometries, _good(geometries, found), found)
    return geometries, [fault_at(index, *found[index]) for index in sorted(found)]


def vertex_heights(blobs: NDArray[Any]) -> list[tuple[float, float] | None]:
    """Lowest and highest height that the vertices of each geometry carry; None where not all do.

    Parameters
    ----------
    blobs : array of object
        Well-known binary of each feature that was found sound.
    """
    geometries = shapely.from_wkb(np.asarray(blobs, dtype=object), on_invalid="ignore")
    ranges: list[tuple[float, float] | None] = [None] * len(geometries)
    with_heights = np.flatnonzero(shapely.has_z(geometries))
    if len(with_heights) == 0:
        return ranges
    xyz, owner = shapely.get_coordinates(
        geometries[with_heights], include_z=True, return_index=True
    )
    first = np.flatnonzero(np.diff(owner, prepend=-1))
    low, high = (ufunc.reduceat(xyz[:, 2], first) for ufunc in (np.minimum, np.maximum))
    for index, lowest, highest in zip(with_heights.tolist(), low, high, strict=True):
        if np.isfinite(lowest) and np.isfinite(highest):
            ranges[index] = (float(lowest), float(highest))
    return ranges


def kinds_in_words(dimensions: frozenset[int]) -> str:
    """Name what is accepted, for instance "points or polygons"."""
    return " or ".join(_KINDS[dimension] for dimension in sorted(dimensions))


def _good(geometries: NDArray[Any], found: dict[int, tuple[str, str, str]]) -> NDArray[np.intp]:
    is_good = np.ones(len(geometries), dtype=bool)
    is_good[list(found)] = False
    return np.flatnonzero(is_good)


def _check_kinds(
    blobs: NDArray[Any],
    geometries: NDArray[Any],
    dimensions: frozenset[int],
    found: dict[int, tuple[str, str, str]],
) -> None:
    accepted = kinds_in_words(dimensions)
    kinds = shapely.get_dimensions(geometries)
    is_usual = (
        ~shapely.is_missing(geometries)
        & ~shapely.is_empty(geometries)
        & (shapely.get_type_id(geometries) != _GEOMETRY_COLLECTION)
        & np.isin(kinds, list(dimensions))
    )
    for index in np.flatnonzero(~is_usual).tolist():
        geometry = geometries[index]
        if geometry is None and blobs[index] is not None:
            found[index] = (
                "its geometry is damaged: an open or too short ring, or a curve",
                f"{accepted} of straight edges, rings closed",
                "draw the feature again",
            )
        elif geometry is None or geometry.is_empty:
            found[index] = ("it has no geometry", accepted, "draw the feature, or delete its row")
        elif shapely.get_type_id(geometry) == _GEOMETRY_COLLECTION:
            found[index] = (
                "it is a collection of different geometries",
                accepted,
                "split it into one feature for each geometry",
            )
        else:
            found[index] = (
                f"it holds {_KINDS[int(kinds[index])]}",
                accepted,
                "move it to a file or layer of its own kind, or draw it as expected",
            )


def _check_finite(geometries: NDArray[Any], found: dict[int, tuple[str, str, str]]) -> None:
    good = _good(geometries, found)
    coordinates, owner = shapely.get_coordinates(geometries[good], return_index=True)
    for index in np.unique(owner[~np.isfinite(coordinates).all(axis=1)]):
        found[int(good[index])] = (
            "a coordinate is not a number",
            "finite coordinates",
            "draw the feature again",
        )


def _check_range(
    geometries: NDArray[Any], good: NDArray[np.intp], found: dict[int, tuple[str, str, str]]
) -> None:
    lonlat, owner = shapely.get_coordinates(geometries[good], return_index=True)
    is_bad = ~((np.abs(lonlat[:, 0]) <= 180.0) & (np.abs(lonlat[:, 1]) <= 90.0))
    owners, first = np.unique(owner[is_bad], return_index=True)
    for index, (x, y) in zip(good[owners].tolist(), lonlat[is_bad][first].tolist(), strict=True):
        fix = "state the coordinate reference system that the coordinates really are in"
        if abs(x) <= 90.0 < abs(y) <= 180.0:
            fix = "longitude comes first: latitude and longitude look swapped"
        found[index] = (
            f"the coordinate {x:.10g}, {y:.10g} is no place on earth",
            "longitude from -180 to 180 and latitude from -90 to 90 degrees",
            fix,
        )
    bounds = shapely.bounds(geometries[good])
    spans = bounds[:, 2] - bounds[:, 0]
    for index, span in zip(
        good[spans > _MAX_SPAN_DEG].tolist(), spans[spans > _MAX_SPAN_DEG], strict=True
    ):
        if index not in found:
            found[index] = (
                f"it spans {span:.0f} degrees of longitude",
                "a feature smaller than half the world",
                "split it at the 180 degree meridian (RFC 7946, 3.1.9)",
            )


def _check_shape(
    geometries: NDArray[Any], good: NDArray[np.intp], found: dict[int, tuple[str, str, str]]
) -> None:
    for position in good[~shapely.is_valid(geometries[good])]:
        reason = str(shapely.is_valid_reason(geometries[position]))
        match = re.fullmatch(r"(.*)\[(\S+) (\S+)\]", reason)
        place = ""
        if match:
            reason = match[1].strip()
            place = f" near latitude {float(match[3]):.6f}, longitude {float(match[2]):.6f}"
        words = "its outline crosses or touches itself" if "elf-inters" in reason else reason
        found[int(position)] = (
            f"{words}{place}",
            "a simple outline",
            "move the vertices there so that the outline does not cross itself",
        )
