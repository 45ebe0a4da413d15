"""AIXM Airspace features to pieces of airspace: outlines, limits, and what they borrow."""

from __future__ import annotations

from datetime import date
from typing import Final
from xml.etree.ElementTree import Element

import shapely
from attrs import evolve, field, frozen
from shapely.geometry.base import BaseGeometry

from areaplan.sources._aixm_curves import PlacelessError
from areaplan.sources._aixm_limits import (
    NOTHING_KNOWN,
    Limits,
    has_limits,
    is_at_or_below,
    volume_limits,
)
from areaplan.sources._aixm_outlines import UnsoundError, accuracy_of, bound_of, outline_of
from areaplan.sources._aixm_slices import Holds, slice_on
from areaplan.sources._aixm_xml import HREF, Message, label_of, text_at
from areaplan.sources._text import shown

_OPERATIONS: Final = ("BASE", "UNION", "SUBTR", "INTERS")
_DEEPEST: Final = 20
_MOST_PIECES: Final = 1000


@frozen(eq=False)
class Piece:
    """Part of a volume with limits of its own.

    Attributes
    ----------
    geometry : shapely geometry
    limits : Limits
    accuracy_m : float or None
        Of its boundary; None where not stated.
    owner : Element
        The feature whose geometry it is.
    is_bound : bool
        The shape itself is not known: this is only what holds it.
    """

    geometry: BaseGeometry
    limits: Limits
    accuracy_m: float | None
    owner: Element = field(repr=False)
    is_bound: bool = False


@frozen(eq=False)
class Reading:
    """What the pieces of a message are read from: the message, and the project's day."""

    message: Message
    day: date | None


def pieces_of(
    feature: Element,
    airspace: Element,
    reading: Reading,
    said: list[str],
    path: tuple[str, ...] = (),
) -> list[Piece]:
    """Pieces that make up an airspace, from its components in their sequence.

    Parameters
    ----------
    feature : Element
    airspace : Element
        The slice of it that is read.
    reading : Reading
    said : list of str
        Filled with what is not understood; the pieces are then the larger reading, or unknown.
    path : tuple of str
        Features that led here, against circular references.

    Raises
    ------
    PlacelessError
        Some part has no place: missing or circular references, no geometry, unread kinds of curve.
    """
    here = label_of(feature)
    if here in path or len(path) > _DEEPEST:
        raise PlacelessError(f"references go round in a circle: {' to '.join((*path, here))}")
    components = airspace.findall("geometryComponent/AirspaceGeometryComponent")
    if not components:
        raise PlacelessError("it has no geometry")
    whole: list[Piece] = []
    for place, component in enumerate(_in_sequence(components, said)):
        operation = text_at(component, "operation").upper() or ("UNION" if place else "BASE")
        if operation not in _OPERATIONS:
            raise PlacelessError(f"its operation {shown(operation)} is not understood")
        if place == 0 and operation in ("SUBTR", "INTERS"):
            raise PlacelessError(f"its first operation is {operation}, of which there is no base")
        more: list[Piece] = []
        for volume in component.findall("theAirspaceVolume/AirspaceVolume"):
            more += _volume(feature, volume, reading, said, (*path, here))
        if not more:
            raise PlacelessError("a part of its geometry has no volume")
        whole = _combine(whole, operation, more, said)
        if len(whole) > _MOST_PIECES:
            raise PlacelessError(f"it is made up of more than {_MOST_PIECES} parts")
    return whole


def _in_sequence(components: list[Element], said: list[str]) -> list[Element]:
    """Components by their sequence; the order matters only where something is taken away."""
    if len(components) == 1:
        return components
    numbers = [text_at(component, "operationSequence") for component in components]
    if all(n.isascii() and n.isdigit() for n in numbers) and len(set(numbers)) == len(numbers):
        return [c for _, c in sorted(zip(map(int, numbers), components, strict=True), key=_first)]
    if any(text_at(c, "operation").upper() in ("SUBTR", "INTERS") for c in components):
        raise PlacelessError(f"its operations are numbered {', '.join(numbers) or 'not at all'}")
    said.append("its parts are not numbered; they are taken together")
    return components


def _first(pair: tuple[int, Element]) -> int:
    return pair[0]


def _volume(
    feature: Element, volume: Element, reading: Reading, said: list[str], path: tuple[str, ...]
) -> list[Piece]:
    """Pieces of one AirspaceVolume: its own outline, or what it borrows."""
    accuracy_m = accuracy_of(volume, said)
    try:
        outline = outline_of(volume, reading.message, accuracy_m)
    except UnsoundError as error:
        said.append(f"{error}; everything that its corners enclose counts as unknown")
        return [Piece(bound_of(error), NOTHING_KNOWN, accuracy_m, feature, is_bound=True)]
    dependencies = volume.findall("contributorAirspace/AirspaceVolumeDependency")
    if outline is not None:
        if dependencies:
            said.append("it has an outline and borrows one as well: its own is taken")
        return [Piece(outline, one, accuracy_m, feature) for one in volume_limits(volume, said)]
    if not dependencies:
        raise PlacelessError("a volume of it has no outline")
    pieces: list[Piece] = []
    for dependency in dependencies:
        borrowed = _borrowed(dependency, reading, said, path)
        if text_at(dependency, "dependency").upper() == "FULL_GEOMETRY":
            pieces += borrowed
            if not has_limits(volume):
                continue
        own = volume_limits(volume, said)
        shapes = {id(piece.geometry): piece for piece in borrowed}.values()
        pieces += [
            # Where the shape itself is not known, no limits of this volume make it so.
            piece if piece.is_bound else evolve(piece, limits=limits, owner=feature)
            for piece in shapes
            for limits in own
        ]
    return pieces


def _borrowed(
    dependency: Element, reading: Reading, said: list[str], path: tuple[str, ...]
) -> list[Piece]:
    kind = text_at(dependency, "dependency").upper()
    if kind not in ("FULL_GEOMETRY", "HORZ_PROJECTION"):
        raise PlacelessError(f"its dependency {shown(kind)} is not understood")
    link = dependency.find("theAirspace")
    reference = "" if link is None else link.get(HREF, "")
    target = reading.message.resolve(reference)
    if target is None or target.tag != "Airspace":
        raise PlacelessError(f"the airspace {shown(reference)} that it borrows is not in the file")
    chosen = slice_on(target, reading.day)
    if chosen is None:
        raise PlacelessError(f"the airspace {shown(reference)} that it borrows states nothing")
    pieces = pieces_of(target, chosen.element, reading, said, path)
    if chosen.holds is Holds.YES:
        return pieces
    said.append(f"of the airspace {shown(reference)} that it borrows {chosen.holds}")
    return [evolve(piece, limits=NOTHING_KNOWN, is_bound=True) for piece in pieces]


def _combine(whole: list[Piece], operation: str, more: list[Piece], said: list[str]) -> list[Piece]:
    if operation in ("BASE", "UNION"):
        return whole + more
    result: list[Piece] = []
    for piece in whole:
        geometry = piece.geometry
        for other in more:
            if operation == "INTERS":
                continue
            if _spans(other.limits, piece.limits):
                geometry = geometry.difference(other.geometry)
            else:
                said.append(
                    "what is taken away from it does not surely reach from its floor to its "
                    "ceiling: nothing is taken away"
                )
        if operation == "INTERS" and not any(other.is_bound for other in more):
            # The limits of the base stay: the part kept is never lower or thinner than published.
            geometry = _together(more).intersection(geometry)
        accuracies = [a for a in (piece.accuracy_m, *(o.accuracy_m for o in more)) if a is not None]
        geometry = _polygons_of(geometry)
        if not geometry.is_empty:
            result.append(
                evolve(piece, geometry=geometry, accuracy_m=max(accuracies, default=None))
            )
    return result


def _polygons_of(geometry: BaseGeometry) -> BaseGeometry:
    """The polygons alone: where outlines only touch, an intersection holds lines and points."""
    parts = shapely.get_parts(geometry)
    return shapely.union_all(parts[shapely.get_dimensions(parts) == 2])


def _together(pieces: list[Piece]) -> BaseGeometry:
    return shapely.union_all([piece.geometry for piece in pieces])


def _spans(outer: Limits, inner: Limits) -> bool:
    """Whether limits surely reach from below others to above them."""
    if outer.lower is None or outer.upper is None or inner.lower is None or inner.upper is None:
        return False
    is_low = is_at_or_below(outer.lower, inner.lower)
    return is_low is True and is_at_or_below(inner.upper, outer.upper) is True
