"""The wind limits as a rose: an SVG of its own, written as text, the same bytes each time.

The circle is drawn as it is judged: a point of it stands for a wind, its bearing from the middle
for where the wind blows from, its distance for the speed. Plain is within the limits of the tested
directions on either side; a pattern is not. Only presentation attributes are used, no style and no
script, so that the page of the map can hold it under its content-security policy.
"""

from __future__ import annotations

import math
import textwrap
from collections.abc import Iterator
from html import escape
from typing import Final

from areaplan.planning.limits_by_wind import DIRECTION_STEP_DEG, DirectionLimit, WindLimits
from areaplan.planning.plan import CellClass
from areaplan.render.map_classes import CLASS_STYLES
from areaplan.render.wind_text import COMPASS, limit_words, tested_words, year_words
from areaplan.units import KNOT_MPS, feet_text

WIDTH: Final = 480
_MIDDLE: Final = (240.0, 258.0)
_RIM: Final = 165.0
_LABEL_RADIUS: Final = 192.0
_LEGEND_TOP: Final = 486
_LINE: Final = 19
_CHARS_A_LINE: Final = 60
_INK: Final = "#1B1F23"
_SOFT: Final = "#4A5057"
_RING_KT: Final = 10

_STYLE: Final = {style.cell_class: style for style in CLASS_STYLES}
_KEPT: Final = _STYLE[CellClass.LEGAL_WITH_FIELD]
_LOST: Final = _STYLE[CellClass.LEGAL_NO_FIELD]
_UNTOLD: Final = _STYLE[CellClass.UNKNOWN]
_LOST_FILL: Final = "url(#wind-rose-lost)"
_UNTOLD_FILL: Final = "url(#wind-rose-untold)"


def wind_rose_svg(limits: WindLimits) -> str:
    """Draw the limits as an SVG document that also stands inside an HTML page.

    Parameters
    ----------
    limits : WindLimits
        Only drawn; nothing is judged here.
    """
    legend = list(_legend(limits))
    height = _LEGEND_TOP + _LINE * len(legend) + 6
    title = f"Wind limits at {feet_text(limits.altitude_amsl_ft)} AMSL"
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" role="img" width="{WIDTH}" height="{height}" '
        f'viewBox="0 0 {WIDTH} {height}" aria-labelledby="wind-rose-title wind-rose-desc" '
        'font-family="system-ui, sans-serif">',
        f'<title id="wind-rose-title">{escape(title)}</title>',
        f'<desc id="wind-rose-desc">{escape(_description(limits))}</desc>',
        _patterns(),
        f'<rect width="{WIDTH}" height="{height}" fill="#FFFFFF"/>',
        _text(WIDTH / 2, 24, title, size=18, weight=700),
        _text(WIDTH / 2, 44, "The strongest wind with which the whole area keeps a field", size=13),
    ]
    if limits.highest_kt:
        parts += _zones(limits)
        parts += _rings(limits)
        parts += _spokes(limits)
        parts += _own_wind(limits)
    parts += [
        swatch
        + _text(48 if swatch else 16, _LEGEND_TOP + _LINE * number, words, size=12, anchor="start")
        for number, (swatch, words) in enumerate(legend)
    ]
    return "\n".join([*parts, "</svg>\n"])


def _description(limits: WindLimits) -> str:
    """The same in words, for whoever can't see it."""
    told = "; ".join(
        f"from {name} {limit_words(one, limits.highest_kt)}"
        for name, one in zip(COMPASS, limits.directions, strict=True)
    )
    year = f" {year_words(limits.year)}" if limits.year else ""
    return f"Strongest wind by direction: {told}. Project's wind: {limits.own_wind}.{year}"


def _patterns() -> str:
    """Fills as the map has them: a stroke for no field, dots for unknown."""
    return (
        '<defs><pattern id="wind-rose-lost" width="8" height="8" patternUnits="userSpaceOnUse">'
        f'<rect width="8" height="8" fill="{_LOST.fill}"/>'
        f'<path d="M-2,2 L2,-2 M0,8 L8,0 M6,10 L10,6" stroke="{_LOST.ink}" stroke-width="1.4"/>'
        "</pattern>"
        '<pattern id="wind-rose-untold" width="8" height="8" patternUnits="userSpaceOnUse">'
        f'<rect width="8" height="8" fill="{_UNTOLD.fill}"/>'
        f'<circle cx="4" cy="4" r="1.3" fill="{_UNTOLD.ink}"/></pattern></defs>'
    )


def _zones(limits: WindLimits) -> Iterator[str]:
    """Between two spokes: plain to the lesser limit, then patterned out to the rim."""
    count = len(limits.directions)
    for number, one in enumerate(limits.directions):
        low, high = sorted((one, limits.directions[(number + 1) % count]), key=_speed_kt)
        low_kt, high_kt = _speed_kt(low), _speed_kt(high)
        both = low.is_unknown and high.is_unknown
        start, end = DIRECTION_STEP_DEG * number, DIRECTION_STEP_DEG * (number + 1)
        for fill, from_kt, to_kt in (
            (_KEPT.fill, 0, low_kt),
            (_UNTOLD_FILL if low.is_unknown else _LOST_FILL, low_kt, high_kt),
            (_UNTOLD_FILL if both else _LOST_FILL, high_kt, limits.highest_kt),
        ):
            if from_kt < to_kt:
                outline = _ring_piece(limits, start, end, from_kt, to_kt)
                yield f'<path d="{outline}" fill="{fill}"/>'


def _speed_kt(one: DirectionLimit) -> int:
    return one.limit_kt or 0


def _ring_piece(limits: WindLimits, start: float, end: float, from_kt: int, to_kt: int) -> str:
    """Outline of a piece of a ring between two bearings."""
    inner, outer = _radius(limits, from_kt), _radius(limits, to_kt)
    return (
        f"M{_at(start, inner)} L{_at(start, outer)} A{outer:.2f},{outer:.2f} 0 0 1 "
        f"{_at(end, outer)} L{_at(end, inner)} A{inner:.2f},{inner:.2f} 0 0 0 {_at(start, inner)} Z"
    )


def _radius(limits: WindLimits, speed_kt: float) -> float:
    return _RIM * min(speed_kt / limits.highest_kt, 1.0)


def _place(bearing_deg: float, radius: float) -> tuple[float, float]:
    angle = math.radians(bearing_deg)
    return _MIDDLE[0] + radius * math.sin(angle), _MIDDLE[1] - radius * math.cos(angle)


def _at(bearing_deg: float, radius: float) -> str:
    x, y = _place(bearing_deg, radius)
    return f"{x:.2f},{y:.2f}"


def _rings(limits: WindLimits) -> Iterator[str]:
    x, y = _MIDDLE
    speeds = sorted({*range(_RING_KT, limits.highest_kt, _RING_KT), limits.highest_kt})
    for speed in speeds:
        is_rim = speed == limits.highest_kt
        yield (
            f'<circle cx="{x:.2f}" cy="{y:.2f}" r="{_radius(limits, speed):.2f}" fill="none" '
            f'stroke="{_INK}" stroke-width="{1.6 if is_rim else 0.7}"/>'
        )
    for number in range(len(limits.directions)):
        end = _at(DIRECTION_STEP_DEG * number, _RIM)
        yield (
            f'<path d="M{x:.2f},{y:.2f} L{end}" stroke="{_INK}" stroke-width="0.5" '
            'stroke-opacity="0.45"/>'
        )
    for speed in speeds:  # above the lines, on a casing
        label_x, label_y = _place(DIRECTION_STEP_DEG / 2.0, _radius(limits, speed))
        yield _text(label_x, label_y + 4, f"{speed}", size=11, is_cased=True)


def _spokes(limits: WindLimits) -> Iterator[str]:
    """A mark at each direction's own limit, its name and the limit round the rim."""
    for number, (name, one) in enumerate(zip(COMPASS, limits.directions, strict=True)):
        bearing = DIRECTION_STEP_DEG * number
        if one.limit_kt is not None:
            x, y = _place(bearing, _radius(limits, one.limit_kt))
            yield f'<circle cx="{x:.2f}" cy="{y:.2f}" r="3.2" fill="#FFFFFF" stroke="{_INK}"/>'
        x, y = _place(bearing, _LABEL_RADIUS)
        x += 9.0 * math.sin(math.radians(bearing))  # words are wider than high
        yield _text(x, y - 1, name, size=12, weight=700)
        yield _text(x, y + 12, limit_words(one, limits.highest_kt, is_short=True), size=11.5)


def _own_wind(limits: WindLimits) -> Iterator[str]:
    """The project's wind: where it stands in the circle, blowing towards the middle."""
    wind = limits.own_wind
    speed_kt = wind.speed_mps / KNOT_MPS
    x, y = _place(wind.from_deg_true, _radius(limits, speed_kt))
    yield (
        f'<path d="M{x - 7:.2f},{y:.2f} L{x:.2f},{y - 7:.2f} L{x + 7:.2f},{y:.2f} '
        f'L{x:.2f},{y + 7:.2f} Z" fill="{_INK}" stroke="#FFFFFF" stroke-width="2"/>'
    )


def _legend(limits: WindLimits) -> Iterator[tuple[str, str]]:
    """Swatch and words of each line below the circle."""
    count = 0

    def swatch(fill: str) -> str:
        y = _LEGEND_TOP + _LINE * count - 11
        return (
            f'<rect x="16" y="{y}" width="22" height="13" fill="{fill}" stroke="{_INK}" '
            'stroke-width="0.8"/>'
        )

    rows = [
        (_KEPT.fill, "within the limits: a field from everywhere, whatever the heading"),
        (_LOST_FILL, "beyond: somewhere no field is within gliding distance"),
    ]
    if any(one.is_unknown for one in limits.directions):
        rows.append((_UNTOLD_FILL, "beyond what the data can tell"))
    for fill, words in rows:
        yield swatch(fill), words
        count += 1
    y = _LEGEND_TOP + _LINE * count - 4
    diamond = f'<path d="M20,{y} L27,{y - 7} L34,{y} L27,{y + 7} Z" fill="{_INK}"/>'
    verdict = limits.verdict.value.replace("_", " ")
    yield diamond, f"the project's wind, {limits.own_wind}: {verdict}"
    circle = f'<circle cx="27" cy="{y + _LINE}" r="3.2" fill="#FFFFFF" stroke="{_INK}"/>'
    yield circle, "limit of a tested direction"
    sentences = [
        f"Speeds tested: {tested_words(limits)}.",
        "Steady wind, the same at all heights, from where it blows, degrees true. Between two "
        "directions the lesser limit counts.",
        *([year_words(limits.year)] if limits.year else []),
        "Gusts are not in it. Planning aid only, not for navigation.",
    ]
    for sentence in sentences:
        for line in textwrap.wrap(sentence, _CHARS_A_LINE):
            yield "", line


def _text(
    x: float,
    y: float,
    words: str,
    *,
    size: float,
    weight: int = 400,
    anchor: str = "middle",
    is_cased: bool = False,
) -> str:
    casing = ' stroke="#FFFFFF" stroke-width="3" paint-order="stroke"' if is_cased else ""
    colour = _INK if weight > 400 or is_cased else _SOFT
    return (
        f'<text x="{x:.2f}" y="{y:.2f}" font-size="{size:g}" font-weight="{weight}" '
        f'text-anchor="{anchor}" fill="{colour}"{casing}>{escape(words)}</text>'
    )
