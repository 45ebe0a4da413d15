"""Plans and point answers as plain text for a terminal, a printout or a telephone."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Iterable, Sequence
from typing import Final

from areaplan.planning.plan import (
    WHATEVER_THE_HEADING,
    Binder,
    CellClass,
    Finding,
    Plan,
    Shares,
    Verdict,
)
from areaplan.planning.point import Band, PointAnswer, unknown_airspace_at
from areaplan.planning.track import TrackAnswer
from areaplan.planning.weather_judged import WEATHER_FEATURE
from areaplan.render.finding_words import cause_words
from areaplan.render.quantity_words import decimal_degrees
from areaplan.rules.model import Severity
from areaplan.units import FOOT_M, KNOT_MPS, feet_text, signed_feet_text

WIDTH: Final = 96

CLASS_WORDS: Final = {
    CellClass.LEGAL_WITH_FIELD: "legal, and a field within gliding distance",
    CellClass.LEGAL_NO_FIELD: "legal, but no field within gliding distance",
    CellClass.FIELD_NOT_LEGAL: "a field within gliding distance, but not legal",
    CellClass.NEITHER: "not legal, and no field within gliding distance",
    CellClass.UNKNOWN: "unknown: the data do not say",
}
_VERDICT_WORDS: Final = {
    Verdict.MET: "MET",
    Verdict.NOT_MET: "NOT MET",
    Verdict.UNKNOWN: "UNKNOWN",
}


def percent_down(share: float) -> str:
    """A share in whole per cent, never more than it is: 100 % only when all of it."""
    return f"{math.floor(share * 100 + 1e-9)} %"


def percent_up(share: float) -> str:
    """A share in whole per cent, never less than it is: 0 % only when none of it."""
    return f"{math.ceil(share * 100 - 1e-9)} %"


def verdict_text(verdict: Verdict) -> str:
    """A verdict as people read it."""
    return _VERDICT_WORDS[verdict]


def verdict_line(plan: Plan) -> str:
    """The overall verdict and the block in one line."""
    words = f"{_VERDICT_WORDS[plan.verdict]} at the planned altitudes; {_air_words(plan)}"
    if plan.block is not None:
        ceiling = plan.block.ceiling_amsl_ft
        upper = "up, no ceiling in the data" if ceiling is None else f"to {feet_text(ceiling)} AMSL"
        floor = feet_text(plan.block.floor_amsl_ft)
        return f"{words}the whole area is legal and safe from {floor} AMSL {upper}"
    return (
        f"{words}no altitude is legal and safe everywhere: best "
        f"{percent_down(plan.best.legal_and_safe_share)} of the area "
        f"at {feet_text(plan.best.altitude_amsl_ft)} AMSL"
    )


def _air_words(plan: Plan) -> str:
    """Said before anything good of the ground: a finding without a place is about the air."""
    open_ones = [
        row
        for row in plan.findings
        if row.verdict is not Verdict.MET
        and row.lat is None
        and row.limit.severity is not Severity.ADVISORY
    ]
    words: dict[str, str] = {}
    for row in sorted(open_ones, key=lambda one: one.verdict is Verdict.UNKNOWN):
        if not row.feature.startswith(WEATHER_FEATURE):
            words.setdefault("wind", f"too much wind ({row.feature}); ")
        elif row.verdict is Verdict.NOT_MET:
            figures = row.feature.removeprefix(WEATHER_FEATURE).strip()
            words.setdefault("weather", f"weather below limits ({figures}); ")
        else:
            words.setdefault("weather", "weather UNKNOWN; ")
    return "".join(words.values())


def plan_text(plan: Plan) -> str:
    """The whole judgement of an area as text."""
    project = plan.project
    lines = [f"{project.name} - {project.school}" if project.school else project.name]
    lines += [f"Judged for {project.day} with wind {project.wind} ({project.wind_source})"]
    lines += [
        f"and {row.wind} at {feet_text(round(row.height_amsl_m / FOOT_M))} AMSL ({row.source})"
        for row in project.winds_aloft
    ]
    if project.isa_deviation_k:
        lines += [f"on a day {project.isa_deviation_k:+g} degC from the standard atmosphere"]
    if project.weather is not None:
        lines += textwrap.wrap(f"and weather: {project.weather} ({project.weather.source})", WIDTH)
    lines += [aircraft_line(plan), ""]
    lines += textwrap.wrap(f"Verdict: {verdict_line(plan)}.", WIDTH)
    lines += ["", "At the planned altitudes (AMSL), shares of the area:"]
    lines += _shares_table(plan.planned)
    told = [row for row in plan.by_altitude if row.legal_share or row.safe_share]
    lines += ["", "By altitude:", *_shares_table(told or plan.by_altitude[-1:])]
    lines += ["", "Findings, the gravest first:"]
    lines += [line for finding in plan.findings for line in _finding_lines(finding)]
    if plan.warnings:
        lines += ["", "Warnings:", *bullets(plan.warnings)]
    lines += ["", "Sources:", *_source_lines(plan)]
    lines += ["", "Cautions:", *bullets(plan.cautions)]
    return "\n".join(lines)


def point_text(answer: PointAnswer, plan: Plan, on_track: TrackAnswer | None = None) -> str:
    """Everything known at a place as text, and on one track where that was asked."""
    unknown_airspace = unknown_airspace_at(plan, answer.lat, answer.lon)
    rows = [
        ("place", decimal_degrees(answer.lat, answer.lon)),
        ("terrain", _or_unknown(answer.terrain_amsl_ft)),
        ("legal floor", floor_words(answer)),
        *_band_rows(answer.bands),
        *(("airspace", f"UNKNOWN: {words}") for words in unknown_airspace),
        ("glide needs", _glide_words(answer)),
        *([("on one track", _track_words(on_track))] if on_track else []),
        ("field", _field_words(answer)),
        ("sectors", _sector_words(answer)),
        (f"at {feet_text(answer.altitude_amsl_ft)}", CLASS_WORDS[answer.cell_class]),
        ("verdict", _VERDICT_WORDS[answer.verdict]),
        *_confirm_rows(answer),
    ]
    lines = []
    for label, words in rows:
        wrapped = textwrap.wrap(words, WIDTH - 16) or [""]
        lines += [f"{label:<14}  {wrapped[0]}", *(f"{'':<16}{more}" for more in wrapped[1:])]
    return "\n".join([*lines, "", *bullets(plan.cautions)])


def _confirm_rows(answer: PointAnswer) -> list[tuple[str, str]]:
    """What must be confirmed of the rules that bind at the place, each once."""
    edges = [(band.floor_by, band.ceiling_by) for band in answer.bands or ()]
    binders = [answer.floor_by, *(binder for pair in edges for binder in pair)]
    limits = dict.fromkeys(one.limit for one in binders if one is not None and one.limit.confirm)
    return [("CONFIRM", f"{limit.rule}: {limit.confirm}") for limit in limits]


def _or_unknown(feet: int | None) -> str:
    return "unknown" if feet is None else f"{feet_text(feet)} AMSL"


def _by(binder: Binder | None) -> str:
    if binder is None:
        return ""
    return f" ({binder.limit.rule}, {binder.limit.title}: {binder.feature})"


def floor_words(answer: PointAnswer) -> str:
    """The legal floor at a place and what sets it."""
    if answer.legal_floor_amsl_ft is None:
        return f"closed at every altitude{_by(answer.floor_by)}" if answer.floor_by else "unknown"
    return _or_unknown(answer.legal_floor_amsl_ft) + _by(answer.floor_by)


def _track_words(answer: TrackAnswer) -> str:
    track = f"on tracks near {answer.track_deg_true:03.0f} degrees true"
    if answer.is_unknown:
        return f"unknown {track}"
    if answer.glide_required_amsl_ft is None:
        return f"no altitude considered is enough {track}"
    return f"{feet_text(answer.glide_required_amsl_ft)} AMSL {track}"


def _band_rows(bands: tuple[Band, ...] | None) -> list[tuple[str, str]]:
    if bands is None:
        return [("open bands", "unknown")]
    if not bands:
        return [("open bands", "none")]
    rows = []
    for band in bands:
        upper = "no ceiling in the data"
        if band.ceiling_amsl_ft is not None:
            upper = f"{feet_text(band.ceiling_amsl_ft)}{_by(band.ceiling_by)}"
        floor = f"{feet_text(band.floor_amsl_ft)}{_by(band.floor_by)}"
        rows.append(("open band", f"{floor} to {upper}"))
    return rows


def _glide_words(answer: PointAnswer) -> str:
    if answer.is_glide_unknown:
        return "unknown"
    by = answer.glide_bound_by
    is_choice = by is not None and by.feature != WHATEVER_THE_HEADING
    if answer.glide_required_amsl_ft is None:
        return "no altitude is enough" + (_by(by) if is_choice else " for every heading")
    words = f"{feet_text(answer.glide_required_amsl_ft)} AMSL, whatever the heading"
    return f"{words}, and for the choice of fields{_by(by)}" if is_choice else words


def _field_words(answer: PointAnswer) -> str:
    if answer.field is None:
        return "none"
    if answer.field_bearing_true_deg is None:
        return f"{answer.field}, below"
    bearing = f"{answer.field_bearing_true_deg:03.0f} true"
    return f"{answer.field}, {answer.field_distance_nm} NM on {bearing}"


def _sector_words(answer: PointAnswer) -> str:
    if answer.sectors_with_field is None:
        return "unknown"
    words = f"{answer.sectors_with_field} of 12 lead to a field from "
    words += feet_text(answer.altitude_amsl_ft)
    if answer.sectors_with_field == 0:
        return words
    return f"{words}, to at least {answer.separate_fields} separate"


def _shares_table(rows: Iterable[Shares]) -> list[str]:
    header = ("altitude", "legal", "field in reach", "both", "unknown")
    body = [
        (
            feet_text(row.altitude_amsl_ft),
            percent_down(row.legal_share),
            percent_down(row.safe_share),
            percent_down(row.legal_and_safe_share),
            percent_up(row.unknown_share),
        )
        for row in rows
    ]
    return ["  " + _columns(cells) for cells in (header, *body)]


def _columns(cells: Sequence[str]) -> str:
    return "  ".join(f"{cell:>14}" for cell in cells)


def _finding_lines(finding: Finding) -> list[str]:
    head = (
        f"{_VERDICT_WORDS[finding.verdict]} at {feet_text(finding.altitude_amsl_ft)}: "
        f"{finding.limit.title} [{finding.limit.rule}, {finding.limit.severity}]"
    )
    parts = []
    if finding.margin_ft is not None:
        parts.append(f"smallest margin {signed_feet_text(finding.margin_ft)}")
    elif finding.verdict is Verdict.NOT_MET and finding.lat is not None:
        parts.append("no altitude is enough")
    if finding.lat is not None:
        parts.append(f"at {finding.lat:.5f}, {finding.lon:.5f}")
    if cause := cause_words(finding):
        parts.append(cause)
    parts.append(f"met over {percent_down(finding.share_met)}")
    lines = textwrap.wrap(head, WIDTH, initial_indent="  * ", subsequent_indent="    ")
    lines += _indented("; ".join(parts))
    if finding.verdict is not Verdict.MET and finding.limit.quote:
        lines += _indented(f'"{finding.limit.quote}" - {finding.limit.document}')
        if finding.limit.reading:
            lines += _indented(f"Applied so: {finding.limit.reading}")
    if finding.limit.confirm:
        lines += _indented(f"CONFIRM: {finding.limit.confirm}")
    return lines


def _indented(words: str) -> list[str]:
    return textwrap.wrap(words, WIDTH, initial_indent="    ", subsequent_indent="    ")


def bullets(sentences: Iterable[str]) -> list[str]:
    """Sentences as lines with a dash before each."""
    return [
        line
        for sentence in sentences
        for line in textwrap.wrap(sentence, WIDTH, initial_indent="  - ", subsequent_indent="    ")
    ]


def _source_lines(plan: Plan) -> list[str]:
    sentences = []
    for record in plan.sources:
        files = ", ".join(
            f"{path} ({digest[:12]})"
            for path, digest in zip(record.paths, record.sha256, strict=True)
        )
        ends = f", to {record.expires}" if record.expires else ""
        sentences.append(
            f"{record.kind}: {files or 'none'}; {record.edition}{ends}; {record.counts}"
        )
    return bullets(sentences)


def aircraft_line(plan: Plan) -> str:
    """The aircraft figures used, in one line."""
    aircraft = plan.project.aircraft
    return (
        f"{aircraft.name}: best glide {aircraft.best_glide_speed_mps / KNOT_MPS:.0f} kt at "
        f"{aircraft.best_glide_ratio:g}:1, {aircraft.glide_derating * 100:.0f} % taken off"
    )
