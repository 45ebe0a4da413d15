"""What every exported file carries: cautions, the verdict, editions, digests and rule sets."""

from __future__ import annotations

from datetime import UTC, date, datetime
from typing import Any

from attrs import frozen

from areaplan import __version__
from areaplan.planning.plan import Plan
from areaplan.render.as_json import source_as_json
from areaplan.render.text import aircraft_line, verdict_line
from areaplan.rules.loading import load_rule_sets


@frozen
class ExportNotes:
    """The words beside the data.

    Attributes
    ----------
    title : str
        Area and school.
    day : date
        The day judged, which stands for the time of making: the clock is never asked.
    verdict : str
        "MET", "NOT_MET" or "UNKNOWN".
    judged : tuple of str
        Verdict, wind and aircraft.
    cautions, warnings : tuple of str
        As every output carries them.
    rule_sets : tuple of str
        Identifier, title and digest of each set in force.
    sources : tuple of dict
        As `as_json.source_as_json`.
    project_sha256 : str
    """

    title: str
    day: date
    verdict: str
    judged: tuple[str, ...]
    cautions: tuple[str, ...]
    warnings: tuple[str, ...]
    rule_sets: tuple[str, ...]
    sources: tuple[dict[str, Any], ...]
    project_sha256: str

    @property
    def made(self) -> datetime:
        """Midnight UTC of the day judged, for formats that want a time."""
        return datetime(self.day.year, self.day.month, self.day.day, tzinfo=UTC)

    def lines(self) -> tuple[str, ...]:
        """Everything as sentences, the cautions first."""
        return (
            *self.cautions,
            *self.judged,
            *(f"Warning: {text}" for text in self.warnings),
            *(f"Rule set {text}" for text in self.rule_sets),
            *(f"Source {_source_words(source)}" for source in self.sources),
            f"Project file SHA-256 {self.project_sha256}; made by areaplan {__version__}",
        )

    def as_json(self) -> dict[str, Any]:
        """The same as plain values."""
        return {
            "title": self.title,
            "day": self.day.isoformat(),
            "verdict": self.verdict,
            "judged": list(self.judged),
            "cautions": list(self.cautions),
            "warnings": list(self.warnings),
            "rule_sets": list(self.rule_sets),
            "sources": list(self.sources),
            "project_sha256": self.project_sha256,
            "made_by": f"areaplan {__version__}",
        }


def export_notes(plan: Plan) -> ExportNotes:
    """Gather the words of a plan.

    Raises
    ------
    InputError
        A rule set's file has gone since the plan was made.
    """
    project = plan.project
    winds = "; ".join(
        f"{row.wind} at {row.height_amsl_m:.0f} m AMSL ({row.source})"
        for row in project.winds_aloft
    )
    wind = f"{project.wind} ({project.wind_source})" + (f"; {winds}" if winds else "")
    sets = load_rule_sets(project.rule_sets, project.rule_paths)
    return ExportNotes(
        title=" - ".join(text for text in (project.name, project.school) if text),
        day=project.day,
        verdict=plan.verdict.value,
        judged=(
            f"Judged for {project.day}: {verdict_line(plan)}",
            f"Wind {wind}",
            f"Aircraft {aircraft_line(plan)}",
        ),
        cautions=plan.cautions,
        warnings=plan.warnings,
        rule_sets=tuple(f"{one.id}: {one.title}, SHA-256 {one.sha256}" for one in sets),
        sources=tuple(source_as_json(row, project.day) for row in plan.sources),
        project_sha256=project.sha256,
    )


def _source_words(source: dict[str, Any]) -> str:
    files = ", ".join(f"{row['path']} (SHA-256 {row['sha256']})" for row in source["files"])
    ends = f", to {source['expires']}" if source["expires"] else ""
    expired = ", EXPIRED" if source["is_expired"] else ""
    datum = f", heights {source['vertical_datum']}" if source["vertical_datum"] else ""
    return f"{source['kind']}: {files or 'none'}; {source['edition']}{ends}{expired}{datum}"
