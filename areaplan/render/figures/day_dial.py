"""A dial with north up: where the wind blows from, and the headings that look into a low sun."""

from __future__ import annotations

import math
from typing import Any, Final

import numpy as np

from areaplan.planning.sun import Sun
from areaplan.render.figures.paper import INK, PAPER, SOFT, cased
from areaplan.units import Wind, bearing_text

_RIM: Final = 1.0
_OUT: Final = 1.5  # half of the side of the square that the dial stands in
GLARE: Final[dict[str, Any]] = {
    "facecolor": "#F3CE5B",
    "edgecolor": "#5C4300",
    "hatch": "/////",
    "linewidth": 0.5,
}
_COMPASS: Final = ((0, "N"), (90, "E"), (180, "S"), (270, "W"))


def draw_dial(paper: Any, wind: Wind, sun: Sun, box: tuple[float, ...]) -> None:
    """Draw the dial at a place on the paper.

    Parameters
    ----------
    paper : matplotlib figure
    wind : Wind
    sun : Sun
    box : tuple of float
        Left, low, width and height as shares of the paper.
    """
    axes = paper.add_axes(box)
    axes.set_xlim(-_OUT, _OUT)
    axes.set_ylim(-_OUT, _OUT)
    axes.set_aspect("equal")
    axes.set_axis_off()
    _rim(axes)
    _glare(axes, sun)
    _arrow(axes, wind)


def sun_words(sun: Sun) -> str:
    """Which headings look into a low sun, or that none do."""
    avoid = sun.headings_to_avoid_deg_true
    if avoid is None:
        return "no low sun to look into"
    return f"do not roll out on {bearing_text(avoid[0])} to {bearing_text(avoid[1])} true: low sun"


def wind_words(wind: Wind) -> str:
    """The wind with its reference."""
    return f"wind {wind} true" if wind.speed_mps else "calm"


def _rim(axes: Any) -> None:
    turn = np.linspace(0.0, 2.0 * np.pi, 73)
    axes.plot(_RIM * np.cos(turn), _RIM * np.sin(turn), color=SOFT, linewidth=0.7)
    for deg in range(0, 360, 30):
        (x0, y0), (x1, y1) = _at(deg, _RIM), _at(deg, _RIM - 0.1)
        axes.plot([x0, x1], [y0, y1], color=SOFT, linewidth=0.6)
    for deg, letter in _COMPASS:
        x, y = _at(deg, _RIM + 0.22)
        axes.text(x, y, letter, fontsize=6.5, weight="bold", ha="center", va="center")


def _arrow(axes: Any, wind: Wind) -> None:
    """From where the wind comes, through the middle; a ring where it is calm."""
    if wind.speed_mps == 0.0:
        axes.plot([0.0], [0.0], marker="o", markersize=6, color=PAPER, markeredgecolor=INK)
        return
    axes.annotate(
        "", _at(wind.from_deg_true + 180.0, 0.55), xytext=_at(wind.from_deg_true, _RIM), zorder=8,
        arrowprops={
            "arrowstyle": "-|>", "color": INK, "linewidth": 2.0, "mutation_scale": 11,
            "shrinkA": 0, "shrinkB": 0,
        },
    )  # fmt: skip


def _glare(axes: Any, sun: Sun) -> None:
    """The headings to avoid as a hatched wedge, and the sun beyond the rim."""
    from matplotlib.patches import Wedge

    avoid = sun.headings_to_avoid_deg_true
    if avoid is None:
        return
    first, last = avoid
    # Wedges run anticlockwise from east: from the last heading back to the first.
    axes.add_patch(
        Wedge(
            (0.0, 0.0),
            _RIM,
            90.0 - first - (last - first) % 360.0,
            90.0 - first,
            **GLARE,
            zorder=3,
        )
    )
    x, y = _at(sun.azimuth_deg_true, _RIM + 0.22)
    axes.plot(
        [x], [y], marker="o", markersize=5.5, color="#F3CE5B", markeredgecolor=INK,
        markeredgewidth=0.8, zorder=9, path_effects=cased(1.5),
    )  # fmt: skip


def _at(deg_true: float, distance: float) -> tuple[float, float]:
    angle = math.radians(deg_true)
    return distance * math.sin(angle), distance * math.cos(angle)
