"""The profile of a recorded flight: an SVG of its own, written as text, the same bytes each time.

Every half pixel shows the worst of its time: the lowest altitude flown, the highest ground, floor
and glide altitude. Nothing is judged here.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from html import escape
from pathlib import Path
from typing import Any, Final

import numpy as np
from attrs import frozen
from numpy.typing import NDArray

from areaplan.grid import Float64Array
from areaplan.planning.flight_review import PURPOSE, FlightReview
from areaplan.planning.flight_spells import SpellKind
from areaplan.planning.plan import UNKNOWN_FT, UNREACHABLE_FT, CellClass
from areaplan.planning.point_margins import cells_under
from areaplan.render.flight_text import clock
from areaplan.render.map_classes import CLASS_STYLES
from areaplan.render.text import feet_text
from areaplan.render.whole_file import write_whole
from areaplan.units import FOOT_M

WIDTH: Final = 960
HEIGHT: Final = 500
_LEFT, _RIGHT, _TOP, _BOTTOM = 84.0, 944.0, 64.0, 330.0
_INK: Final = "#1B1F23"
_SOFT: Final = "#4A5057"
_GROUND: Final = "#D8D2C4"
_AREA: Final = "#E8F4FA"
_STYLE: Final = {style.cell_class: style for style in CLASS_STYLES}
_ROWS: Final = (
    ({SpellKind.NOT_LEGAL}, CellClass.FIELD_NOT_LEGAL, "not legal"),
    ({SpellKind.NO_FIELD}, CellClass.LEGAL_NO_FIELD, "no field"),
    ({SpellKind.UNKNOWN, SpellKind.NOT_RECORDED}, CellClass.UNKNOWN, "not known"),
)
_STEPS_FT: Final = (100, 200, 250, 500, 1000, 2000, 5000)
_STEPS_S: Final = (10, 30, 60, 120, 300, 600, 900, 1800, 3600, 7200)
_SHORT_GAP_S: Final = 1.0  # pieces follow each other: anything longer is a gap in the lines


@frozen(eq=False)
class _Scales:
    """From seconds and feet to pixels."""

    end_s: float
    low_ft: float
    high_ft: float

    def x(self, time_s: Any) -> Any:
        return _LEFT + (_RIGHT - _LEFT) * time_s / self.end_s

    def y(self, feet: Any) -> Any:
        share = (feet - self.low_ft) / (self.high_ft - self.low_ft)
        return _BOTTOM - (_BOTTOM - _TOP) * share


def write_profile(review: FlightReview, path: Path) -> None:
    """Write the profile as SVG.

    Raises
    ------
    InputError
        The folder is missing or can't be written to.
    """
    write_whole(path, profile_svg(review), "the figure", "--figure")


def profile_svg(review: FlightReview) -> str:
    """Draw altitude flown, ground, floor and glide altitude over time, and the spells below.

    Parameters
    ----------
    review : FlightReview
        Only drawn.
    """
    altitude = review.flown.course.altitude_amsl_m / FOOT_M
    ground, floor, glide = _under(review)
    known = np.concatenate([altitude[np.isfinite(altitude)], ground[np.isfinite(ground)]])
    low, high = (float(known.min()), float(known.max())) if known.size else (0.0, 1000.0)
    scales = _Scales(float(review.flight.time_s[-1]), low - 100.0, max(high, low + 500.0) + 200.0)
    name, day = Path(review.flight.name).name, review.flight.begins.date()
    contradiction = review.altitude_check.contradiction
    title = f"{name}: {review.plan.project.name}, {day}"
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" role="img" width="{WIDTH}" height="{HEIGHT}" '
        f'viewBox="0 0 {WIDTH} {HEIGHT}" aria-labelledby="profile-title" '
        'font-family="system-ui, sans-serif">',
        f'<title id="profile-title">{escape(title)}</title>',
        _definitions(),
        f'<rect width="{WIDTH}" height="{HEIGHT}" fill="#FFFFFF"/>',
        _text(_LEFT, 22, title, size=16, weight=700),
        _text(_LEFT, 42, f"Altitudes: {review.altitude_words}. {PURPOSE}", size=11),
        contradiction and _text(_LEFT, 57, contradiction, size=12, weight=700),
        *_inside(review, scales),
        *_axes(review, scales),
        '<g clip-path="url(#profile-frame)">',
        _area_below(_columns(review, ground, scales, np.maximum), scales),
        _line(_columns(review, floor, scales, np.maximum), scales, _SOFT, 1.4, "7 4"),
        _line(_columns(review, glide, scales, np.maximum), scales, "#7266BC", 1.6, "2 3"),
        _line(_columns(review, altitude, scales, np.minimum), scales, _INK, 2.2, ""),
        "</g>",
        *_spell_rows(review, scales),
        *_legend(),
    ]
    return "\n".join([*(part for part in parts if part), "</svg>\n"])


def _under(review: FlightReview) -> tuple[Float64Array, Float64Array, Float64Array]:
    """Ground, floor of the height rules and glide altitude under each piece, feet; NaN unknown."""
    course, cells = review.flown.course, review.plan.cells
    row, col, is_on_grid = cells_under(review.plan.grid, course.x_m, course.y_m)

    def feet(values: NDArray[Any]) -> Float64Array:
        is_known = is_on_grid & (values != UNKNOWN_FT) & (values != UNREACHABLE_FT)
        return np.where(is_known, values, np.nan).astype(np.float64)

    return (
        feet(cells.terrain_amsl_ft[row, col]),
        feet(cells.legal_floor_amsl_ft[row, col]),
        feet(review.margins.glide_required_amsl_ft),
    )


def _columns(
    review: FlightReview, feet: Float64Array, scales: _Scales, worst: Callable[..., Any]
) -> list[list[tuple[float, float]]]:
    """Runs of points (time, feet), one for each half pixel, broken at gaps and unknowns."""
    time_s = review.flown.time_s
    column = np.floor(2.0 * scales.x(time_s)).astype(np.int64)
    is_break = np.ones(time_s.shape, dtype=np.bool_)
    between_s = np.diff(time_s) - (review.flown.lasts_s[1:] + review.flown.lasts_s[:-1]) / 2.0
    is_gap = (between_s > _SHORT_GAP_S) | (np.isnan(feet[1:]) != np.isnan(feet[:-1]))
    is_break[1:] = (np.diff(column) != 0) | is_gap
    first = np.flatnonzero(is_break)
    value = worst.reduceat(feet, first)  # type: ignore[attr-defined]
    runs: list[list[tuple[float, float]]] = []
    for number, index in enumerate(first.tolist()):
        if np.isnan(value[number]):
            continue
        if not runs or (index > 0 and is_gap[index - 1]):
            runs.append([])
        runs[-1].append((float(time_s[index]), float(value[number])))
    return runs


def _points(run: list[tuple[float, float]], scales: _Scales) -> str:
    return " ".join(f"{scales.x(time):.1f},{scales.y(feet):.1f}" for time, feet in run)


def _line(
    runs: list[list[tuple[float, float]]], scales: _Scales, ink: str, width: float, dash: str
) -> str:
    dashes = f' stroke-dasharray="{dash}"' if dash else ""
    return "\n".join(
        f'<polyline points="{_points(run, scales)}" fill="none" stroke="{ink}" '
        f'stroke-width="{width}" stroke-linejoin="round"{dashes}/>'
        for run in runs
    )


def _area_below(runs: list[list[tuple[float, float]]], scales: _Scales) -> str:
    return "\n".join(
        f'<polygon points="{scales.x(run[0][0]):.1f},{_BOTTOM} {_points(run, scales)} '
        f'{scales.x(run[-1][0]):.1f},{_BOTTOM}" fill="{_GROUND}"/>'
        for run in runs
    )


def _inside(review: FlightReview, scales: _Scales) -> Iterator[str]:
    """Where the flight was inside the area, as a tint behind everything."""
    edges = np.flatnonzero(np.diff(np.concatenate([[0], review.is_judged.astype(np.int8), [0]])))
    time_s, half_s = review.flown.time_s, review.flown.lasts_s / 2.0
    for begin, end in edges.reshape(-1, 2).tolist():
        left = scales.x(time_s[begin] - half_s[begin])
        right = scales.x(time_s[end - 1] + half_s[end - 1])
        yield (
            f'<rect x="{left:.1f}" y="{_TOP}" width="{right - left:.1f}" '
            f'height="{_BOTTOM - _TOP}" fill="{_AREA}"/>'
        )
    for begin_s, end_s in review.flown.gaps_s:  # nobody knows where that was
        left, right = scales.x(begin_s), scales.x(end_s)
        yield (
            f'<rect x="{left:.1f}" y="{_TOP}" width="{right - left:.1f}" '
            f'height="{_BOTTOM - _TOP}" fill="#FFFFFF"/>'
        )


def _axes(review: FlightReview, scales: _Scales) -> Iterator[str]:
    step_ft = next(
        (one for one in _STEPS_FT if (scales.high_ft - scales.low_ft) / one <= 8), _STEPS_FT[-1]
    )
    feet = int(np.ceil(scales.low_ft / step_ft)) * step_ft
    while feet <= scales.high_ft:
        y = scales.y(feet)
        yield f'<path d="M{_LEFT},{y:.1f} H{_RIGHT}" stroke="#C9CDD1" stroke-width="0.6"/>'
        yield _text(_LEFT - 6, y + 4, feet_text(feet), size=11, anchor="end")
        feet += step_ft
    step_s = next((one for one in _STEPS_S if scales.end_s / one <= 8), _STEPS_S[-1])
    for time_s in np.arange(0.0, scales.end_s + 0.5, step_s).tolist():
        x = scales.x(time_s)
        yield f'<path d="M{x:.1f},{_BOTTOM} v5" stroke="{_INK}" stroke-width="1"/>'
        yield _text(x, _BOTTOM + 18, clock(review, time_s), size=11, anchor="middle")
    yield _text(_LEFT - 6, _TOP - 8, "AMSL", size=11, anchor="end")
    yield _text(_LEFT - 34, _BOTTOM + 18, "UTC", size=11, anchor="end")


def _spell_rows(review: FlightReview, scales: _Scales) -> Iterator[str]:
    """A row of bars for each kind of spell."""
    for number, (kinds, _, words) in enumerate(_ROWS):
        y = _BOTTOM + 34 + 24 * number
        yield _text(_LEFT - 6, y + 13, words, size=11, anchor="end")
        yield (
            f'<rect x="{_LEFT}" y="{y}" width="{_RIGHT - _LEFT}" height="18" fill="#FFFFFF" '
            'stroke="#C9CDD1" stroke-width="0.6"/>'
        )
        for spell in review.spells:
            if spell.kind in kinds:
                left = scales.x(spell.begin_s)
                width = max(1.5, scales.x(spell.end_s) - left)  # however short, it is seen
                yield (
                    f'<rect x="{left:.1f}" y="{y}" width="{width:.1f}" height="18" '
                    f'fill="url(#profile-{number})" stroke="{_INK}" stroke-width="0.6"/>'
                )


def _legend() -> Iterator[str]:
    y = HEIGHT - 20
    for x, ink, width, dash, words in (
        (84, _INK, 2.2, "", "altitude flown"),
        (236, _SOFT, 1.4, "7 4", "floor of the height rules (airspace not shown)"),
        (548, "#7266BC", 1.6, "2 3", "altitude that the glide needs on the track flown"),
    ):
        dashes = f' stroke-dasharray="{dash}"' if dash else ""
        yield f'<path d="M{x},{y - 4} h28" stroke="{ink}" stroke-width="{width}"{dashes}/>'
        yield _text(x + 34, y, words, size=11)
    yield f'<rect x="84" y="{y - 36}" width="28" height="12" fill="{_AREA}"/>'
    yield _text(118, y - 26, "inside the practice area", size=11)
    yield f'<rect x="284" y="{y - 36}" width="28" height="12" fill="{_GROUND}"/>'
    yield _text(318, y - 26, "highest ground of each cell", size=11)


def _definitions() -> str:
    """The frame that lines stay in, and the patterns of the spells as the map has them."""
    strokes = {
        "backslash": '<path d="M-2,6 L2,10 M0,0 L8,8 M6,-2 L10,2"',
        "slash": '<path d="M-2,2 L2,-2 M0,8 L8,0 M6,10 L10,6"',
        "dots": '<circle cx="4" cy="4" r="0.7"',
    }
    patterns = "".join(
        f'<pattern id="profile-{number}" width="8" height="8" patternUnits="userSpaceOnUse">'
        f'<rect width="8" height="8" fill="{_STYLE[cell_class].fill}"/>'
        f'{strokes[_STYLE[cell_class].pattern]} stroke="{_STYLE[cell_class].ink}" '
        'stroke-width="1.4"/></pattern>'
        for number, (_, cell_class, _) in enumerate(_ROWS)
    )
    frame = (
        f'<clipPath id="profile-frame"><rect x="{_LEFT}" y="{_TOP}" width="{_RIGHT - _LEFT}" '
        f'height="{_BOTTOM - _TOP}"/></clipPath>'
    )
    return f"<defs>{patterns}{frame}</defs>"


def _text(
    x: float, y: float, words: str, *, size: int, weight: int = 400, anchor: str = "start"
) -> str:
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" font-size="{size}" font-weight="{weight}" '
        f'text-anchor="{anchor}" fill="{_INK}">{escape(words)}</text>'
    )
