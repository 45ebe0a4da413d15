"""Words on drawings that never lie over one another: each takes the first free place of several."""

from __future__ import annotations

import math
from collections.abc import Iterable
from functools import cache
from typing import Any, Final

import numpy as np
from attrs import define, field, frozen

from areaplan.grid import Float64Array
from areaplan.render.figures.paper import plain

_POINTS_AN_INCH: Final = 72.0
_LEADING: Final = 1.25  # matplotlib's line spacing is 1.2
_SHARE_LEFT: Final = {"left": 0.0, "center": 0.5, "right": 1.0}
_SHARE_BELOW: Final = {"bottom": 0.0, "center": 0.5, "top": 1.0}


@frozen
class Spot:
    """A place for words: data coordinates, an offset in points, and how they are set about it."""

    x: float
    y: float
    right_pt: float = 0.0
    up_pt: float = 0.0
    ha: str = "center"
    va: str = "center"


@define
class Labels:
    """The words placed so far on one pair of axes.

    Axes must have their limits and their place on the sheet before anything is placed.

    Attributes
    ----------
    axes : matplotlib axes
    pad_pt : float
        Kept free round each label, points.
    """

    axes: Any
    pad_pt: float = 1.2
    _taken: list[tuple[float, float, float, float]] = field(init=False, factory=list)

    def keep_free(self, x: float, y: float, half_pt: float) -> None:
        """Keep words off a mark at data coordinates."""
        at_x, at_y = self._points(x, y)
        self._taken.append((at_x - half_pt, at_y - half_pt, at_x + half_pt, at_y + half_pt))

    def keep_free_line(self, x: Float64Array, y: Float64Array, half_pt: float = 1.5) -> None:
        """Keep words off a line, given by points close to one another, and off its steps."""
        for at, (low, high) in zip(x, _steps(y), strict=True):
            if not math.isnan(low):
                (left, bottom), (_, top) = self._points(at, low), self._points(at, high)
                self._taken.append(
                    (left - half_pt, bottom - half_pt, left + half_pt, top + half_pt)
                )

    def place(self, text: str, spots: Iterable[Spot], *, size: float, **style: Any) -> bool:
        """Write words at the first of several spots that is free and inside the frame.

        Parameters
        ----------
        text : str
        spots : iterable of Spot
            The best first.
        size : float
            Of the letters, points.
        **style
            As `axes.annotate` takes it.

        Returns
        -------
        bool
            Whether there was such a spot; if not, nothing is written.
        """
        width, height = _size_pt(text, size)
        for spot in spots:
            at_x, at_y = self._points(spot.x, spot.y)
            left = at_x + spot.right_pt - _SHARE_LEFT[spot.ha] * width
            low = at_y + spot.up_pt - _SHARE_BELOW[spot.va] * height
            box = (
                left - self.pad_pt,
                low - self.pad_pt,
                left + width + self.pad_pt,
                low + height + self.pad_pt,
            )
            if self._is_inside(box) and not any(_overlap(box, one) for one in self._taken):
                self._taken.append(box)
                self.axes.annotate(
                    plain(text), (spot.x, spot.y), xytext=(spot.right_pt, spot.up_pt),
                    textcoords="offset points", ha=spot.ha, va=spot.va, fontsize=size,
                    multialignment=spot.ha, **{"zorder": 9, **style},
                )  # fmt: skip
                return True
        return False

    @property
    def boxes_pt(self) -> tuple[tuple[float, float, float, float], ...]:
        """Left, low, right, high of everything kept, points from the sheet's lower left corner."""
        return tuple(self._taken)

    def _points(self, x: float, y: float) -> tuple[float, float]:
        at_x, at_y = self.axes.transData.transform((x, y)) * _POINTS_AN_INCH / self.axes.figure.dpi
        return float(at_x), float(at_y)

    def _is_inside(self, box: tuple[float, float, float, float]) -> bool:
        frame = self.axes.bbox
        scale = _POINTS_AN_INCH / self.axes.figure.dpi
        return bool(
            box[0] >= frame.x0 * scale
            and box[1] >= frame.y0 * scale
            and box[2] <= frame.x1 * scale
            and box[3] <= frame.y1 * scale
        )


def _steps(y: Float64Array) -> Float64Array:
    """From and to of each point's stretch of a line: up to the point before it, where known."""
    before = np.concatenate([y[:1], y[:-1]])
    before = np.where(np.isnan(before), y, before)
    return np.column_stack([np.minimum(before, y), np.maximum(before, y)])


def _overlap(
    one: tuple[float, float, float, float], other: tuple[float, float, float, float]
) -> bool:
    return (
        one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]
    )  # fmt: skip


def _size_pt(text: str, size: float) -> tuple[float, float]:
    """Width and height of words as set, points."""
    rows = text.split("\n")
    return max(_width_pt(row, size) for row in rows), len(rows) * size * _LEADING


@cache
def _width_pt(row: str, size: float) -> float:
    from matplotlib.font_manager import FontProperties
    from matplotlib.textpath import TextPath

    if not row.strip():
        return 0.0
    font = FontProperties(family="DejaVu Sans", weight="bold")  # wider than any other used
    return float(TextPath((0.0, 0.0), plain(row), size=size, prop=font).get_extents().x1)
