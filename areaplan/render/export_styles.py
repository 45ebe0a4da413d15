"""How exported layers look: the map's own class colours, and its ink for everything drawn."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from attrs import frozen

from areaplan.render.map_classes import CLASS_STYLES

_INK: Final = "#1C2326"
_BLUE, _YELLOW, _VIOLET, _BROWN, _PALE = (style.fill for style in CLASS_STYLES)


@frozen
class LayerStyle:
    """Lines, fill and marks of a layer.

    Attributes
    ----------
    line : str
        ``#RRGGBB``.
    width : float
        Pixels.
    dash : tuple of float
        Pixels on and off; empty: unbroken.
    fill : str
        "" for an outline only.
    fill_opacity : float
        0 to 1.
    mark : str
        Shape of a point and of a fill's pattern, in the names of SLD 1.0; "" for a plain fill.
    mark_ink : str
        Colour of the pattern.
    """

    line: str = _INK
    width: float = 1.5
    dash: tuple[float, ...] = ()
    fill: str = ""
    fill_opacity: float = 0.4
    mark: str = ""
    mark_ink: str = _INK


# SLD 1.0 has no slanted hatch among its marks: each class that is not plain has a mark of its own.
_CLASS_MARKS: Final = ("", "triangle", "cross", "x", "circle")

STYLES: Final[Mapping[str, LayerStyle]] = {
    "area": LayerStyle(width=3.6),
    **{
        f"class_{int(style.cell_class)}": LayerStyle(
            line=style.ink,
            width=0.4,
            fill=style.fill,
            fill_opacity=0.6,
            mark=mark,
            mark_ink=style.ink,
        )
        for style, mark in zip(CLASS_STYLES, _CLASS_MARKS, strict=True)
    },
    "standoffs": LayerStyle(width=1.3, dash=(3.0, 2.0)),
    "fields": LayerStyle(width=2.5, fill=_BLUE),
    "fields_not_counted": LayerStyle(width=2.0, dash=(6.0, 4.0), fill=_YELLOW, fill_opacity=0.3),
    "candidates": LayerStyle(width=1.8, dash=(5.0, 4.0), fill=_PALE, fill_opacity=0.3),
    "strips": LayerStyle(width=2.2),
    "airspace_closed": LayerStyle(
        line=_BROWN, width=2.6, dash=(16.0, 4.0, 3.0, 4.0), fill=_BROWN, fill_opacity=0.15
    ),
    "airspace_open": LayerStyle(line=_VIOLET, width=1.4, dash=(9.0, 5.0)),
    "obstacles": LayerStyle(mark="triangle"),
    "structures": LayerStyle(width=1.0, mark="square"),
    "persons": LayerStyle(dash=(4.0, 2.0), mark="circle"),
    "wires": LayerStyle(width=1.2, dash=(1.6, 4.0)),
    "woods": LayerStyle(width=1.2, dash=(2.0, 2.0)),
    "roads": LayerStyle(width=1.6),
    "airways": LayerStyle(width=1.6, dash=(22.0, 6.0)),
    "congested": LayerStyle(width=2.5, dash=(3.0, 3.0), fill=_INK, fill_opacity=0.1),
    "sparse": LayerStyle(width=2.0, dash=(1.0, 6.0)),
    "assemblies": LayerStyle(width=2.5, dash=(10.0, 4.0), fill=_INK, fill_opacity=0.1),
    "noise": LayerStyle(width=2.0, dash=(8.0, 3.0, 2.0, 3.0)),
    "gates": LayerStyle(mark="star"),
    "routes": LayerStyle(width=2.2, dash=(12.0, 3.0)),
    "findings": LayerStyle(mark="x"),
}
