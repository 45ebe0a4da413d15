"""The five classes of a cell as the map shows them: fill, ink and pattern.

Our own colours, measured: the worst pair differs by 20.6 (CIEDE2000) over normal vision and the
three kinds of colour blindness; ink on fill is at least 4.08 : 1. Plain means usable, every hatch
means do not use, so that the classes are told apart without any colour.
"""

from __future__ import annotations

from typing import Final

from attrs import frozen

from areaplan.planning.plan import CellClass


@frozen
class ClassStyle:
    """How one class looks.

    Attributes
    ----------
    cell_class : CellClass
        Which class.
    fill, ink : str
        Colours as ``#RRGGBB``; the ink draws the pattern.
    pattern : str
        "plain", "slash", "backslash", "cross" or "dots".
    pattern_words : str
        The pattern in words, for people who hear the legend.
    """

    cell_class: CellClass
    fill: str
    ink: str
    pattern: str
    pattern_words: str


CLASS_STYLES: Final = (
    ClassStyle(CellClass.LEGAL_WITH_FIELD, "#5DBCE2", "#5DBCE2", "plain", "plain"),
    ClassStyle(
        CellClass.LEGAL_NO_FIELD, "#F3CE5B", "#5C4300", "slash", "hatched, rising to the right"
    ),
    ClassStyle(
        CellClass.FIELD_NOT_LEGAL,
        "#7266BC",
        "#FFFFFF",
        "backslash",
        "hatched, falling to the right",
    ),
    ClassStyle(CellClass.NEITHER, "#56302C", "#F0CFC4", "cross", "cross-hatched"),
    ClassStyle(CellClass.UNKNOWN, "#F1F1EE", "#5F6368", "dots", "dotted"),
)
