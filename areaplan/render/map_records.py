"""The records of the sheet: figures, findings, rules, airspace and data, as HTML."""

from __future__ import annotations

from html import escape

from areaplan.planning.plan import Finding, Plan, Verdict, Volume
from areaplan.planning.project import Project, StatedWeather
from areaplan.render.finding_words import cause_words
from areaplan.render.landing_words import needed_length_words
from areaplan.render.map_markup import place_html, said, table, terms, verdict_badge
from areaplan.render.text import percent_down
from areaplan.sources.layers import SourceRecord
from areaplan.units import FOOT_M, HPA_PA, KNOT_MPS, NAUTICAL_MILE_M, feet_text, signed_feet_text


def figures_html(plan: Plan) -> str:
    """Wind, aircraft and margins with where each figure comes from."""
    project, aircraft, margins = plan.project, plan.project.aircraft, plan.project.margins

    def figure(key: str, value: str) -> str:
        source = aircraft.figure_sources.get(key, "")
        return value + (f' <span class="small">({said(source)})</span>' if source else "")

    def speed(mps: float) -> str:
        return f"{mps / KNOT_MPS:.0f} kt"

    pairs = [
        ("Wind", f"{escape(str(project.wind))} true, {said(project.wind_source)}"),
        *_air_pairs(project),
        ("Weather", _weather_words(project.weather)),
        ("Aircraft", said(aircraft.name)),
        ("Best glide speed", figure("best_glide_speed", speed(aircraft.best_glide_speed_mps))),
        ("Glide ratio", figure("best_glide_ratio", f"{aircraft.best_glide_ratio:g} : 1")),
        (
            "Taken off",
            figure(
                "glide_derating",
                f"{aircraft.glide_derating * 100:.0f} %, "
                f"leaves {aircraft.glide_ratio_used:.1f} : 1",
            ),
        ),
        ("Manoeuvre speed", figure("manoeuvre_speed", speed(aircraft.manoeuvre_speed_mps))),
        ("Stall speed", figure("stall_speed", speed(aircraft.stall_speed_mps))),
        ("Length of a strip", "<br>".join(map(said, needed_length_words(project)))),
        (
            "Kept from airspace",
            f"{margins.airspace_lateral_m / NAUTICAL_MILE_M:.2f} NM, "
            f"{feet_text(round(margins.airspace_vertical_m / FOOT_M))}",
        ),
        (
            "Kept above ground in the glide",
            feet_text(round(margins.glide_clearance_m / FOOT_M)),
        ),
        ("Arrival above the field", feet_text(round(margins.arrival_height_m / FOOT_M))),
        ("Reaction time", f"{margins.reaction_time_s:g} s"),
        ("Bank of the gliding turn", f"{margins.turn_bank_deg:g}°"),
        (
            "Altimeter settings covered",
            f"{margins.qnh_lowest_pa / HPA_PA:.0f} to {margins.qnh_highest_pa / HPA_PA:.0f} hPa",
        ),
    ]
    return terms(pairs)


def _air_pairs(project: Project) -> list[tuple[str, str]]:
    """Winds aloft and how warm the air is taken to be."""
    aloft = "<br>".join(
        f"{feet_text(round(row.height_amsl_m / FOOT_M))} AMSL: {escape(str(row.wind))} true, "
        f"{said(row.source)}"
        for row in project.winds_aloft
    )
    deviation_k = project.isa_deviation_k
    standard = "as in the standard atmosphere"
    return [
        ("Winds aloft", aloft or "none given: the same wind at all heights"),
        ("Temperature", f"{deviation_k:+g} °C from the standard" if deviation_k else standard),
    ]


def _weather_words(weather: StatedWeather | None) -> str:
    if weather is None:
        return "not stated, so not judged: the warnings say what it must be"
    return f"{said(str(weather))}, {said(weather.source)}"


def findings_html(plan: Plan) -> str:
    """Every finding, grouped by planned altitude, with the place of its smallest margin."""
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
        margin = signed_feet_text(finding.margin_ft).replace("-", "−")
        words.append(f"smallest margin {margin}")
    elif finding.verdict is Verdict.NOT_MET and finding.lat is not None:
        words.append("no altitude is enough")
    if cause := cause_words(finding):
        words.append(said(cause))
    words.append(f"met over {percent_down(finding.share_met)} of the area")
    where = ""
    if finding.lat is not None and finding.lon is not None:
        where = place_html(finding.lat, finding.lon, finding.altitude_amsl_ft)
    confirm = (
        f'<p class="small"><strong>Confirm before use:</strong> {said(finding.limit.confirm)}</p>'
        if finding.limit.confirm
        else ""
    )
    return (
        f'<div class="entry"><p>{verdict_badge(finding.verdict)} '
        f"<strong>{said(finding.limit.title)}</strong></p><p>{', '.join(words)}</p>"
        f"{confirm}{where}</div>"
    )


def rules_html(plan: Plan) -> str:
    """Every rule in force with its sentence."""
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


def airspace_html(plan: Plan) -> str:
    """Every volume on the map with its limits, how it is entered and how it was taken."""
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


def data_html(plan: Plan) -> str:
    """Editions, validity and digests of the files used; expired ones marked."""
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
    rows = f'<br><span class="small">{record.counts}</span>'
    edition = f'<br><span class="small">{said(record.edition)}{datum}</span>'
    return [escape(str(record.kind)) + edition, valid, (files or "no file") + rows]
