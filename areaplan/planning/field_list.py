"""The fields of a project without its area: measured, ranked, and whether any counts."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
from attrs import frozen

from areaplan.geodesy import LocalFrame
from areaplan.planning.arrivals import find_arrivals
from areaplan.planning.cautions import cautions_for, out_of_date
from areaplan.planning.measured import MeasuredField
from areaplan.planning.plan import Verdict
from areaplan.planning.project import Project
from areaplan.planning.reading import read_layers
from areaplan.sources.layers import SourceRecord


@frozen(eq=False)
class FieldList:
    """Fields, each list in the order of `rank_fields`.

    Attributes
    ----------
    project : Project
    frame : LocalFrame
        Of the strips' places.
    fields : tuple of MeasuredField
        Drawn or confirmed by a person.
    candidates : tuple of MeasuredField
        Proposed by land cover, whether they count or not.
    verdict : Verdict
        MET where at least one field counts, UNKNOWN where none does and no ground is known.
    sources : tuple of SourceRecord
        Of the fields, the land cover and the ground.
    warnings, cautions : tuple of str
    """

    project: Project
    frame: LocalFrame
    fields: tuple[MeasuredField, ...]
    candidates: tuple[MeasuredField, ...]
    verdict: Verdict
    sources: tuple[SourceRecord, ...]
    warnings: tuple[str, ...]
    cautions: tuple[str, ...]


def list_fields(project: Project, progress: Callable[[str], None]) -> FieldList:
    """Read a project and measure its fields in its wind.

    Parameters
    ----------
    project : Project
    progress : callable
        Told in a few words what is being done.

    Raises
    ------
    InputError
        A source is unusable; with the faults of all sources.
    """
    layers, ground = read_layers(project, progress)
    progress("measuring fields")
    arrivals = find_arrivals(project, layers, ground)
    drawn = [row for row in arrivals.measured if not row.is_candidate]
    proposed = [row for row in arrivals.measured if row.is_candidate]
    records = (
        layers.terrain.record,
        *(layer.record for layer in layers.fields),
        *(layer.record for layer in layers.land_cover),
    )
    return FieldList(
        project=project,
        frame=ground.frame,
        fields=rank_fields(drawn),
        candidates=rank_fields([*proposed, *arrivals.candidates.others]),
        verdict=_verdict(arrivals.measured, bool(np.isnan(ground.highest_amsl_m).all())),
        sources=records,
        warnings=(
            *out_of_date(project, records),
            *arrivals.warnings,
            *(f"{record.kind}: {note}" for record in records for note in record.notes),
        ),
        cautions=cautions_for(project, arrivals.measured),
    )


def best_index(row: MeasuredField) -> int | None:
    """Index of the direction that speaks for a field; None where no strip lies in it.

    The best direction where one is enough, else that of the greatest usable over needed length.
    """
    if row.best_direction_deg_true is not None:
        return row.best_direction_deg_true // 10
    if not (row.strips.length_m > 0.0).any():
        return None
    return int(np.argmax(row.strips.usable_m / np.asarray(row.needed_m)))


def usable_over_needed(row: MeasuredField) -> float:
    """Usable length over needed length in the direction that speaks for a field; 0 where none."""
    index = best_index(row)
    return 0.0 if index is None else float(row.strips.usable_m[index] / row.needed_m[index])


def rank_fields(rows: Sequence[MeasuredField]) -> tuple[MeasuredField, ...]:
    """Sort fields: those that count, then those long, level and smooth enough, then the others.

    Among equals candidates go by the rank of their land cover, then all by usable over needed
    length, the greatest first.
    """
    return tuple(
        sorted(
            rows,
            key=lambda row: (
                not row.counts,
                row.best_direction_deg_true is None,
                row.field.cover_rank,
                -usable_over_needed(row),
                row.field.name,
            ),
        )
    )


def _verdict(measured: Sequence[MeasuredField], is_dark: bool) -> Verdict:
    if any(row.counts for row in measured):
        return Verdict.MET
    return Verdict.UNKNOWN if is_dark else Verdict.NOT_MET
