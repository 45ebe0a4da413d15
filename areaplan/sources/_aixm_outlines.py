"""Surfaces and corridors of AIXM to polygons in longitude/latitude, on the outer side of arcs."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Final
from xml.etree.ElementTree import Element

import numpy as np
import shapely
from shapely.affinity import translate
from shapely.geometry import LineString, MultiPoint, Point, Polygon, box
from shapely.geometry.base import BaseGeometry
from shapely.ops import substring

from areaplan.geodesy import LocalFrame, distance_and_bearing
from areaplan.grid import Float64Array
from areaplan.sources._aixm_curves import Piece, PlacelessError, curve_pieces, length_m
from areaplan.sources._aixm_slices import slice_on
from areaplan.sources._aixm_xml import HREF, Message, is_nil
from areaplan.sources._text import shown

# Parts of an outline must meet: boundary points are published to 100 m (ICAO Annex 15, table of
# aeronautical data accuracies), or to the accuracy that the volume itself states.
JOIN_M: Final = 100.0
_FRAME_REACH_M: Final = 20_000.0  # over which one local frame serves
_CORRIDOR_STEP_DEG: Final = 0.05
_CORRIDOR_LATITUDE_DEG: Final = 84.0
_HALF_WORLD_DEG: Final = 180.0
_SAME_DEG: Final = 1e-9
_BOUND_SLACK_DEG: Final = 0.01  # a kilometre, for geodesics that bulge out of a plane hull


class UnsoundError(Exception):
    """An outline that has more than one reading, with the reason and the region that bounds it."""

    def __init__(self, reason: str, bound: BaseGeometry) -> None:
        super().__init__(reason)
        self.bound = bound


def outline_of(volume: Element, message: Message, accuracy_m: float | None) -> BaseGeometry | None:
    """Horizontal shape of an AirspaceVolume; None where it has none of its own.

    Parameters
    ----------
    volume : Element
    message : Message
    accuracy_m : float or None
        Stated accuracy of its boundary, which is also how far apart its parts may end.

    Raises
    ------
    UnsoundError
        Its parts do not meet, cross or touch themselves, or a border could be followed either way.
    PlacelessError
        Some part of it is not in the file or not understood.
    """
    tolerance_m = max(JOIN_M, accuracy_m or 0.0)
    surfaces = _children(volume, "horizontalProjection")
    if surfaces:
        return _checked([_surface(surface, message, tolerance_m) for surface in surfaces])
    curves = _children(volume, "centreline")
    if curves:
        width_m = length_m(volume.find("width"))
        if width_m is None:
            raise PlacelessError("the width of its corridor is not understood")
        return _corridor(curves[0], width_m, message)
    return None


def accuracy_of(volume: Element, said: list[str]) -> float | None:
    """Worst horizontal accuracy that the surfaces of a volume state, metres; None: not stated.

    Parameters
    ----------
    volume : Element
    said : list of str
        Filled when one is stated but not understood.
    """
    stated = [
        child.find("horizontalAccuracy")
        for path in ("horizontalProjection", "centreline")
        for child in _children(volume, path)
    ]
    lengths = [(length_m(element), is_nil(element)) for element in stated]
    if any(value is None and not is_absent for value, is_absent in lengths):
        said.append("its horizontalAccuracy is not understood: the project's margin alone counts")
    return max((value for value, _ in lengths if value is not None), default=None)


def surface_polygon(surface: Element, message: Message, tolerance_m: float) -> BaseGeometry:
    """Polygon of a Surface or ElevatedSurface; raises as `outline_of`."""
    return _checked([_surface(surface, message, tolerance_m)])


def bound_of(error: UnsoundError) -> BaseGeometry:
    """Polygon that holds an unsound outline, wherever it really runs."""
    world = box(-3 * _HALF_WORLD_DEG, -90.0, 3 * _HALF_WORLD_DEG, 90.0)
    return _split_at_180(error.bound.buffer(_BOUND_SLACK_DEG).intersection(world))


def _children(element: Element, path: str) -> list[Element]:
    return [child for outer in element.findall(path) for child in outer]


def _surface(surface: Element, message: Message, tolerance_m: float) -> BaseGeometry:
    srs = surface.get("srsName", "")
    patches = _children(surface, "patches") or [surface]
    polygons: list[Polygon] = []
    for patch in patches:
        exteriors = _children(patch, "exterior")
        if len(exteriors) != 1:
            raise PlacelessError(f"a {patch.tag} of its outline has {len(exteriors)} exteriors")
        shell = _ring(exteriors[0], srs, message, tolerance_m, is_hole=False)
        holes = [
            _ring(hole, srs, message, tolerance_m, is_hole=True)
            for hole in _children(patch, "interior")
        ]
        polygons.append(Polygon(shell, holes))
    return _union(polygons)


def _union(polygons: Sequence[BaseGeometry]) -> BaseGeometry:
    """Union of sound polygons; a collection, which is not sound, of others."""
    if len(polygons) == 1:
        return polygons[0]
    for polygon in polygons:
        _check(polygon)
    return shapely.union_all(polygons)


def _ring(
    ring: Element, srs: str, message: Message, tolerance_m: float, *, is_hole: bool
) -> Float64Array:
    srs = ring.get("srsName", srs)
    pieces = _pieces(ring, srs, message)
    pieces = _cut_borders(pieces)
    _check_joins(pieces, tolerance_m)
    chords = _closed(np.concatenate([piece.points for piece in pieces]))
    if len(chords) < 4:
        raise PlacelessError("its outline has fewer than three corners")
    is_ccw = shapely.is_ccw(shapely.linearrings(_unwrapped(chords)))
    # An arc bulges out of the ring where it turns the way the ring does. The airspace is inside a
    # shell and outside a hole: tangents where it would lose ground to chords, chords elsewhere.
    parts = [
        piece.points
        if piece.is_clockwise is None or (piece.is_clockwise is bool(is_ccw)) is not is_hole
        else piece.outer
        for piece in pieces
    ]
    outline = _unwrapped(_closed(np.concatenate(parts)))
    if abs(outline[-1, 0] - outline[0, 0]) > _HALF_WORLD_DEG:
        raise PlacelessError("its outline runs round a pole")
    outline[-1] = outline[0]
    return outline


def _pieces(ring: Element, srs: str, message: Message) -> list[Piece]:
    if ring.tag == "LinearRing":
        return list(curve_pieces(ring, srs, message))
    pieces: list[Piece] = []
    for member in ring.findall("curveMember"):
        reference = member.get(HREF, "")
        if reference:
            pieces += _referred(reference, message)
            continue
        for curve in member:
            pieces += curve_pieces(curve, srs, message)
    if not pieces:
        raise PlacelessError("its outline has no parts")
    return pieces


def _referred(reference: str, message: Message) -> list[Piece]:
    target = message.resolve(reference)
    if target is None:
        raise PlacelessError(f"the border {shown(reference)} is not in the file")
    if target.tag in ("Curve", "ElevatedCurve"):
        pieces = list(curve_pieces(target, "", message))
        return [Piece(np.concatenate([p.points for p in pieces]), pieces[0].points, None, True)]
    if target.tag != "GeoBorder":
        raise PlacelessError(f"{shown(reference)} is a {target.tag}, not a border or curve")
    chosen = slice_on(target, None)
    curves = _children(chosen.element, "border") if chosen else []
    if len(curves) != 1:
        raise PlacelessError(f"the border {shown(reference)} has {len(curves)} curves")
    points = np.concatenate([p.points for p in curve_pieces(curves[0], "", message)])
    return [Piece(points, points, None, True)]


def _cut_borders(pieces: list[Piece]) -> list[Piece]:
    """Keep of each border the stretch between the end before it and the start after it."""
    if len(pieces) == 1:
        return pieces
    cut: list[Piece] = []
    for place, piece in enumerate(pieces):
        if not piece.is_border:
            cut.append(piece)
            continue
        before, after = pieces[place - 1], pieces[(place + 1) % len(pieces)]
        if before.is_border or after.is_border:
            raise PlacelessError("two shared borders follow each other")
        start, end = before.points[-1], after.points[0]
        points = _stretch(piece.points, start, end)
        cut.append(Piece(points, points))
    return cut


def _stretch(border: Float64Array, start: Float64Array, end: Float64Array) -> Float64Array:
    if np.allclose(border[0], border[-1], atol=_SAME_DEG, rtol=0.0):
        everything = MultiPoint(np.concatenate([border, [start, end]])).convex_hull
        raise UnsoundError("a closed border can be followed either way round", everything)
    scale = np.array([np.cos(np.radians((start[1] + end[1]) / 2.0)), 1.0])
    line = LineString(border * scale)
    from_m, to_m = (line.project(Point(place * scale)) for place in (start, end))
    if from_m == to_m:
        raise UnsoundError(
            "its parts on either side of a border meet the border at one point",
            MultiPoint([start, end]).convex_hull,
        )
    stretch: Float64Array = shapely.get_coordinates(substring(line, from_m, to_m)) / scale
    return stretch


def _check_joins(pieces: Sequence[Piece], tolerance_m: float) -> None:
    for place, piece in enumerate(pieces):
        after = pieces[(place + 1) % len(pieces)]
        (lon1, lat1), (lon2, lat2) = piece.points[-1], after.points[0]
        gap_m, _ = distance_and_bearing(lat1, lon1, lat2, lon2)
        if gap_m > tolerance_m:
            everything = np.concatenate([p.outer for p in pieces] + [p.points for p in pieces])
            raise UnsoundError(
                f"its parts do not meet: {gap_m:,.0f} m apart at latitude {lat1:.6f}, "
                f"longitude {lon1:.6f}",
                MultiPoint(_unwrapped(everything)).convex_hull,
            )


def _closed(points: Float64Array) -> Float64Array:
    """Points without repetitions, the first again at the end."""
    is_new = np.ones(len(points), dtype=bool)
    is_new[1:] = (np.abs(np.diff(points, axis=0)) > _SAME_DEG).any(axis=1)
    points = points[is_new]
    if (np.abs(points[0] - points[-1]) > _SAME_DEG).any():
        return np.concatenate([points, points[:1]])
    points[-1] = points[0]
    return points


def _unwrapped(points: Float64Array) -> Float64Array:
    """Longitudes without jumps at the 180 degree meridian."""
    return np.column_stack([np.unwrap(points[:, 0], period=360.0), points[:, 1]])


def _corridor(curve: Element, width_m: float, message: Message) -> BaseGeometry:
    """Everything within half the width of a line, its ends rounded: no less than is published."""
    points = np.concatenate([p.points for p in curve_pieces(curve, "", message)])
    if np.abs(points[:, 1]).max() > _CORRIDOR_LATITUDE_DEG:
        raise PlacelessError("its corridor runs too near a pole")
    points = shapely.get_coordinates(shapely.segmentize(LineString(points), _CORRIDOR_STEP_DEG))
    stretches = []
    first = 0
    for last in range(1, len(points)):
        (lon1, lat1), (lon2, lat2) = points[first], points[last]
        is_long = distance_and_bearing(lat1, lon1, lat2, lon2)[0] > _FRAME_REACH_M
        if is_long or last == len(points) - 1:
            frame = LocalFrame(lat=float(lat1), lon=float(lon1))
            stretch = points[first : last + 1]
            line = LineString(np.column_stack(frame.to_local(stretch[:, 0], stretch[:, 1])))
            # Eight corners to a quarter of the round ends lie up to 0.5 % of the radius inside.
            band = line.buffer(0.5 * width_m * 1.005, quad_segs=8)
            stretches.append(shapely.transform(band, _to_lonlat(frame)))
            first = last
    return _checked([shapely.union_all(stretches)])


def _to_lonlat(frame: LocalFrame) -> Callable[[Float64Array], Float64Array]:
    def move(xy: Float64Array) -> Float64Array:
        return np.column_stack(frame.to_lonlat(xy[:, 0], xy[:, 1]))

    return move


def _checked(polygons: Sequence[BaseGeometry]) -> BaseGeometry:
    return _split_at_180(_union([_check(polygon) for polygon in polygons]))


def _check(polygon: BaseGeometry) -> BaseGeometry:
    west, _, east, _ = polygon.bounds
    if east - west > _HALF_WORLD_DEG:
        raise PlacelessError(f"its outline spans {east - west:.0f} degrees of longitude")
    if not polygon.is_valid:
        reason = shapely.is_valid_reason(polygon)
        raise UnsoundError(f"its outline crosses or touches itself ({reason})", polygon.convex_hull)
    return polygon


def _split_at_180(polygon: BaseGeometry) -> BaseGeometry:
    west, _, east, _ = polygon.bounds
    if max(-west, east) <= _HALF_WORLD_DEG:
        return polygon
    parts = []
    for turns in (-1, 0, 1):
        window = box(360.0 * turns - 180.0, -90.0, 360.0 * turns + 180.0, 90.0)
        part = polygon.intersection(window)
        if part.area > 0.0:
            parts.append(translate(part, xoff=-360.0 * turns))
    return shapely.union_all(parts)
