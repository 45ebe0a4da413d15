"""Styled Layer Descriptors for exported layers.

References
----------
OGC 02-070, *Styled Layer Descriptor Implementation Specification*, version 1.0.0: its well-known
marks are square, circle, triangle, star, cross and x.
"""

from __future__ import annotations

from typing import Final
from xml.etree import ElementTree as ET

import shapely

from areaplan.render.export_styles import STYLES, LayerStyle
from areaplan.render.export_table import Table
from areaplan.render.xml_text import add_text, document_bytes

NAMESPACE: Final = "http://www.opengis.net/sld"
_OGC: Final = "http://www.opengis.net/ogc"


def sld_text(table: Table) -> str:
    """Style of a layer as SLD 1.0: a rule for each style that its rows use.

    Parameters
    ----------
    table : Table
        Rows of several styles are told apart by the column with the fewest values that tell them.

    Raises
    ------
    ValueError
        No column tells the styles of the rows apart.
    """
    root = ET.Element(
        "StyledLayerDescriptor",
        {"xmlns": NAMESPACE, "xmlns:ogc": _OGC, "version": "1.0.0"},
    )
    layer = ET.SubElement(root, "NamedLayer")
    add_text(layer, "Name", table.name)
    user = ET.SubElement(layer, "UserStyle")
    add_text(user, "Title", table.title)
    kind = ET.SubElement(user, "FeatureTypeStyle")
    dimensions = {int(shapely.get_dimensions(shape)) for shape in table.geometries}
    for name, column, value in _rules(table):
        rule = ET.SubElement(kind, "Rule")
        add_text(rule, "Name", value if column else table.title)
        if column:
            equal = ET.SubElement(ET.SubElement(rule, "ogc:Filter"), "ogc:PropertyIsEqualTo")
            add_text(equal, "ogc:PropertyName", column)
            add_text(equal, "ogc:Literal", value)
        for dimension in sorted(dimensions, reverse=True):
            _symbolizers(rule, STYLES[name], dimension)
    return document_bytes(root).decode("utf-8")


def _rules(table: Table) -> list[tuple[str, str, str]]:
    """Style, and the column and value that ask for it; one without a column for a plain layer."""
    if not table.styles:
        return [(table.style, "", "")]
    telling: list[dict[str, str]] = []
    columns: list[str] = []
    for place, column in enumerate(table.columns):
        pairs = {
            (str(row[place]), style) for row, style in zip(table.rows, table.styles, strict=True)
        }
        if len(dict(pairs)) == len(pairs):
            columns.append(column)
            telling.append(dict(sorted(pairs)))
    if not telling:
        raise ValueError(f"{table.name}: no column tells its styles apart")
    fewest = min(range(len(telling)), key=lambda index: len(telling[index]))
    return [(style, columns[fewest], value) for value, style in telling[fewest].items()]


def _symbolizers(rule: ET.Element, style: LayerStyle, dimension: int) -> None:
    if dimension == 0:
        element = ET.SubElement(rule, "PointSymbolizer")
        _mark(ET.SubElement(element, "Graphic"), style.mark or "circle", style.line, "9")
    elif dimension == 1:
        _stroke(ET.SubElement(rule, "LineSymbolizer"), style)
    else:
        area = ET.SubElement(rule, "PolygonSymbolizer")
        if style.fill:
            fill = ET.SubElement(area, "Fill")
            _parameter(fill, "fill", style.fill)
            _parameter(fill, "fill-opacity", f"{style.fill_opacity:g}")
        _stroke(area, style)
        if style.fill and style.mark:
            pattern = ET.SubElement(rule, "PolygonSymbolizer")
            graphic = ET.SubElement(ET.SubElement(pattern, "Fill"), "GraphicFill")
            inner = ET.SubElement(graphic, "Graphic")
            _mark(inner, style.mark, style.mark_ink, "8")


def _stroke(parent: ET.Element, style: LayerStyle) -> None:
    stroke = ET.SubElement(parent, "Stroke")
    _parameter(stroke, "stroke", style.line)
    _parameter(stroke, "stroke-width", f"{style.width:g}")
    if style.dash:
        _parameter(stroke, "stroke-dasharray", " ".join(f"{length:g}" for length in style.dash))


def _mark(graphic: ET.Element, name: str, colour: str, size: str) -> None:
    mark = ET.SubElement(graphic, "Mark")
    add_text(mark, "WellKnownName", name)
    _parameter(ET.SubElement(mark, "Fill"), "fill", colour)
    add_text(graphic, "Size", size)


def _parameter(parent: ET.Element, name: str, value: str) -> None:
    add_text(parent, "CssParameter", value).set("name", name)
