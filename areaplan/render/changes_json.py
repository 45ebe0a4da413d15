"""Two results compared, as JSON: the keys that other programs may rely on."""

from __future__ import annotations

from typing import Any, Final

from cattrs.preconf.json import make_converter

from areaplan.planning.changes import Changes, FindingChange
from areaplan.planning.plan import Finding
from areaplan.planning.result import Result

_PLAIN: Final = make_converter()


def changes_as_json(changes: Changes) -> dict[str, Any]:
    """Everything that changed as plain values; heights in whole feet, shares from 0 to 1."""
    overlay = changes.overlay
    return {
        "verdict": changes.verdict.value,
        "worse": list(changes.worse),
        "unknown": list(changes.unknown),
        "is_same": changes.is_same,
        "notes": list(changes.notes),
        "old": _side(changes.old),
        "new": _side(changes.new),
        "shares": _PLAIN.unstructure(changes.shares),
        "cells": _PLAIN.unstructure(changes.classes),
        "surfaces": _PLAIN.unstructure(changes.surfaces),
        "findings": [_finding_change(row) for row in changes.findings],
        "things": _PLAIN.unstructure(changes.things),
        "rules": _PLAIN.unstructure(changes.rules),
        "settings": list(changes.settings),
        "sources": _PLAIN.unstructure(changes.sources),
        "cautions": list(changes.new.cautions),
        "compared": {
            "new_area_share": overlay.new_area_share,
            "old_area_share": overlay.old_area_share,
            "is_same_grid": overlay.is_same_grid,
        },
    }


def _side(result: Result) -> dict[str, Any]:
    return {
        "project": result.project.name,
        "path": result.project.path,
        "project_sha256": result.project.sha256,
        "day": result.project.day.isoformat(),
        "verdict": result.verdict.value,
        "block": _PLAIN.unstructure(result.block),
        "areaplan_version": result.version,
        "saved_result": _PLAIN.unstructure(result.saved),
    }


def _finding_change(row: FindingChange) -> dict[str, Any]:
    told = row.told
    return {
        "rule": told.limit.rule,
        "title": told.limit.title,
        "altitude_amsl_ft": told.altitude_amsl_ft,
        "is_worse": row.is_worse,
        "gained_ft": row.gained_ft,
        "before": _finding(row.before),
        "after": _finding(row.after),
    }


def _finding(finding: Finding | None) -> dict[str, Any] | None:
    if finding is None:
        return None
    return {
        "verdict": finding.verdict.value,
        "margin_ft": finding.margin_ft,
        "lat": finding.lat,
        "lon": finding.lon,
        "feature": finding.feature,
        "share_met": finding.share_met,
    }
