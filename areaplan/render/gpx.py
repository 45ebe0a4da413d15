"""GPX 1.1 documents: waypoints, routes and tracks; areas are closed tracks, which it must be told.

References
----------
GPX 1.1 schema, http://www.topografix.com/GPX/1/1: latitude and longitude in degrees on WGS 84,
elevation in metres, time in UTC. The order of elements is the schema's.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import UTC, datetime
from typing import Final
from xml.etree import ElementTree as ET

import shapely
from attrs import frozen
from shapely.geometry.base import BaseGeometry

from areaplan.render.xml_text import add_text, document_bytes

NAMESPACE: Final = "http://www.topografix.com/GPX/1/1"
CREATOR: Final = "areaplan"
CLOSED_TRACK: Final = (
    "GPX has no areas: this track is the outline of an area, closed on its first point."
)
_DECIMALS: Final = 7  # of a degree: a centimetre


@frozen
class GpxPoint:
    """A place, with a name where it is a waypoint.

    Attributes
    ----------
    lat, lon : float
        Degrees, WGS 84.
    elevation_amsl_m : float or None
        Metres above mean sea level.
    time : datetime or None
        With its offset from UTC.
    name, description, kind : str
        "" where there is none.
    """

    lat: float
    lon: float
    elevation_amsl_m: float | None = None
    time: datetime | None = None
    name: str = ""
    description: str = ""
    kind: str = ""


@frozen
class GpxRoute:
    """Places flown in order."""

    name: str
    points: tuple[GpxPoint, ...]
    description: str = ""
    kind: str = ""


@frozen
class GpxTrack:
    """Lines drawn or flown, each segment without a gap."""

    name: str
    segments: tuple[tuple[GpxPoint, ...], ...]
    description: str = ""
    kind: str = ""


def gpx_bytes(
    *,
    title: str,
    description: str,
    made: datetime,
    waypoints: Iterable[GpxPoint] = (),
    routes: Iterable[GpxRoute] = (),
    tracks: Iterable[GpxTrack] = (),
) -> bytes:
    """Write one GPX 1.1 document.

    Parameters
    ----------
    title, description : str
        Metadata of the file.
    made : datetime
        With its offset from UTC; give the day judged, not the clock, for the same bytes each time.
    waypoints, routes, tracks : iterables
        In the order in which they are to stand.

    Returns
    -------
    bytes
        UTF-8; the same for the same content.

    Raises
    ------
    ValueError
        A time has no offset from UTC, or a place is off the globe or not a number.
    """
    root = ET.Element("gpx", {"xmlns": NAMESPACE, "version": "1.1", "creator": CREATOR})
    metadata = ET.SubElement(root, "metadata")
    add_text(metadata, "name", title)
    add_text(metadata, "desc", description)
    add_text(metadata, "time", _utc(made))
    for point in waypoints:
        _point(root, "wpt", point)
    for route in routes:
        element = _named(root, "rte", route)
        for point in route.points:
            _point(element, "rtept", point)
    for track in tracks:
        element = _named(root, "trk", track)
        for segment in track.segments:
            inner = ET.SubElement(element, "trkseg")
            for point in segment:
                _point(inner, "trkpt", point)
    return document_bytes(root)


def outline_track(
    name: str, geometry: BaseGeometry, description: str = "", kind: str = ""
) -> GpxTrack:
    """Lines as they are and polygons as closed tracks, one segment a ring, and the words for it.

    Parameters
    ----------
    name : str
    geometry : shapely geometry
        Lines or polygons, longitude/latitude.
    description, kind : str
        What else to say.

    Raises
    ------
    ValueError
        The geometry is neither lines nor polygons.
    """
    parts: Sequence[BaseGeometry] = shapely.get_parts(geometry).tolist()
    lines: list[BaseGeometry] = []
    is_area = False
    for part in parts:
        if isinstance(part, shapely.Polygon):
            is_area = True
            lines += shapely.get_rings(part).tolist()
        elif isinstance(part, shapely.LineString):
            lines.append(part)
        else:
            raise ValueError(f"{part.geom_type} is neither a line nor a polygon")
    words = f"{description} {CLOSED_TRACK}".strip() if is_area else description
    segments = tuple(
        tuple(GpxPoint(lat, lon) for lon, lat in shapely.get_coordinates(line).tolist())
        for line in lines
    )
    return GpxTrack(name, segments, words, kind)


def _named(parent: ET.Element, tag: str, one: GpxRoute | GpxTrack) -> ET.Element:
    element = ET.SubElement(parent, tag)
    _words(element, one.name, one.description, one.kind)
    return element


def _words(element: ET.Element, name: str, description: str, kind: str) -> None:
    for tag, text in (("name", name), ("desc", description), ("type", kind)):
        if text:
            add_text(element, tag, text)


def _point(parent: ET.Element, tag: str, point: GpxPoint) -> None:
    if not (-90.0 <= point.lat <= 90.0 and -180.0 <= point.lon <= 180.0):
        raise ValueError(f"{point.lat}, {point.lon} is no place on the globe")
    # The schema leaves 180 itself to the west: -180.0 <= longitude < 180.0.
    lon = -180.0 if round(point.lon, _DECIMALS) == 180.0 else point.lon
    place = {"lat": f"{point.lat:.{_DECIMALS}f}", "lon": f"{lon:.{_DECIMALS}f}"}
    element = ET.SubElement(parent, tag, place)
    if point.elevation_amsl_m is not None:
        add_text(element, "ele", f"{point.elevation_amsl_m:.2f}")
    if point.time is not None:
        add_text(element, "time", _utc(point.time))
    _words(element, point.name, point.description, point.kind)


def _utc(time: datetime) -> str:
    if time.utcoffset() is None:
        raise ValueError(f"{time} has no offset from UTC")
    spec = "milliseconds" if time.microsecond else "seconds"
    return time.astimezone(UTC).isoformat(timespec=spec).replace("+00:00", "Z")
