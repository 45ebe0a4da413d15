"""The fixed parts of the sheet: what stands round the map, as HTML."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

from areaplan.planning.judging import overall_verdict
from areaplan.planning.plan import Finding, Plan, Shares, Verdict, Volume
from areaplan.render.map_classes import CLASS_STYLES
from areaplan.render.map_markup import bullets, said, section, table, terms, verdict_words
from areaplan.render.text import (
    CLASS_WORDS,
    feet_text,
    percent_down,
    percent_up,
    verdict_line,
)
from areaplan.sources.layers import SourceRecord
from areaplan.units import FOOT_M, HPA_PA, KNOT_MPS, NAUTICAL_MILE_M

_VERDICT_CLASS = {Verdict.MET: "met", Verdict.NOT_MET: "not-met", Verdict.UNKNOWN: "unknown"}


def sheet_html(plan: Plan, notes: Sequence[str]) -> str:
    """The sheet beside the map: judgement, legend, layers, figures, rules and data.

    Parameters
    ----------
    plan : Plan
        The evaluated plan.
    notes : sequence of str
        What was cut or coarsened for this file.
    """
    cautions = bullets((*notes, *plan.cautions))
    return (
        f'<aside id="sheet" aria-label="Sheet">{_title(plan)}'
        f"{_expired(plan)}"
        f"{section('now', 'At the altitude chosen', _legend(), is_open=True)}"
        f"{section('planned', 'At the planned altitudes', _planned(plan), is_open=True)}"
        f"{_warnings(plan)}"
        f"{section('layers', 'What is drawn', _layers(), is_open=False)}"
        f"{section('figures', 'Wind, aircraft and margins', _figures(plan))}"
        f"{section('findings', 'Findings, the smallest margin first', _findings(plan))}"
        f"{section('rules', 'Rules in force', _rules(plan))}"
        f"{section('airspace', 'Airspace on the map', _airspace(plan))}"
        f"{section('data', 'Data and their dates', _data(plan))}"
        f"{section('cautions', 'Cautions', cautions, is_open=True)}"
        "</aside>"
    )


def verdict_badge(verdict: Verdict) -> str:
    """The verdict in words inside a frame of its own; the frame's line differs, not its colour."""
    return f'<span class="verdict {_VERDICT_CLASS[verdict]}">{verdict_words(verdict)}</span>'


def _title(plan: Plan) -> str:
    project = plan.project
    school = f"{said(project.school)}, " if project.school else ""
    return (
        f"<header><p class='kind'>Practice area sheet</p><h1>{said(project.name)}</h1>"
        f"<p>{school}judged for <time>{project.day.isoformat()}</time></p>"
        f'<p class="judgement">{verdict_badge(plan.verdict)} {escape(_after_verdict(plan))}</p>'
        "<p class='aid'><strong>Planning aid only, not for navigation.</strong> Check current "
        "charts, notices and local procedures. Most wires and most objects below 200 ft are in no "
        "database. The pilot in command decides.</p></header>"
    )


def _after_verdict(plan: Plan) -> str:
    """The verdict line without the verdict itself, which stands in its badge."""
    return verdict_line(plan).removeprefix(verdict_words(plan.verdict)).strip() + "."


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


def _warnings(plan: Plan) -> str:
    if not plan.warnings:
        return ""
    heading = f"Warnings ({len(plan.warnings)})"
    return section("warnings", heading, bullets(plan.warnings), is_open=True)


def _legend() -> str:
    """Classes with their live shares; page/classes.js fills swatches and figures."""
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
            ("legal", "legal"),
            ("safe", "field within gliding distance"),
            ("both", "both"),
            ("unknown", "unknown"),
        )
    )
    return (
        '<p id="now-altitude"></p>'
        '<table class="legend"><caption class="unseen">Classes and their share of the area'
        f'</caption><tbody>{rows}</tbody></table><dl class="sums">{sums}</dl>'
        "<p class='small'>Shares of the practice area. A field counts as within gliding distance "
        "when it is so whatever the heading. Plain means usable; every pattern means do not use."
        "</p>"
    )


def _capital(words: str) -> str:
    return escape(words[:1].upper() + words[1:])


def _planned(plan: Plan) -> str:
    def row(shares: Shares) -> list[str]:
        return [
            feet_text(shares.altitude_amsl_ft),
            verdict_badge(overall_verdict([shares])),
            percent_down(shares.legal_share),
            percent_down(shares.safe_share),
            percent_down(shares.legal_and_safe_share),
            percent_up(shares.unknown_share),
        ]

    heads = ("AMSL", "Verdict", "Legal", "Field", "Both", "Unknown")
    caption = "Verdict and shares of the area at the planned altitudes"
    return table(caption, heads, map(row, plan.planned)) + _block(plan)


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


def _figures(plan: Plan) -> str:
    project, aircraft, margins = plan.project, plan.project.aircraft, plan.project.margins

    def figure(key: str, value: str) -> str:
        source = aircraft.figure_sources.get(key, "")
        return value + (f' <span class="small">({said(source)})</span>' if source else "")

    def speed(mps: float) -> str:
        return f"{mps / KNOT_MPS:.0f} kt"

    pairs = [
        ("Wind", f"{escape(str(project.wind))} true, {said(project.wind_source)}"),
        ("Aircraft", said(aircraft.name)),
        ("Best glide speed", figure("best_glide_speed", speed(aircraft.best_glide_speed_mps))),
        ("Glide ratio", figure("best_glide_ratio", f"{aircraft.best_glide_ratio:g} : 1")),
        (
            "Taken off",
            figure(
                "glide_derating",
                f"{aircraft.glide_derating * 100:.0f} %, leaves {aircraft.glide_ratio_used:.1f} : 1",
            ),
        ),
        ("Manoeuvre speed", figure("manoeuvre_speed", speed(aircraft.manoeuvre_speed_mps))),
        ("Stall speed", figure("stall_speed", speed(aircraft.stall_speed_mps))),
        (
            "Kept from airspace",
            f"{margins.airspace_lateral_m / NAUTICAL_MILE_M:.2f} NM, "
            f"{margins.airspace_vertical_m / FOOT_M:.0f} ft",
        ),
        ("Kept above ground in the glide", f"{margins.glide_clearance_m / FOOT_M:.0f} ft"),
        ("Arrival above the field", f"{margins.arrival_height_m / FOOT_M:.0f} ft"),
        ("Reaction time", f"{margins.reaction_time_s:g} s"),
        ("Bank of the gliding turn", f"{margins.turn_bank_deg:g}°"),
        (
            "Altimeter settings covered",
            f"{margins.qnh_lowest_pa / HPA_PA:.0f} to {margins.qnh_highest_pa / HPA_PA:.0f} hPa",
        ),
    ]
    return terms(pairs)


def _findings(plan: Plan) -> str:
    if not plan.findings:
        return "<p>None: no rule asks anything in the area.</p>"
    parts = []
    for altitude_ft in sorted({one.altitude_amsl_ft for one in plan.findings}):
        parts.append(f"<h3>At {feet_text(altitude_ft)} AMSL</h3>")
        parts += [_finding(one) for one in plan.findings if one.altitude_amsl_ft == altitude_ft]
    return "".join(parts)


def _finding(finding: Finding) -> str:
    words = [str(finding.limit.severity)]
    if finding.margin_ft is not None:
        margin = f"{finding.margin_ft:+,} ft".replace(",", " ").replace("-", "−")
        words.append(f"smallest margin {margin}")
    elif finding.verdict is Verdict.NOT_MET:
        words.append("no altitude is enough")
    if finding.feature:
        words.append(said(finding.feature))
    words.append(f"met over {percent_down(finding.share_met)} of the area")
    where = ""
    if finding.lat is not None and finding.lon is not None:
        where = (
            f'<p class="small">{finding.lat:.5f}, {finding.lon:.5f} <button type="button" '
            f'data-lat="{finding.lat}" data-lon="{finding.lon}" '
            f'data-at="{finding.altitude_amsl_ft}">Show this place</button></p>'
        )
    return (
        f'<div class="entry"><p>{verdict_badge(finding.verdict)} '
        f"<strong>{said(finding.limit.title)}</strong></p><p>{', '.join(words)}</p>{where}</div>"
    )


def _rules(plan: Plan) -> str:
    parts = []
    for limit in plan.limits:
        quote = f"<blockquote>{said(limit.quote)}</blockquote>" if limit.quote else ""
        confirm = (
            f"<p><strong>Confirm before use:</strong> {said(limit.confirm)}</p>"
            if limit.confirm
            else ""
        )
        parts.append(
            f"<article><h3>{said(limit.title)}</h3>{quote}"
            f'<p class="small">{said(limit.rule)}, {limit.severity}; {said(limit.document)}</p>'
            f"{confirm}</article>"
        )
    return "".join(parts) or "<p>None.</p>"


def _airspace(plan: Plan) -> str:
    if not plan.volumes:
        return "<p>No airspace volume in the data touches the map.</p>"
    return "".join(map(_volume, plan.volumes))


def _volume(volume: Volume) -> str:
    kind = f"class {volume.airspace_class}" if volume.airspace_class else volume.type_code
    limits = f"{said(volume.lower_text)} to {said(volume.upper_text)}"
    used_as = "taken as closed" if volume.is_blocking else "taken as open"
    words = [said(kind)] if kind else []
    words += [limits, f"entry: {said(volume.entry)}", f"{used_as}: {said(volume.reason)}"]
    return (
        f'<div class="entry"><p><strong>{said(volume.name)}</strong></p>'
        f"<p>{', '.join(words)}</p></div>"
    )


def _data(plan: Plan) -> str:
    heads = ("Data, edition", "Valid", "Files, first 12 of SHA-256")
    rows = (_source(one, plan) for one in plan.sources)
    project = (
        f"<p class='small'>Project file {said(plan.project.path.name)}, SHA-256 "
        f"{escape(plan.project.sha256[:12])}. Map drawn with Leaflet 1.9.4.</p>"
    )
    return table("Data used and their dates", heads, rows) + project


def _source(record: SourceRecord, plan: Plan) -> list[str]:
    starts = record.effective.isoformat() if record.effective else "start not stated"
    ends = record.expires.isoformat() if record.expires else "end not stated"
    valid = f"{starts}<br>to {ends}"
    if record.is_expired(plan.project.day):
        valid = f'<strong class="expired">EXPIRED</strong><br>{valid}'
    files = "<br>".join(
        f"{said(path)} <code>{escape(digest[:12])}</code>"
        for path, digest in zip(record.paths, record.sha256, strict=False)
    )
    datum = f"; {said(record.vertical_datum)}" if record.vertical_datum else ""
    rows = f'<br><span class="small">{record.rows_used} of {record.rows_read} rows used</span>'
    edition = f'<br><span class="small">{said(record.edition)}{datum}</span>'
    return [escape(str(record.kind)) + edition, valid, (files or "no file") + rows]
