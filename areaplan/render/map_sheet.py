"""The fixed parts of the sheet: what stands round the map, as HTML."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

import numpy as np

from areaplan.planning.flying_limits import air_verdict
from areaplan.planning.judging import overall_verdict
from areaplan.planning.limits_by_wind import WindLimits
from areaplan.planning.plan import NOBODY, WHATEVER_THE_HEADING, Plan, Shares
from areaplan.render.map_choice import LEGEND_HEAD, choice_legends_html, chooser_html
from areaplan.render.map_classes import CLASS_STYLES
from areaplan.render.map_foreword import Foreword, foreword_html, parts_html
from areaplan.render.map_markup import bullets, said, section, table, verdict_badge
from areaplan.render.map_records import (
    airspace_html,
    data_html,
    figures_html,
    findings_html,
    rules_html,
)
from areaplan.render.map_ways import ways_html
from areaplan.render.map_wind import paintings_shown
from areaplan.render.text import CLASS_WORDS, percent_down, percent_up, verdict_line, verdict_text
from areaplan.render.wind_panel import wind_limits_html
from areaplan.units import feet_text


def sheet_html(
    plan: Plan,
    notes: Sequence[str],
    wind: WindLimits | None = None,
    first: Foreword | None = None,
) -> str:
    """The sheet beside the map: judgement, legend, layers, figures, rules and data.

    Parameters
    ----------
    plan : Plan
        The evaluated plan.
    notes : sequence of str
        What was cut or coarsened for this file.
    wind : WindLimits, optional
        A part of its own, and one more painting to choose, when given.
    first : Foreword, optional
        Said before everything else.
    """
    cautions = bullets((*notes, *plan.cautions))
    return (
        f'<aside id="sheet" aria-label="Sheet">{_title(plan, first)}'
        f"{parts_html(first)}"
        f"{_expired(plan)}{_absent(plan)}"
        f"{section('now', 'At the altitude chosen', _legend(plan, wind), is_open=True)}"
        f"{section('planned', 'At the planned altitudes', _planned(plan), is_open=True)}"
        f"{_warnings(plan)}"
        f"{section('layers', 'What is drawn', _layers(), is_open=False)}"
        f"{_ways(plan, first)}"
        f"{_wind_limits(wind)}"
        f"{section('figures', 'Wind, aircraft and margins', figures_html(plan))}"
        f"{section('findings', 'Findings, the gravest first', findings_html(plan))}"
        f"{section('rules', 'Rules in force', rules_html(plan))}"
        f"{section('airspace', 'Airspace on the map', airspace_html(plan))}"
        f"{section('data', 'Data and their dates', data_html(plan))}"
        f"{section('cautions', 'Cautions', cautions, is_open=True)}"
        "</aside>"
    )


def _title(plan: Plan, first: Foreword | None) -> str:
    project = plan.project
    school = f"{said(project.school)}, " if project.school else ""
    return (
        f"<header>{foreword_html(first)}"
        f"<p class='kind'>Practice area sheet</p><h1>{said(project.name)}</h1>"
        f"<p>{school}judged for <time>{project.day.isoformat()}</time></p>"
        f'<p class="judgement">{verdict_badge(plan.verdict)} {escape(_after_verdict(plan))}</p>'
        "<p class='aid'><strong>Planning aid only, not for navigation.</strong> Check current "
        "charts, notices and local procedures. Most wires and most objects below 200 ft are in no "
        "database. The pilot in command decides.</p></header>"
    )


def _after_verdict(plan: Plan) -> str:
    """The verdict line without the verdict itself, which stands in its badge."""
    return verdict_line(plan).removeprefix(verdict_text(plan.verdict)).strip() + "."


def _expired(plan: Plan) -> str:
    """What is out of date, before everything else; the other warnings stand further down."""
    rows = [one for one in plan.sources if one.is_expired(plan.project.day)]
    sentences = [
        f"{one.kind} ({', '.join(one.paths)}; {one.edition}) ended {one.expires}" for one in rows
    ]
    more = len(plan.warnings)
    link = f'<p><a href="#warnings">Read the warnings ({more})</a></p>' if more else ""
    if not rows:
        return link
    return (
        '<section class="expired-data" role="alert"><h2>Expired data</h2>'
        f"{bullets(sentences)}</section>{link}"
    )


def _absent(plan: Plan) -> str:
    """What a person declared not to be there, and what nobody gave, next to the verdict."""
    declared = [one for one in plan.project.sources if one.none_because]
    items = [
        f"<li><strong>{escape(str(one.kind))}</strong>: {said(one.none_because)}</li>"
        for one in declared
    ]
    names = {"wires": plan.layers.wires, "woods": plan.layers.woods}
    given = {str(one.kind) for one in plan.project.sources}
    missing = [name for name, layers in names.items() if not layers and name not in given]
    if missing:
        items.append(f"<li>not given at all: <strong>{' and '.join(missing)}</strong></li>")
    if not items:
        return ""
    return (
        '<section class="absent"><h2>Declared absent</h2>'
        "<p class='small'>No data were read; the verdict rests on these words.</p>"
        f"<ul>{''.join(items)}</ul></section>"
    )


def _warnings(plan: Plan) -> str:
    if not plan.warnings:
        return ""
    heading = f"Warnings ({len(plan.warnings)})"
    return section("warnings", heading, bullets(plan.warnings), is_open=True)


def _legend(plan: Plan, wind: WindLimits | None) -> str:
    """Classes with their live shares; page/classes.js fills swatches and figures."""
    paintings = paintings_shown(wind)
    rows = "".join(
        f'<tr><td><canvas class="swatch" data-class="{int(style.cell_class)}" width="56" '
        f'height="36" role="img" aria-label="{style.pattern_words}"></canvas></td>'
        f'<th scope="row">{_capital(CLASS_WORDS[style.cell_class])}</th>'
        f'<td class="share" data-share="{int(style.cell_class)}"></td></tr>'
        for style in CLASS_STYLES
    )
    sums = "".join(
        f'<div><dt>{words}</dt><dd data-sum="{key}"></dd></div>'
        for key, words in (
            ("legal", "legal, of the area"),
            ("safe", "field within gliding distance"),
            ("both", "both"),
            ("unknown", "unknown"),
        )
    )
    return (
        f'<p id="now-altitude"></p>{chooser_html(paintings)}'
        '<div class="painting" data-painting="classes">'
        '<table class="legend"><caption class="unseen">Classes and their share of the area'
        f"</caption>{LEGEND_HEAD}<tbody>{rows}</tbody></table>"
        "<p class='small'>A field counts as within gliding distance when it is so whatever the "
        f"heading{_choice_note(plan)}. Plain means usable; every pattern means do not use."
        f'</p></div>{choice_legends_html(paintings)}<dl class="sums">{sums}</dl>'
    )


def _choice_note(plan: Plan) -> str:
    """The rules on the choice of fields that ask for more somewhere on the map."""
    used = np.unique(plan.cells.glide_binder)
    binders = [plan.binders[index] for index in used if index != NOBODY]
    asking = [one.limit.title for one in binders if one.feature != WHATEVER_THE_HEADING]
    if not asking:
        return ""
    return " and this holds as well: " + ", ".join(map(said, dict.fromkeys(asking)))


def _capital(words: str) -> str:
    return escape(words[:1].upper() + words[1:])


def _planned(plan: Plan) -> str:
    def row(shares: Shares) -> list[str]:
        air = air_verdict(plan.findings, shares.altitude_amsl_ft)
        return [
            feet_text(shares.altitude_amsl_ft),
            verdict_badge(overall_verdict([shares], air)),
            percent_down(shares.legal_share),
            percent_down(shares.safe_share),
            percent_down(shares.legal_and_safe_share),
            percent_up(shares.unknown_share),
        ]

    heads = ("AMSL", "Verdict", "Legal", "Field", "Both", "Unknown")
    caption = "Verdict and shares of the area at the planned altitudes"
    return table(caption, heads, map(row, plan.planned)) + _block(plan)


def _wind_limits(wind: WindLimits | None) -> str:
    if wind is None:
        return ""
    heading = f"Wind limits at {feet_text(wind.altitude_amsl_ft)} AMSL"
    return section("wind-limits", heading, wind_limits_html(wind), is_open=True)


def _ways(plan: Plan, first: Foreword | None) -> str:
    """Gates and routes, unless they were judged and told before everything else."""
    is_told = first is not None and any(part.name == "ways" for part in first.parts)
    said_of = "" if is_told else ways_html(plan.project)
    return section("ways", "Gates and routes", said_of) if said_of else ""


def _block(plan: Plan) -> str:
    if plan.block is None:
        best = plan.best
        return (
            "<p><strong>No block:</strong> no altitude is legal with a field within gliding "
            f"distance over the whole area. Best: {feet_text(best.altitude_amsl_ft)} AMSL, "
            f"{percent_down(best.legal_and_safe_share)} of the area.</p>"
        )
    ceiling = plan.block.ceiling_amsl_ft
    upper = "no ceiling in the data" if ceiling is None else f"{feet_text(ceiling)} AMSL"
    return (
        f"<p><strong>Block:</strong> {feet_text(plan.block.floor_amsl_ft)} AMSL to {upper}: "
        "the whole area is legal with a field within gliding distance.</p>"
    )


def _layers() -> str:
    """Empty frame; page/panel.js puts a switch for every layer into it."""
    return '<fieldset id="layer-switches"><legend>Show on the map</legend></fieldset>'
