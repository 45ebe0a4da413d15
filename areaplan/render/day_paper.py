"""The day sheet as a document: as plain text, and as one sheet of paper."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from attrs import evolve

from areaplan.planning.day import DaySheet
from areaplan.planning.plan import Finding, Verdict
from areaplan.render.day_air import air_section, glide_section, wind_section
from areaplan.render.day_fields import FEWER_FIELDS, MOST_FIELDS, fields_section
from areaplan.render.day_light import light_section
from areaplan.render.day_sites import sites_section
from areaplan.render.day_words import moment_words, wind_words
from areaplan.render.document.model import Document, Part, Section, TableBlock, Terms, paragraphs
from areaplan.render.document.text import document_as_text
from areaplan.render.document.writing import write_document
from areaplan.render.figures.day_map import day_map
from areaplan.render.finding_words import cause_words
from areaplan.render.manoeuvres import weather_words
from areaplan.render.text import percent_down, percent_up, verdict_line
from areaplan.rules.model import Severity
from areaplan.units import CELSIUS_ZERO_K, HPA_PA, INHG_PA, feet_text

# As many as leave the sheet on one page; fewer where it lists sites as well.
MOST_REASONS: Final = 4
FEWER_REASONS: Final = 1
# Warnings that a sheet for today can't leave to `areaplan check`.
_GRAVE: Final = ("EXPIRED", "NOT YET VALID", "the terrain data leave")
_LATE: Final = "NOT BY DAY"


def day_text(sheet: DaySheet) -> str:
    """The sheet as plain text."""
    return document_as_text(day_document(sheet, has_map=False))


def write_day_page(sheet: DaySheet, path: Path, paper: str = "letter") -> None:
    """Write the sheet whole or not at all: one sheet of paper when printed.

    The same bytes for the same inputs.

    Parameters
    ----------
    sheet : DaySheet
    path : Path
        Ending in .html or .pdf.
    paper : str
        "letter" or "a4".

    Raises
    ------
    InputError
        Neither .html nor .pdf; or .pdf, and the typesetter is not installed; or the folder is
        missing or can't be written to.
    ValueError
        Another paper.
    """
    write_document(day_document(sheet), path, paper, "the day sheet")


def day_document(sheet: DaySheet, *, has_map: bool = True) -> Document:
    """What the sheet says, section by section.

    Parameters
    ----------
    sheet : DaySheet
    has_map : bool
        Whether to draw today's map; without matplotlib (extra `pdf`) there is none.

    Raises
    ------
    InputError
        As `day_map`.
    """
    project, conditions = sheet.plan.project, sheet.conditions
    pressure_pa = conditions.altimeter_setting_pa
    drawn = day_map(sheet) if has_map else None
    beside = (
        _area(sheet),
        *(() if drawn is None else (Section("", (evolve(drawn, is_described_below=False),)),)),
        wind_section(sheet),
        air_section(sheet),
        light_section(sheet),
        glide_section(sheet),
        _weather(sheet),
    )
    across = (
        fields_section(sheet.fields, MOST_FIELDS if sheet.sites is None else FEWER_FIELDS),
        *(() if sheet.sites is None else (sites_section(sheet.sites),)),
        _fine_print(sheet),
    )
    return Document(
        title=f"Day sheet: {project.name} - {project.school}",
        subtitle="",
        identity=Terms(()),
        verdict=f"Today: {verdict_line(sheet.plan)}.",
        caution="Planning aid only, not for navigation: current charts, notices, weather and the "
        "pilot in command decide.",
        alarms=_alarms(sheet),
        running=f"{project.name}, day sheet for {conditions.time:%Y-%m-%d %H:%M} local",
        parts=(
            Part("today", "", "", beside, is_two_column=True),
            Part("fields", "", "", across),
        ),
        lead=(
            f"{moment_words(conditions.time)}. Wind {wind_words(sheet, project.wind)}; altimeter "
            f"{pressure_pa / INHG_PA:.2f} inHg ({pressure_pa / HPA_PA:.0f} hPa); "
            f"{conditions.temperature_k - CELSIUS_ZERO_K:+.0f} degC at {sheet.station.name} "
            f"({feet_text(sheet.air[0].altitude_amsl_ft)} AMSL). {project.aircraft.name}.",
        ),
        is_dense=True,
    )


def _alarms(sheet: DaySheet) -> tuple[str, ...]:
    """What may make all the rest worthless."""
    late = [words for words in sheet.notes if words.startswith(_LATE)]
    grave = [words for words in sheet.plan.warnings if words.startswith(_GRAVE)]
    return (*late, *grave)


def _area(sheet: DaySheet) -> Section:
    plan = sheet.plan
    rows = tuple(
        (
            feet_text(row.altitude_amsl_ft),
            percent_down(row.legal_share),
            percent_down(row.safe_share),
            percent_down(row.legal_and_safe_share),
            percent_up(row.unknown_share),
        )
        for row in plan.planned
    )
    broken = [
        row
        for row in plan.findings
        if row.verdict is Verdict.NOT_MET
        and row.lat is not None
        and row.limit.severity is not Severity.ADVISORY
    ]
    titles: dict[tuple[int, str], list[str]] = {}
    for row in broken:
        words = f"{_margin(row.margin_ft)}{_because(row)}; met over {percent_down(row.share_met)}"
        titles.setdefault((row.altitude_amsl_ft, words), []).append(row.limit.title)
    most = MOST_REASONS if sheet.sites is None else FEWER_REASONS
    reasons = [
        f"{feet_text(altitude_ft)}: {'; '.join(same)}: {words}"
        for (altitude_ft, words), same in list(titles.items())[:most]
    ]
    left = len(broken) - sum(map(len, list(titles.values())[:most]))
    if left:
        reasons.append(f"and {left} more: areaplan check lists them")
    table = TableBlock(
        "",
        ("AMSL", "legal", "field in reach", "both", "unknown"),
        rows,
        (3, 3, 4, 3, 3),
        right=(1, 2, 3, 4),
    )
    return Section("Usable part of the area today", (table, *paragraphs(reasons)))


def _because(finding: Finding) -> str:
    cause = cause_words(finding)
    return f", {cause}" if cause else ""


def _margin(margin_ft: int | None) -> str:
    return "no altitude is enough" if margin_ft is None else f"short by {feet_text(-margin_ft)}"


def _weather(sheet: DaySheet) -> Section:
    return Section(
        "Weather needed",
        paragraphs(
            (
                f"From {feet_text(sheet.low_ft)} to {feet_text(sheet.high_ft)} AMSL. "
                f"{weather_words(sheet.weather)}.",
                "Not judged: compare it with the observation and forecast you have.",
                *(f"CONFIRM: {words}" for words in sheet.weather.confirm),
            )
        ),
    )


def _fine_print(sheet: DaySheet) -> Section:
    plan = sheet.plan
    left = sum(not words.startswith(_GRAVE) for words in plan.warnings)
    more = f"{left} more warnings about data and rules: read areaplan check. " if left else ""
    notes = [words for words in sheet.notes if not words.startswith(_LATE)]
    ends = [record.expires for record in plan.sources if record.expires is not None]
    until = f"; the first of them runs out on {min(ends)}" if ends else ""
    return Section(
        "Taken for granted, and cautions",
        paragraphs(
            (
                " ".join(f"{words[0].upper()}{words[1:]}." for words in notes),
                " ".join(plan.cautions),
                f"{more}Project {plan.project.path.name}, SHA-256 {plan.project.sha256[:16]}; "
                f"{len(plan.sources)} sources{until}.",
            )
        ),
        is_small=True,
    )
