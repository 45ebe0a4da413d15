"""Where a glide may end: the fields that count, laid on the grid, and why the others don't."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from attrs import evolve, frozen

from areaplan.engine.features import FeatureSet
from areaplan.engine.standoff import cells_inside_index
from areaplan.grid import Float32Array, Int16Array
from areaplan.planning.candidates import Candidates, measured_candidates, unconfirmed_caution
from areaplan.planning.field_measure import measure_fields
from areaplan.planning.ground import Ground
from areaplan.planning.layers import Layers
from areaplan.planning.measured import MeasuredField
from areaplan.planning.plan import NOBODY
from areaplan.planning.project import Project


@frozen(eq=False)
class Arrivals:
    """The ends of all glides.

    Attributes
    ----------
    measured : tuple of MeasuredField
        All fields, in the order that indices mean, those that don't count too.
    field_of : int16 array of the grid's shape
        Which field that counts a cell wholly lies in; NOBODY where none.
    amsl_m : float32 array of the grid's shape
        Altitude at which the glide may end; infinity where there is no field that counts.
    warnings : tuple of str
        Fields that do not count, and why.
    candidates : Candidates
        What land cover proposes; those that count are in `measured` too, after the drawn ones.
    """

    measured: tuple[MeasuredField, ...]
    field_of: Int16Array
    amsl_m: Float32Array
    warnings: tuple[str, ...]
    candidates: Candidates = Candidates()  # noqa: RUF009 - it is frozen


def find_arrivals(project: Project, layers: Layers, ground: Ground) -> Arrivals:
    """Measure the fields and lay those that count on the grid."""
    drawn = [row for layer in layers.fields for row in layer.rows]
    measured = measure_fields(project, layers, ground, drawn, is_candidate=False)
    candidates = measured_candidates(project, layers, ground)
    laid = lay_arrivals((*measured, *candidates.counting), project, ground)
    return evolve(
        laid,
        candidates=candidates,
        warnings=(*unconfirmed_caution(laid.measured), *laid.warnings, *candidates.notes),
    )


def lay_arrivals(measured: Sequence[MeasuredField], project: Project, ground: Ground) -> Arrivals:
    """Lay the fields that count on the grid.

    A field in which no cell wholly lies, or some cell's ground is unknown, stops counting.
    """
    shape = ground.grid.shape
    if not measured:
        nowhere = np.full(shape, np.inf, dtype=np.float32)
        return Arrivals((), np.full(shape, NOBODY, dtype=np.int16), nowhere, ("no field is drawn",))
    counting = np.array([i for i, row in enumerate(measured) if row.counts], dtype=np.intp)
    local = [ground.frame.geometry_to_local(measured[i].field.geometry) for i in counting]
    inside = cells_inside_index(ground.grid, FeatureSet.from_geometries(local, 0.0))
    # Cells outside take the extra last entry: -1 counts from the end.
    index = np.append(counting, NOBODY)[inside]
    is_field = index != NOBODY
    top = np.full(len(measured), -np.inf)
    highest = ground.highest_amsl_m[is_field]
    # A field with unknown ground anywhere in it becomes infinitely high: nobody arrives there.
    np.maximum.at(top, index[is_field], np.where(np.isnan(highest), np.inf, highest))
    amsl_m = np.full(shape, np.inf, dtype=np.float32)
    amsl_m[is_field] = (top + project.margins.arrival_height_m)[index[is_field]]
    final = tuple(_with_cells(row, float(top[i])) for i, row in enumerate(measured))
    is_counted = np.array([row.counts for row in final] + [False])
    field_of = np.where(is_counted[index], index, NOBODY).astype(np.int16)
    return Arrivals(final, field_of, amsl_m, _left_out(final))


def _with_cells(row: MeasuredField, top_amsl_m: float) -> MeasuredField:
    if not row.counts or np.isfinite(top_amsl_m):
        return row
    reason = (
        "unknown ground: it is not known throughout the field"
        if top_amsl_m > 0.0
        else "no cell: none of the grid lies wholly in it and in no other field (grid.cell)"
    )
    return evolve(row, counts=False, why_not=(reason,))


def _left_out(measured: Sequence[MeasuredField]) -> tuple[str, ...]:
    """One sentence for each gravest reason, with the fields and their figures."""
    by_head: dict[str, list[str]] = {}
    for row in measured:
        if row.counts or row.is_candidate:
            continue  # candidates are many, and listed by themselves
        head, _, figures = row.why_not[0].partition(": ")
        by_head.setdefault(head, []).append(f"{row.field.name} ({figures})")
    return tuple(
        f"fields that do not count, {head}: {', '.join(names)}" for head, names in by_head.items()
    )
