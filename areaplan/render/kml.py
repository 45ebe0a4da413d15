"""KML 2.2 documents: folders of named shapes whose heights are never drawn where they are not true.

References
----------
OGC 07-147r2, *KML*, version 2.2.0: the order of elements is that of its schema. Absolute altitudes
are metres above mean sea level as the geoid EGM96 gives it.
"""

from __future__ import annotations

import html
from collections.abc import Iterable, Mapping, Sequence
from enum import StrEnum
from typing import Final
from xml.etree import ElementTree as ET

import numpy as np
import shapely
from attrs import field, frozen
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from areaplan.render.xml_text import add_text, document_bytes, xml_text

NAMESPACE: Final = "http://www.opengis.net/kml/2.2"
_DECIMALS: Final = 7  # of a degree: a centimetre
# Without this a viewer makes a balloon of its own from names and values, and may run them as HTML.
_BALLOON: Final = "$[description]"


class AltitudeMode(StrEnum):
    """What the third coordinate of a shape is measured from."""

    ON_GROUND = "clampToGround"
    ABOVE_GROUND = "relativeToGround"
    ABOVE_SEA = "absolute"


@frozen
class KmlStyle:
    """How shapes are drawn; colours as ``#RRGGBB``, opacity from 0 to 1, width in pixels."""

    line: str
    width: float
    fill: str = ""  # "": outline only
    fill_opacity: float = 0.4


@frozen(eq=False)
class Shape:
    """A geometry (longitude/latitude, z in metres where the mode is not ON_GROUND).

    `is_extruded` draws walls down to the ground: for what stands on the ground.
    """

    geometry: BaseGeometry
    mode: AltitudeMode = AltitudeMode.ON_GROUND
    is_extruded: bool = False


@frozen(eq=False)
class Placemark:
    """One named thing.

    Attributes
    ----------
    name : str
    shapes : tuple of Shape
        At least one; several make one multi-geometry.
    style : str
        Name of a style of the document.
    lines : tuple of str
        Plain sentences for the balloon, escaped by the writer.
    values : mapping of str to str
        Extended data, as plain text.
    """

    name: str
    shapes: tuple[Shape, ...]
    style: str
    lines: tuple[str, ...] = ()
    values: Mapping[str, str] = field(factory=dict)


@frozen(eq=False)
class Folder:
    """Placemarks that are shown and hidden together; `lines` as in `Placemark`."""

    name: str
    placemarks: tuple[Placemark, ...]
    lines: tuple[str, ...] = ()
    is_visible: bool = True


def kml_bytes(
    folders: Iterable[Folder],
    *,
    title: str,
    lines: Sequence[str] = (),
    styles: Mapping[str, KmlStyle],
) -> bytes:
    """Write folders as one KML 2.2 document.

    Parameters
    ----------
    folders : iterable of Folder
    title : str
    lines : sequence of str
        Description of the document: cautions, editions.
    styles : mapping of str to KmlStyle
        By the names that placemarks use.

    Returns
    -------
    bytes
        UTF-8; the same for the same content.

    Raises
    ------
    KeyError
        A placemark names a style that is not given.
    ValueError
        A geometry is of another kind than points, lines and polygons, or has no height where its
        mode asks for one.
    """
    root = ET.Element("kml", {"xmlns": NAMESPACE})
    document = ET.SubElement(root, "Document")
    add_text(document, "name", title)
    _description(document, lines)
    for name, style in styles.items():
        _style(document, name, style)
    for folder in folders:
        element = ET.SubElement(document, "Folder")
        add_text(element, "name", folder.name)
        if not folder.is_visible:
            add_text(element, "visibility", "0")
        _description(element, folder.lines)
        for placemark in folder.placemarks:
            if placemark.style not in styles:
                raise KeyError(placemark.style)
            _placemark(element, placemark, is_visible=folder.is_visible)
    return document_bytes(root)


def _description(parent: ET.Element, lines: Sequence[str]) -> None:
    """Viewers take a description as HTML: the text is escaped for HTML first, then for XML."""
    if lines:
        escaped = (html.escape(line).replace("$[", "$&#91;") for line in lines)
        add_text(parent, "description", "<br>".join(escaped))


def _style(document: ET.Element, name: str, style: KmlStyle) -> None:
    element = ET.SubElement(document, "Style", {"id": name})
    icon = ET.SubElement(element, "IconStyle")
    add_text(icon, "color", _colour(style.line, 1.0))
    add_text(icon, "scale", "0.7")
    line = ET.SubElement(element, "LineStyle")
    add_text(line, "color", _colour(style.line, 1.0))
    add_text(line, "width", f"{style.width:g}")
    polygon = ET.SubElement(element, "PolyStyle")
    add_text(polygon, "color", _colour(style.fill or style.line, style.fill_opacity))
    add_text(polygon, "fill", "1" if style.fill else "0")
    balloon = ET.SubElement(element, "BalloonStyle")
    add_text(balloon, "text", _BALLOON)


def _colour(text: str, opacity: float) -> str:
    """KML's aabbggrr from #RRGGBB."""
    return f"{round(opacity * 255):02x}{text[5:7]}{text[3:5]}{text[1:3]}".lower()


def _placemark(parent: ET.Element, one: Placemark, *, is_visible: bool) -> None:
    element = ET.SubElement(parent, "Placemark")
    add_text(element, "name", one.name)
    if not is_visible:
        add_text(element, "visibility", "0")
    _description(element, (one.name, *one.lines))
    add_text(element, "styleUrl", f"#{one.style}")
    if one.values:
        data = ET.SubElement(element, "ExtendedData")
        for key, value in one.values.items():
            add_text(ET.SubElement(data, "Data", {"name": xml_text(key)}), "value", value)
    parts = [
        (part, shape) for shape in one.shapes for part in shapely.get_parts(shape.geometry).tolist()
    ]
    if len(parts) == 1:
        _geometry(element, *parts[0])
        return
    multi = ET.SubElement(element, "MultiGeometry")
    for part, shape in parts:
        _geometry(multi, part, shape)


def _geometry(parent: ET.Element, part: BaseGeometry, shape: Shape) -> None:
    if shape.mode is not AltitudeMode.ON_GROUND and not part.has_z:
        raise ValueError(f"a geometry without heights can't be {shape.mode}")
    kinds = {shapely.Point: "Point", shapely.LineString: "LineString", shapely.Polygon: "Polygon"}
    kind = kinds.get(type(part))
    if kind is None:
        raise ValueError(f"{part.geom_type} has no place in this KML")
    element = ET.SubElement(parent, kind)
    if shape.is_extruded:
        add_text(element, "extrude", "1")
    if kind == "LineString" and shape.mode is AltitudeMode.ON_GROUND:
        add_text(element, "tessellate", "1")
    add_text(element, "altitudeMode", shape.mode)
    if isinstance(part, shapely.Polygon):
        oriented = shapely.orient_polygons(part)
        _ring(element, "outerBoundaryIs", oriented.exterior, shape.mode)
        for hole in oriented.interiors:
            _ring(element, "innerBoundaryIs", hole, shape.mode)
    else:
        add_text(element, "coordinates", _coordinates(part, shape.mode))


def _ring(parent: ET.Element, tag: str, ring: BaseGeometry, mode: AltitudeMode) -> None:
    inner = ET.SubElement(ET.SubElement(parent, tag), "LinearRing")
    add_text(inner, "coordinates", _coordinates(ring, mode))


def _coordinates(geometry: BaseGeometry, mode: AltitudeMode) -> str:
    has_z = mode is not AltitudeMode.ON_GROUND
    rows: NDArray[np.float64] = shapely.get_coordinates(geometry, include_z=has_z)
    if not np.isfinite(rows).all():
        raise ValueError("a coordinate is not a number")
    return " ".join(
        f"{row[0]:.{_DECIMALS}f},{row[1]:.{_DECIMALS}f}" + (f",{row[2]:.2f}" if has_z else "")
        for row in rows.tolist()
    )
