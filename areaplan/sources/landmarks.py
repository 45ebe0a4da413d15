"""What a pilot flies round: things that stand out, and references that a person drew."""

from __future__ import annotations

from typing import Final

import shapely
from shapely.geometry.base import BaseGeometry

from areaplan.sources._assembly import convert_all, gather, make_layer
from areaplan.sources._columns import text_of
from areaplan.sources._features import Feature
from areaplan.sources._text import shown
from areaplan.sources._vector import LonLatBox
from areaplan.sources.layers import DrawnReference, Landmark, Layer, ReferenceKind
from areaplan.sources.spec import SourceSpec

_POINTS_POLYGONS: Final = frozenset({0, 2})
_POINTS_LINES_POLYGONS: Final = frozenset({0, 1, 2})
_KIND_ATTRIBUTES: Final = ("kind", "natural", "man_made", "building", "type")
_USE_OF_TYPE: Final = {
    "LineString": ReferenceKind.LINE,
    "Point": ReferenceKind.POINT,
    "Polygon": ReferenceKind.RECTANGLE,
    "MultiPoint": ReferenceKind.PAIR,
}
_SHAPES: Final = {
    ReferenceKind.LINE: "a single line",
    ReferenceKind.POINT: "a single point",
    ReferenceKind.RECTANGLE: "a single outline without holes",
    ReferenceKind.PAIR: "two points, or a line of two vertices from one to the other",
}


def read_landmarks(spec: SourceSpec, clip_lonlat: LonLatBox | None = None) -> Layer[Landmark]:
    """Read things that are easily seen from the air: trees, silos, crossroads.

    Attributes read: `name`; the kind as `kind`, `natural`, `man_made`, `building` or `type`, else
    the word "landmark". A set of points gives a landmark each.

    Parameters
    ----------
    spec : SourceSpec
        Of kind LANDMARKS.
    clip_lonlat : tuple of float, optional
        West, south, east, north in degrees: rows outside may be left unread in large files.

    Raises
    ------
    InputError
        A file or feature is not usable.
    """
    gathered = gather(spec, _POINTS_POLYGONS, clip_lonlat)
    rows = [
        Landmark(
            feature.name_or("landmark"),
            text_of(feature, *_KIND_ATTRIBUTES, max_chars=40) or "landmark",
            shapely.centroid(part),
        )
        for feature in gathered.features
        for part in shapely.get_parts(feature.geometry)
    ]
    return make_layer(spec, gathered, rows)


def read_references(
    spec: SourceSpec, clip_lonlat: LonLatBox | None = None
) -> Layer[DrawnReference]:
    """Read ground references that a person drew.

    Attributes read: `name`, and `use`, which is line, point, rectangle or pair. Without it a line
    is used as such, a point as a point, an outline as a rectangle and two points as a pair.

    Parameters
    ----------
    spec : SourceSpec
        Of kind REFERENCES.
    clip_lonlat : tuple of float, optional
        As in `read_landmarks`.

    Returns
    -------
    Layer of DrawnReference
        Whether a line is straight and an outline rectangular is seen only in metres, by
        `areaplan.planning.references`.

    Raises
    ------
    InputError
        A file or feature is not usable, `use` is another word, or the shape cannot serve as that.
    """
    gathered = gather(spec, _POINTS_LINES_POLYGONS, clip_lonlat)
    return make_layer(spec, gathered, convert_all(gathered.features, _drawn))


def _drawn(feature: Feature) -> DrawnReference:
    geometry = _single(feature.geometry)
    use = _use_of(feature, geometry)
    usable = _shaped(geometry, use)
    if usable is None:
        raise feature.error(
            f"a {geometry.geom_type} to be used as a {use}",
            _SHAPES[use],
            "draw it so, each reference as a feature of its own, or correct the attribute use",
        )
    return DrawnReference(feature.name_or(f"drawn {use}"), use, usable)


def _single(geometry: BaseGeometry) -> BaseGeometry:
    """The only part of a geometry that has no other, as formats with one type a layer make them."""
    parts = shapely.get_parts(geometry)
    part: BaseGeometry = parts[0] if len(parts) == 1 else geometry
    return part


def _use_of(feature: Feature, geometry: BaseGeometry) -> ReferenceKind:
    word = text_of(feature, "use", max_chars=40).lower()
    try:
        return ReferenceKind(word) if word else _USE_OF_TYPE[geometry.geom_type]
    except ValueError:
        found = f"use = {shown(word)}"
        fix = "correct the word, or leave the attribute empty"
        raise feature.error(found, f"one of {', '.join(ReferenceKind)}", fix) from None
    except KeyError:
        found = f"a {geometry.geom_type} of {len(shapely.get_parts(geometry))} parts"
        fix = "split it into one feature for each"
        raise feature.error(found, "a single line, point or outline", fix) from None


def _shaped(geometry: BaseGeometry, use: ReferenceKind) -> BaseGeometry | None:
    """The geometry in the form of its use; None where it has another."""
    if use is ReferenceKind.PAIR and geometry.geom_type == "LineString":
        geometry = shapely.MultiPoint(shapely.get_coordinates(geometry))
    if _USE_OF_TYPE.get(geometry.geom_type) is not use:
        return None
    places = {(float(x), float(y)) for x, y in shapely.get_coordinates(geometry)}
    if use is ReferenceKind.PAIR and (
        shapely.get_num_geometries(geometry) != 2 or len(places) != 2
    ):
        return None
    if use is ReferenceKind.RECTANGLE and shapely.get_num_interior_rings(geometry):
        return None
    return geometry
