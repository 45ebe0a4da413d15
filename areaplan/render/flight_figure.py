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
from numpy.typing import NDArray

from areaplan.grid import BoolArray, Float64Array
from areaplan.planning.flight_review import PURPOSE, FlightReview
from areaplan.planning.plan import UNKNOWN_FT, UNREACHABLE_FT
from areaplan.planning.point_margins import cells_under
from areaplan.render.flight_frame import (
    AREA,
    BOTTOM,
    GLIDE,
    GROUND,
    HEIGHT,
    INK,
    LEFT,
    NO_DATA,
    SOFT,
    TOP,
    WIDTH,
    Scales,
    axes,
    definitions,
    legend,
    strips,
    words_at,
)
from areaplan.render.whole_file import write_whole
from areaplan.units import FOOT_M, feet_text

_SHORT_GAP_S: Final = 1.0  # pieces follow each other: anything longer is a gap in the lines
_WORDS_WIDE: Final = 78.0  # pixels that a few words take across
_WORDS_Y: Final = (TOP + BOTTOM) / 2.0


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
    scales = Scales(float(review.flight.time_s[-1]), low - 100.0, max(high, low + 500.0) + 200.0)
    glide_drawn = np.minimum(glide, 2.0 * scales.high_ft)  # off the top, and no farther
    name, day = Path(review.flight.name).name, review.flight.begins.date()
    contradiction = review.altitude_check.contradiction
    title = f"{name}: {review.plan.project.name}, {day}"
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" role="img" width="{WIDTH}" height="{HEIGHT}" '
        f'viewBox="0 0 {WIDTH} {HEIGHT}" aria-labelledby="profile-title" '
        'font-family="system-ui, sans-serif">',
        f'<title id="profile-title">{escape(title)}</title>',
        definitions(),
        f'<rect width="{WIDTH}" height="{HEIGHT}" fill="#FFFFFF"/>',
        words_at(LEFT, 22, title, size=16, weight=700),
        words_at(LEFT, 42, f"Altitudes: {review.altitude_words}. {PURPOSE}", size=11),
        contradiction and words_at(LEFT, 57, contradiction, size=12, weight=700),
        *_inside(review, scales),
        *_nothing_known(review, ground, scales),
        *axes(review, scales),
        '<g clip-path="url(#profile-frame)">',
        _area_below(_columns(review, ground, scales, np.maximum), scales),
        _line(_columns(review, floor, scales, np.maximum), scales, SOFT, 1.4, "7 4"),
        _line(_columns(review, glide_drawn, scales, np.maximum), scales, GLIDE, 1.6, "2 3"),
        _line(_columns(review, altitude, scales, np.minimum), scales, INK, 2.2, ""),
        "</g>",
        *_over_the_top(review, glide, scales),
        *strips(review, scales),
        *legend(_top_words(glide, scales.high_ft)),
    ]
    return "\n".join([*(part for part in parts if part), "</svg>\n"])


def _under(review: FlightReview) -> tuple[Float64Array, Float64Array, Float64Array]:
    """Ground, floor of the height rules and glide altitude under each piece, feet; NaN unknown.

    The glide's is infinite where no altitude is known to be enough.
    """
    course, cells = review.flown.course, review.plan.cells
    row, col, is_on_grid = cells_under(review.plan.grid, course.x_m, course.y_m)

    def feet(values: NDArray[Any]) -> Float64Array:
        is_known = is_on_grid & (values != UNKNOWN_FT) & (values != UNREACHABLE_FT)
        return np.where(is_known, values, np.nan).astype(np.float64)

    required = review.margins.glide_required_amsl_ft
    return (
        feet(cells.terrain_amsl_ft[row, col]),
        feet(cells.legal_floor_amsl_ft[row, col]),
        np.where(is_on_grid & (required == UNREACHABLE_FT), np.inf, feet(required)),
    )


def _columns(
    review: FlightReview, feet: Float64Array, scales: Scales, worst: Callable[..., Any]
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


def _points(run: list[tuple[float, float]], scales: Scales) -> str:
    return " ".join(f"{scales.x(time):.1f},{scales.y(feet):.1f}" for time, feet in run)


def _line(
    runs: list[list[tuple[float, float]]], scales: Scales, ink: str, width: float, dash: str
) -> str:
    dashes = f' stroke-dasharray="{dash}"' if dash else ""
    return "\n".join(
        f'<polyline points="{_points(run, scales)}" fill="none" stroke="{ink}" '
        f'stroke-width="{width}" stroke-linejoin="round"{dashes}/>'
        for run in runs
    )


def _area_below(runs: list[list[tuple[float, float]]], scales: Scales) -> str:
    return "\n".join(
        f'<polygon points="{scales.x(run[0][0]):.1f},{BOTTOM} {_points(run, scales)} '
        f'{scales.x(run[-1][0]):.1f},{BOTTOM}" fill="{GROUND}"/>'
        for run in runs
    )


def _spans(review: FlightReview, is_in: BoolArray) -> Iterator[tuple[float, float]]:
    """Begin and end of each run of pieces, seconds."""
    edges = np.flatnonzero(np.diff(np.concatenate([[0], is_in.astype(np.int8), [0]])))
    time_s, half_s = review.flown.time_s, review.flown.lasts_s / 2.0
    for begin, end in edges.reshape(-1, 2).tolist():
        yield float(time_s[begin] - half_s[begin]), float(time_s[end - 1] + half_s[end - 1])


def _inside(review: FlightReview, scales: Scales) -> Iterator[str]:
    """Where the flight was inside the area, as a tint behind everything."""
    for begin_s, end_s in _spans(review, review.is_judged):
        yield _column(begin_s, end_s, scales, AREA)


def _nothing_known(review: FlightReview, ground: Float64Array, scales: Scales) -> Iterator[str]:
    """Where the data, or the recording, say nothing: not white like what is merely outside."""
    told = [("no data here", *span) for span in _spans(review, np.isnan(ground))]
    told += [("not recorded", *gap) for gap in review.flown.gaps_s]
    for words, begin_s, end_s in told:
        yield _column(begin_s, end_s, scales, "#FFFFFF")
        yield _column(begin_s, end_s, scales, NO_DATA)
        x = scales.x((begin_s + end_s) / 2.0)
        is_wide = scales.x(end_s) - scales.x(begin_s) > _WORDS_WIDE
        yield words_at(x, _WORDS_Y, words, size=11, anchor="middle", is_upright=not is_wide)


def _column(begin_s: float, end_s: float, scales: Scales, fill: str) -> str:
    left, right = scales.x(begin_s), scales.x(end_s)
    return (
        f'<rect x="{left:.1f}" y="{TOP}" width="{right - left:.1f}" height="{BOTTOM - TOP}" '
        f'fill="{fill}"/>'
    )


def _over_the_top(review: FlightReview, glide: Float64Array, scales: Scales) -> Iterator[str]:
    """How much the glide needs, where its line leaves the frame for long enough to say so."""
    time_s = review.flown.time_s
    for begin_s, end_s in _spans(review, glide > scales.high_ft):
        if scales.x(end_s) - scales.x(begin_s) < _WORDS_WIDE:
            continue
        most = float(glide[(time_s >= begin_s) & (time_s <= end_s)].max())
        words = "no altitude" if np.isinf(most) else f"up to {feet_text(int(most))}"
        x = scales.x((begin_s + end_s) / 2.0)
        yield words_at(x, TOP + 13, words, size=11, anchor="middle", ink=GLIDE, weight=700)


def _top_words(glide: Float64Array, high_ft: float) -> str:
    """Why the glide's line goes off the top; "" where it does not."""
    if not (glide > high_ft).any():
        return ""
    most = float(np.nanmax(glide))
    need = "more height than is drawn"
    if np.isfinite(most):
        need += f", up to {feet_text(int(most))} AMSL"
    else:
        need += ", or no altitude known would do"
    return (
        "Where the glide's line leaves the top, the fields are so far off, or so far behind, that "
        f"a glide to one needs {need}."
    )
