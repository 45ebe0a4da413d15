"""What a vertical section names: the airspace that it cuts, and obstacles beside its line."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any, Final

import numpy as np
import shapely

from areaplan.geodesy import LocalFrame
from areaplan.grid import BoolArray, Float64Array
from areaplan.planning.briefing_places import Standing
from areaplan.planning.plan import UNKNOWN_FT
from areaplan.planning.section_volumes import CutVolume
from areaplan.planning.vertical_section import VerticalSection
from areaplan.render.figures.labels import Labels, Spot
from areaplan.render.figures.paper import INK, PAPER, cased
from areaplan.units import NAUTICAL_MILE_M, feet_text

# Conventions of ours: what stands so near a line that whoever flies along it meets it.
NEAR_NM: Final = 0.25
TALL_FT: Final = 100
CLOSED: Final[dict[str, Any]] = {"linewidth": 1.4, "linestyle": (0, (7, 2, 1.5, 2))}
OPEN: Final[dict[str, Any]] = {"linewidth": 0.8, "linestyle": (0, (3, 2))}
_BOXED: Final = {"boxstyle": "square,pad=0.15", "facecolor": PAPER, "edgecolor": "none"}
_TRIES: Final = 9


def draw_airspace(axes: Any, labels: Labels, cut: VerticalSection) -> list[str]:
    """Outline every volume that the line cuts, with its name and limits beside the outline.

    Returns
    -------
    list of str
        Volumes without words in the drawing: above or below it, or too small.
    """
    bottom_ft, top_ft = axes.get_ylim()
    along_nm = cut.along_m / NAUTICAL_MILE_M
    left = []
    for one in cut.volumes:
        words = f"{one.volume.name}\n{one.volume.lower_text} to {one.volume.upper_text}"
        is_named = False
        for run in _runs(one.is_inside):
            low, high = _drawn_limits(one, run, bottom_ft, top_ft)
            if (high <= bottom_ft).all() or (low >= top_ft).all():
                continue
            _outline(axes, one, along_nm[run], low, high)
            if labels.place(
                words, _volume_spots(along_nm[run], low, high, bottom_ft, top_ft),
                size=5.6, style="italic", bbox=_BOXED,
            ):  # fmt: skip
                is_named = True
        if not is_named:
            left.append(words.replace("\n", ", "))
    return list(dict.fromkeys(left))


def _runs(is_inside: BoolArray) -> Iterator[slice]:
    edges = np.flatnonzero(np.diff(np.concatenate([[0], is_inside.astype(np.int8), [0]])))
    for begin, end in edges.reshape(-1, 2).tolist():
        yield slice(begin, end)


def _drawn_limits(
    one: CutVolume, run: slice, bottom_ft: float, top_ft: float
) -> tuple[Float64Array, Float64Array]:
    """Limits kept within a little more than the frame; what is not known reaches beyond it."""
    low = np.nan_to_num(one.lower_amsl_ft[run], nan=-np.inf, neginf=-np.inf, posinf=np.inf)
    high = np.nan_to_num(one.upper_amsl_ft[run], nan=np.inf, neginf=-np.inf, posinf=np.inf)
    return np.clip(low, bottom_ft - 100, top_ft + 100), np.clip(high, bottom_ft - 100, top_ft + 100)


def _outline(
    axes: Any, one: CutVolume, along_nm: Float64Array, low: Float64Array, high: Float64Array
) -> None:
    look = CLOSED if one.volume.is_blocking else OPEN
    x = np.concatenate([along_nm, along_nm[::-1], along_nm[:1]])
    y = np.concatenate([low, high[::-1], low[:1]])
    axes.plot(x, y, color=INK, zorder=7, path_effects=cased(look["linewidth"] + 1.2), **look)


def _volume_spots(
    along_nm: Float64Array, low: Float64Array, high: Float64Array, bottom_ft: float, top_ft: float
) -> Iterator[Spot]:
    """Inside the outline: under its top and over its floor, then farther in; then beside it."""
    count = along_nm.size
    for share in (0.5, 0.25, 0.75, 0.1, 0.9):
        index = min(count - 1, int(share * count))
        x = float(along_nm[index])
        under, over = min(float(high[index]), top_ft), max(float(low[index]), bottom_ft)
        if under > over:
            yield Spot(x, over, 0.0, 3.0, "center", "bottom")
            yield Spot(x, under, 0.0, -3.0, "center", "top")
            for step in range(1, _TRIES):
                yield Spot(x, over + (under - over) * step / _TRIES)
    middle_ft = (max(float(low.max()), bottom_ft) + min(float(high.min()), top_ft)) / 2.0
    yield Spot(float(along_nm[0]), middle_ft, -4.0, 0.0, "right")
    yield Spot(float(along_nm[-1]), middle_ft, 4.0, 0.0, "left")


def draw_obstacles(
    axes: Any,
    labels: Labels,
    cut: VerticalSection,
    frame: LocalFrame,
    obstacles: Sequence[Standing],
) -> int:
    """Draw what stands tall beside the line, from the ground of the line's cell to its top.

    Returns
    -------
    int
        How many found no room for their name.
    """
    bottom_ft, top_ft = axes.get_ylim()
    near = tuple(near_the_line(cut, frame, obstacles))
    for along_m, top_amsl_ft, _ in near:
        axes.plot(
            [along_m / NAUTICAL_MILE_M] * 2,
            [_ground_ft(cut, along_m, bottom_ft), top_amsl_ft],
            color=INK, linewidth=1.6, zorder=8, path_effects=cased(2.6),
        )  # fmt: skip
        axes.plot(
            [along_m / NAUTICAL_MILE_M], [top_amsl_ft], marker="^", color=INK, markersize=4,
            markeredgecolor=PAPER, markeredgewidth=0.5, zorder=8,
        )  # fmt: skip
        labels.keep_free(along_m / NAUTICAL_MILE_M, top_amsl_ft, 2.5)
    unnamed = 0
    for along_m, top_amsl_ft, name in near:
        x, y = along_m / NAUTICAL_MILE_M, float(min(top_amsl_ft, top_ft))
        spots = [
            Spot(x, y, right, up, ha, va)
            for up, va in ((4.0, "bottom"), (11.0, "bottom"), (18.0, "bottom"), (25.0, "bottom"))
            for right, ha in ((0.0, "center"), (4.0, "left"), (-4.0, "right"))
        ]
        words = f"{name}, {feet_text(top_amsl_ft)}"
        unnamed += not labels.place(words, spots, size=5.2, path_effects=cased())
    return unnamed


def near_the_line(
    cut: VerticalSection, frame: LocalFrame, obstacles: Sequence[Standing]
) -> Iterator[tuple[float, int, str]]:
    """Obstacles beside a section, the highest first: distance along it, top in feet AMSL, name.

    Those of at least `TALL_FT` above ground, or of unknown height above it, whose published place
    is within `NEAR_NM` of the line. One whose top is unknown can't be drawn; briefings list it.
    """
    line = shapely.LineString(cut.ends_m)
    for one in obstacles:
        x_m, y_m = frame.to_local(one.place.lon, one.place.lat)
        point = shapely.Point(float(x_m), float(y_m))
        is_tall = one.top_agl_ft is None or one.top_agl_ft >= TALL_FT
        if one.top_amsl_ft is None or not is_tall:
            continue
        if float(line.distance(point)) <= NEAR_NM * NAUTICAL_MILE_M:
            yield float(line.project(point)), one.top_amsl_ft, one.name


def _ground_ft(cut: VerticalSection, along_m: float, otherwise_ft: float) -> float:
    index = int(np.argmin(np.abs(cut.along_m - along_m)))
    ground = int(cut.terrain_amsl_ft[index])
    return otherwise_ft if ground == UNKNOWN_FT else float(ground)
