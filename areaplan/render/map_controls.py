"""The controls round the map, as HTML; the page's scripts bring them to life."""

from __future__ import annotations

from collections.abc import Iterable
from html import escape

from areaplan.planning.plan import Plan
from areaplan.render.map_foreword import Foreword, short_html
from areaplan.render.map_markup import said
from areaplan.render.text import verdict_text
from areaplan.units import Wind, feet_text


def controls_html(
    plan: Plan, lowest_ft: int, highest_ft: int, first: Foreword | None = None
) -> str:
    """Altitude control, and the marks that stand on the map.

    Parameters
    ----------
    plan : Plan
        The evaluated plan.
    lowest_ft, highest_ft : int
        Ends of the altitude control, feet AMSL.
    first : Foreword, optional
        Named in the head of the page on a small screen.
    """
    planned = plan.project.planned_altitudes_amsl_ft
    start = planned[0] if planned else lowest_ft
    return (
        _altitude(planned, start, lowest_ft, highest_ft)
        + _marks(plan.project.wind)
        + _toggle(plan, first)
        + '<p id="trouble" role="alert" hidden></p>'
        "<noscript><p class='trouble'>This map is drawn by scripts inside this file, and scripts "
        "are switched off here. The tables of the sheet are complete without them.</p></noscript>"
    )


def _toggle(plan: Plan, first: Foreword | None) -> str:
    """Head of the page on a small screen: name, verdict, and the way to the sheet."""
    warnings = f", {len(plan.warnings)} warnings" if plan.warnings else ""
    return (
        '<button id="sheet-toggle" type="button" aria-expanded="false" aria-controls="sheet">'
        f'<span class="title">{short_html(first)}{said(plan.project.name)} '
        f"{verdict_text(plan.verdict)}{warnings}"
        '</span><span class="action">Sheet</span></button>'
    )


def _altitude(planned: Iterable[int], start_ft: int, lowest_ft: int, highest_ft: int) -> str:
    limits = f'min="{lowest_ft}" max="{highest_ft}" step="1" value="{start_ft}"'
    buttons = "".join(
        f'<button type="button" data-altitude="{altitude}">{feet_text(altitude)}</button>'
        for altitude in planned
    )
    return (
        '<section id="altitude-control" aria-label="Altitude">'
        '<div class="altitude-row"><label for="altitude-number">Altitude</label>'
        f'<input id="altitude-number" type="number" inputmode="numeric" {limits}>'
        '<span class="unit">ft AMSL</span>'
        f'<span class="planned-altitudes" role="group" aria-label="Planned altitudes">'
        f'<span class="unit">planned</span>{buttons}</span>'
        '<span class="both-now"></span></div>'
        '<canvas id="altitude-chart" aria-hidden="true"></canvas>'
        f'<input id="altitude" type="range" {limits} aria-label="Altitude, feet above mean sea '
        'level">'
        '<p class="aid-line">Planning aid only, not for navigation.</p>'
        '<p id="altitude-said" class="unseen" role="status"></p>'
        "</section>"
    )


def answer_html() -> str:
    """The card that says what holds at the place asked; it stands below the sheet."""
    return (
        '<section id="answer" aria-labelledby="answer-head">'
        '<div class="answer-top"><h2 id="answer-head">What holds at a place</h2>'
        '<button id="answer-fold" type="button" aria-expanded="true" '
        'aria-controls="answer-inside">Fold</button></div>'
        '<div id="answer-inside"><div id="answer-body" aria-live="polite" aria-atomic="true">'
        "<p>Click or tap the map.</p></div>"
        '<details id="ask-more"><summary>Type a place, or measure</summary>'
        '<form id="ask"><label for="ask-place">Latitude, longitude</label>'
        '<input id="ask-place" type="text" autocomplete="off" spellcheck="false" '
        'aria-describedby="ask-trouble">'
        '<button type="submit">Ask</button>'
        '<button type="button" id="ask-centre">Ask at the map\'s centre</button>'
        '<button type="button" id="measure" aria-pressed="false">Measure</button>'
        '<p id="ask-trouble" role="alert"></p></form></details></div></section>'
    )


def _marks(wind: Wind) -> str:
    return (
        '<div id="marks"><div class="compass" role="img" aria-label="North is up">'
        '<svg viewBox="-20 -26 40 52" width="40" height="52" aria-hidden="true">'
        '<path d="M0 -8 L0 22 M-6 2 L0 -10 L6 2" fill="none" stroke="#1C2326" '
        'stroke-width="2.4" stroke-linecap="round" stroke-linejoin="round"/>'
        '<text x="0" y="-14" text-anchor="middle" font-size="12" font-weight="700">N</text></svg>'
        f'</div>{_wind(wind)}<p id="painted-now" role="status" hidden></p></div>'
        '<div id="hover-frame" aria-hidden="true"><p id="hover" hidden></p></div>'
        '<div id="scale"><canvas id="scale-bar" role="img" aria-label="Scale"></canvas></div>'
    )


def _wind(wind: Wind) -> str:
    words = escape(str(wind))
    if wind.speed_mps == 0.0:
        return (
            f'<div class="wind" role="img" aria-label="Wind calm"><span>wind {words}</span></div>'
        )
    # The shaft is drawn for a wind from north, blowing down the page.
    return (
        f'<div class="wind" role="img" aria-label="Wind {words}, true; the arrow points where it '
        'blows to"><svg viewBox="-20 -20 40 40" width="40" height="40" aria-hidden="true">'
        f'<g transform="rotate({wind.from_deg_true:g})" fill="none" stroke="#1C2326" '
        'stroke-width="2.4" stroke-linecap="round" stroke-linejoin="round">'
        '<path d="M0 -15 L0 15 M-6 7 L0 15 L6 7"/><path d="M-5 -15 L5 -15"/></g></svg>'
        f"<span>wind<br>{words}</span></div>"
    )
