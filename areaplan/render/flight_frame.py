"""The frame of a flight's profile: scales, axes, the strips below it, the legend."""

from __future__ import annotations

from collections.abc import Iterator
from html import escape
from typing import Any, Final

import numpy as np
from attrs import frozen

from areaplan.planning.flight_review import FlightReview
from areaplan.planning.flight_spells import SpellKind
from areaplan.planning.plan import CellClass
from areaplan.render.flight_text import clock
from areaplan.render.map_classes import CLASS_STYLES
from areaplan.units import feet_text

WIDTH: Final = 960
HEIGHT: Final = 566
LEFT, RIGHT, TOP, BOTTOM = 84.0, 944.0, 64.0, 330.0
INK: Final = "#1B1F23"
SOFT: Final = "#4A5057"
GROUND: Final = "#D8D2C4"
AREA: Final = "#E8F4FA"
GLIDE: Final = "#7266BC"
NO_DATA: Final = "url(#profile-none)"
_STYLE: Final = {style.cell_class: style for style in CLASS_STYLES}
_ROWS: Final = (
    ({SpellKind.NOT_LEGAL}, CellClass.FIELD_NOT_LEGAL, "not legal"),
    ({SpellKind.NO_FIELD}, CellClass.LEGAL_NO_FIELD, "no field"),
    ({SpellKind.UNKNOWN, SpellKind.NOT_RECORDED}, CellClass.UNKNOWN, "not known"),
)
_STEPS_FT: Final = (100, 200, 250, 500, 1000, 2000, 5000)
_STEPS_S: Final = (10, 30, 60, 120, 300, 600, 900, 1800, 3600, 7200)
_STRIPS_Y: Final = BOTTOM + 72.0


@frozen(eq=False)
class Scales:
    """From seconds and feet to pixels."""

    end_s: float
    low_ft: float
    high_ft: float

    def x(self, time_s: Any) -> Any:
        """Pixels from the left at seconds since the beginning."""
        return LEFT + (RIGHT - LEFT) * time_s / self.end_s

    def y(self, feet: Any) -> Any:
        """Pixels from the top at feet AMSL."""
        share = (feet - self.low_ft) / (self.high_ft - self.low_ft)
        return BOTTOM - (BOTTOM - TOP) * share


def axes(review: FlightReview, scales: Scales) -> Iterator[str]:
    """Altitudes on the left; below, the time of day and the minutes since the beginning."""
    step_ft = next(
        (one for one in _STEPS_FT if (scales.high_ft - scales.low_ft) / one <= 8), _STEPS_FT[-1]
    )
    feet = int(np.ceil(scales.low_ft / step_ft)) * step_ft
    while feet <= scales.high_ft:
        y = scales.y(feet)
        yield f'<path d="M{LEFT},{y:.1f} H{RIGHT}" stroke="#C9CDD1" stroke-width="0.6"/>'
        yield words_at(LEFT - 6, y + 4, feet_text(feet), size=11, anchor="end")
        feet += step_ft
    step_s = next((one for one in _STEPS_S if scales.end_s / one <= 8), _STEPS_S[-1])
    for time_s in np.arange(0.0, scales.end_s + 0.5, step_s).tolist():
        x = scales.x(time_s)
        yield f'<path d="M{x:.1f},{BOTTOM} v5" stroke="{INK}" stroke-width="1"/>'
        yield words_at(x, BOTTOM + 18, clock(review, time_s), size=11, anchor="middle")
        yield words_at(x, BOTTOM + 34, f"{time_s / 60.0:.3g}", size=11, anchor="middle")
    yield words_at(LEFT - 6, TOP - 8, "AMSL", size=11, anchor="end")
    yield words_at(LEFT - 34, BOTTOM + 18, "UTC", size=11, anchor="end")
    yield words_at(LEFT - 34, BOTTOM + 34, "minutes", size=11, anchor="end")


def strips(review: FlightReview, scales: Scales) -> Iterator[str]:
    """A row of bars for each kind of spell, which is told inside the area only."""
    yield words_at(
        LEFT, _STRIPS_Y - 8, "Inside the practice area only: what is flown outside it is not judged"
        " (blank here)", size=11,
    )  # fmt: skip
    for number, (kinds, _, words) in enumerate(_ROWS):
        y = _STRIPS_Y + 24 * number
        yield words_at(LEFT - 6, y + 13, words, size=11, anchor="end")
        yield (
            f'<rect x="{LEFT}" y="{y}" width="{RIGHT - LEFT}" height="18" fill="#FFFFFF" '
            'stroke="#C9CDD1" stroke-width="0.6"/>'
        )
        for spell in review.spells:
            if spell.kind in kinds:
                left = scales.x(spell.begin_s)
                width = max(1.5, scales.x(spell.end_s) - left)  # however short, it is seen
                yield (
                    f'<rect x="{left:.1f}" y="{y}" width="{width:.1f}" height="18" '
                    f'fill="url(#profile-{number})" stroke="{INK}" stroke-width="0.6"/>'
                )


def legend(last_words: str) -> Iterator[str]:
    """What every line and tint is; `last_words` is one more sentence, or ""."""
    y = HEIGHT - 36
    yield words_at(84, y + 22, last_words, size=11) if last_words else ""
    for x, ink, width, dash, words in (
        (84, INK, 2.2, "", "altitude flown"),
        (236, SOFT, 1.4, "7 4", "floor of the height rules (airspace not shown)"),
        (548, GLIDE, 1.6, "2 3", "altitude that the glide needs on the track flown"),
    ):
        dashes = f' stroke-dasharray="{dash}"' if dash else ""
        yield f'<path d="M{x},{y - 4} h28" stroke="{ink}" stroke-width="{width}"{dashes}/>'
        yield words_at(x + 34, y, words, size=11)
    yield f'<rect x="84" y="{y - 36}" width="28" height="12" fill="{AREA}"/>'
    yield words_at(118, y - 26, "inside the practice area", size=11)
    yield f'<rect x="284" y="{y - 36}" width="28" height="12" fill="{GROUND}"/>'
    yield words_at(318, y - 26, "highest ground of each cell", size=11)
    yield (
        f'<rect x="548" y="{y - 36}" width="28" height="12" fill="{NO_DATA}" stroke="{SOFT}" '
        'stroke-width="0.6"/>'
    )
    yield words_at(582, y - 26, "no terrain data, or nothing recorded", size=11)


def definitions() -> str:
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
    unknown = _STYLE[CellClass.UNKNOWN]
    patterns += (
        '<pattern id="profile-none" width="8" height="8" patternUnits="userSpaceOnUse">'
        f'<rect width="8" height="8" fill="{unknown.fill}"/>{strokes[unknown.pattern]} '
        f'stroke="{unknown.ink}" stroke-width="1"/></pattern>'
    )
    frame = (
        f'<clipPath id="profile-frame"><rect x="{LEFT}" y="{TOP}" width="{RIGHT - LEFT}" '
        f'height="{BOTTOM - TOP}"/></clipPath>'
    )
    return f"<defs>{patterns}{frame}</defs>"


def words_at(
    x: float,
    y: float,
    words: str,
    *,
    size: int,
    weight: int = 400,
    anchor: str = "start",
    ink: str = INK,
    is_upright: bool = False,
) -> str:
    """Words at a place in pixels, escaped, with a white casing; upright ones read upwards."""
    turn = f' transform="rotate(-90 {x:.1f} {y:.1f})"' if is_upright else ""
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" font-size="{size}" font-weight="{weight}" '
        f'text-anchor="{anchor}" fill="{ink}" stroke="#FFFFFF" stroke-width="3" '
        f'paint-order="stroke"{turn}>{escape(words)}</text>'
    )
