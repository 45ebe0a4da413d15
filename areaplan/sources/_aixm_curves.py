"""Curves of GML to longitude/latitude: strings, arcs and circles on the ellipsoid, shared borders.

Reading follows OGC 12-028r1, *Use of GML for aviation data*: EPSG:4326 has latitude first and
measures angles clockwise from true north; CRS84 has longitude first and measures them
anticlockwise from east. An arc runs from its start angle to its end angle, so that 270 to 497 is
227 degrees clockwise.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from functools import cache
from itertools import pairwise
from typing import Any, Final
from xml.etree.ElementTree import Element

import numpy as np
from attrs import frozen

from areaplan.grid import Float64Array
from areaplan.sources._aixm_xml import HREF, Message, is_nil, text_at
from areaplan.sources._environment import load_pyproj
from areaplan.sources._text import shown
from areaplan.units import FOOT_M, NAUTICAL_MILE_M

SAGITTA_M: Final = 0.5  # between a true arc and its chords or tangents, at most
# Straight in longitude/latitude over this length, a geodesic is missed by L^2 tan(lat) / 8 R:
# 0.9 m at 85 degrees of latitude, 0.14 m at 60.
GEODESIC_STEP_M: Final = 2000.0
_LARGEST_RADIUS_M: Final = 1000.0 * NAUTICAL_MILE_M
_LARGEST_SWEEP_DEG: Final = 360.0 + 1e-9
_MAX_POINTS: Final = 1_000_000
# Units of GML lengths, in AIXM words and in UCUM.
LENGTHS_M: Final = {
    "NM": NAUTICAL_MILE_M,
    "[NMI_I]": NAUTICAL_MILE_M,
    "KM": 1000.0,
    "M": 1.0,
    "FT": FOOT_M,
    "[FT_I]": FOOT_M,
}
_LAT_LON: Final = re.compile(
    r"urn:ogc:def:crs:EPSG:[0-9.]*:4326|https?://www\.opengis\.net/def/crs/EPSG/[0-9.]+/4326",
    re.IGNORECASE,
)
_LON_LAT: Final = re.compile(
    r"urn:ogc:def:crs:OGC:[0-9.]*:CRS84|https?://www\.opengis\.net/def/crs/OGC/[0-9.]+/CRS84",
    re.IGNORECASE,
)


class PlacelessError(Exception):
    """Part of an outline cannot be placed at all, with the reason in words."""


@frozen(eq=False)
class Piece:
    """Part of a curve.

    Attributes
    ----------
    points : float64 array, shape (n, 2)
        Longitude and latitude, chords of an arc inside it.
    outer : float64 array, shape (m, 2)
        The same as tangents, on the outside of the arc; the points themselves for other parts.
    is_clockwise : bool or None
        The way an arc turns; None for other parts.
    is_border : bool
        A shared border, of which only the stretch between its neighbours is meant.
    """

    points: Float64Array
    outer: Float64Array
    is_clockwise: bool | None = None
    is_border: bool = False


@cache
def _geod() -> Any:
    return load_pyproj().Geod(ellps="WGS84")


def is_lat_lon(srs_name: str) -> bool:
    """Whether latitude comes first in a reference system.

    Raises
    ------
    PlacelessError
        Neither EPSG:4326 nor CRS84 as full names; the short "EPSG:4326" was written in either order
        by older programs.
    """
    if _LAT_LON.fullmatch(srs_name.strip()):
        return True
    if _LON_LAT.fullmatch(srs_name.strip()):
        return False
    found = f"its srsName is {shown(srs_name)}" if srs_name else "it has no srsName"
    raise PlacelessError(f"{found}, neither urn:ogc:def:crs:EPSG::4326 nor ...:OGC:1.3:CRS84")


def curve_pieces(curve: Element, srs_name: str, message: Message) -> Iterator[Piece]:
    """Parts of a curve in their order.

    Parameters
    ----------
    curve : Element
        A Curve or ElevatedCurve with segments, a LineString or a LinearRing.
    srs_name : str
        Reference system that holds unless the curve names its own.
    message : Message
        Where references lead.

    Raises
    ------
    PlacelessError
        A segment is of another kind, or a position, radius, angle or reference is not understood.
    """
    srs = curve.get("srsName", srs_name)
    if curve.tag in ("LinearRing", "LineString"):
        yield _straight(_positions(curve, srs, message))
        return
    segments = [segment for outer in curve.findall("segments") for segment in outer]
    if not segments:
        raise PlacelessError(f"a {curve.tag} has no segments")
    for segment in segments:
        if segment.tag in ("GeodesicString", "Geodesic"):
            yield _straight(_along_geodesics(_positions(segment, srs, message)))
        elif segment.tag == "LineStringSegment":
            yield _straight(_positions(segment, srs, message))
        elif segment.tag in ("ArcByCenterPoint", "CircleByCenterPoint"):
            yield _arc(segment, srs, message)
        else:
            raise PlacelessError(f"a segment {shown(segment.tag)} is of a kind that is not read")


def _straight(points: Float64Array) -> Piece:
    if len(points) < 2:
        raise PlacelessError("a part of its outline has a single position")
    return Piece(points, points)


def _positions(element: Element, srs_name: str, message: Message) -> Float64Array:
    """Positions of a curve part, longitude and latitude."""
    found: list[Float64Array] = []
    for child in element:
        if child.tag in ("posList", "pos"):
            found.append(_pairs(child, srs_name))
        elif child.tag in ("pointProperty", "pointRep"):
            found.append(_pointed(child, srs_name, message))
    if not found:
        raise PlacelessError("a part of its outline has no positions")
    return np.concatenate(found)


def _pointed(member: Element, srs_name: str, message: Message) -> Float64Array:
    reference = member.get(HREF, "")
    point = message.resolve(reference) if reference else next(iter(member), None)
    if point is None or point.tag not in ("Point", "ElevatedPoint"):
        raise PlacelessError(f"the point {shown(reference)} is not in the file")
    return point_position(point, "" if reference else srs_name).reshape(1, 2)


def point_position(point: Element, srs_name: str) -> Float64Array:
    """Longitude and latitude of a Point or ElevatedPoint; raises as `curve_pieces`."""
    position = point.find("pos")
    if position is None:
        raise PlacelessError("a point has no position")
    lonlat = _pairs(position, point.get("srsName", srs_name))
    if len(lonlat) != 1:
        raise PlacelessError(f"a point has {len(lonlat)} positions")
    return lonlat.ravel()


def _pairs(element: Element, srs_name: str) -> Float64Array:
    is_latitude_first = is_lat_lon(element.get("srsName", srs_name))
    dimension = element.get("srsDimension", "2").strip()
    try:
        numbers = np.array([float(word) for word in (element.text or "").split()])
    except ValueError:
        raise PlacelessError(f"positions {shown(element.text)} are not numbers") from None
    if dimension != "2" or numbers.size == 0 or numbers.size % 2:
        raise PlacelessError(f"positions {shown(element.text)} are not pairs")
    pairs: Float64Array = numbers.reshape(-1, 2)
    lonlat = pairs[:, ::-1] if is_latitude_first else pairs
    is_sound = (np.abs(lonlat[:, 0]) <= 180.0) & (np.abs(lonlat[:, 1]) <= 90.0)
    if not is_sound.all():
        raise PlacelessError(f"a position of {shown(element.text)} is no place on earth")
    return np.ascontiguousarray(lonlat)


def _along_geodesics(points: Float64Array) -> Float64Array:
    """Cut geodesics between successive points to `GEODESIC_STEP_M`."""
    geod = _geod()
    parts = [points[:1]]
    total = 0
    for start, end in pairwise(points):
        length_m = geod.inv(*start, *end)[2]
        count = math.ceil(length_m / GEODESIC_STEP_M)
        total += count
        if total > _MAX_POINTS:
            raise PlacelessError("its outline is absurdly long")
        if count > 1:
            parts.append(np.array(geod.npts(*start, *end, count - 1)))
        parts.append(end[None])
    return np.concatenate(parts)


def _arc(segment: Element, srs_name: str, message: Message) -> Piece:
    centres = _positions(segment, srs_name, message)
    if len(centres) != 1:
        raise PlacelessError(f"an arc has {len(centres)} centres")
    radius_m = length_m(segment.find("radius"))
    if radius_m is None or not 0.0 < radius_m <= _LARGEST_RADIUS_M:
        raise PlacelessError(f"the radius {_said(segment, 'radius')} of an arc is not understood")
    if segment.tag == "CircleByCenterPoint":
        start, end = 0.0, 360.0
    else:
        start, end = _angle(segment, "startAngle"), _angle(segment, "endAngle")
        if not is_lat_lon(_srs_of_centre(segment, srs_name)):
            start, end = 90.0 - start, 90.0 - end
    sweep = end - start
    if not 0.0 < abs(sweep) <= _LARGEST_SWEEP_DEG:
        raise PlacelessError(f"an arc sweeps {sweep:g} degrees")
    return arc_piece(centres[0], radius_m, start, sweep)


def arc_piece(centre: Float64Array, radius_m: float, start_deg: float, sweep_deg: float) -> Piece:
    """Arc about a centre, as chords and as tangents, each within `SAGITTA_M` of it.

    Parameters
    ----------
    centre : float64 array, shape (2,)
        Longitude and latitude.
    radius_m : float
        Geodesic radius.
    start_deg, sweep_deg : float
        Azimuth of its start and degrees swept, clockwise positive.

    Notes
    -----
    With half a step h, a chord misses the arc by R (1 - cos h), a corner of the tangents by
    R (1 / cos h - 1); cos h = R / (R + sagitta) keeps both within the sagitta.
    """
    half = math.acos(radius_m / (radius_m + SAGITTA_M))
    count = max(3, math.ceil(math.radians(abs(sweep_deg)) / (2.0 * half)))
    step = sweep_deg / count
    on_arc: Float64Array = start_deg + step * np.arange(count + 1, dtype=np.float64)
    corners: Float64Array = start_deg + step * (np.arange(count, dtype=np.float64) + 0.5)
    outside_m = radius_m / math.cos(math.radians(abs(step)) / 2.0)
    points = _around(centre, on_arc, radius_m)
    tangents = np.concatenate([points[:1], _around(centre, corners, outside_m), points[-1:]])
    return Piece(points, tangents, is_clockwise=sweep_deg > 0.0)


def _around(centre: Float64Array, azimuths: Float64Array, radius_m: float) -> Float64Array:
    ones = np.ones(len(azimuths))
    lon, lat, _ = _geod().fwd(centre[0] * ones, centre[1] * ones, azimuths, radius_m * ones)
    return np.column_stack([lon, lat])


def _srs_of_centre(segment: Element, srs_name: str) -> str:
    """Reference system in which the angles are measured: that of the segment's own position."""
    for child in segment:
        if child.tag in ("posList", "pos"):
            return child.get("srsName", srs_name)
        if child.tag in ("pointProperty", "pointRep") and not child.get(HREF):
            return next((p.get("srsName", srs_name) for p in child), srs_name)
    return srs_name


def _angle(segment: Element, path: str) -> float:
    element = segment.find(path)
    unit = "" if element is None else element.get("uom", "deg").strip().lower()
    value = plain_number(text_at(segment, path))
    if value is None or unit not in ("deg", "rad"):
        raise PlacelessError(f"the {path} {_said(segment, path)} of an arc is not understood")
    return math.degrees(value) if unit == "rad" else value


def length_m(element: Element | None) -> float | None:
    """Length with its unit in metres; None where absent, nil, negative or not understood."""
    if element is None or is_nil(element):
        return None
    value = plain_number((element.text or "").strip())
    factor = LENGTHS_M.get(element.get("uom", "").strip().upper())
    return None if value is None or factor is None or value < 0.0 else value * factor


def plain_number(text: str) -> float | None:
    """Finite number that a text spells; None where it spells none."""
    is_plain = re.fullmatch(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?", text, re.ASCII)
    value = float(text) if is_plain else math.nan
    return value if math.isfinite(value) else None


def _said(segment: Element, path: str) -> str:
    element = segment.find(path)
    if element is None:
        return "(missing)"
    return shown(f"{(element.text or '').strip()} {element.get('uom', '')}".strip())
