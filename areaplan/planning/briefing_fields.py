"""The fields that the glides of an area lead to, and from how much of it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np
from attrs import frozen
from numpy.typing import NDArray

from areaplan.planning.briefing_places import Place, Surveyor
from areaplan.planning.measured import MeasuredField
from areaplan.planning.plan import NOBODY, UNKNOWN_FT, Plan

LISTED: Final = 12  # a dozen are learnt by heart; a convention of ours


@frozen(eq=False)
class ServingField:
    """A field with the share of the area that it serves.

    Attributes
    ----------
    measured : MeasuredField
    place : Place
        A point well inside it.
    shares : tuple of float
        For each planned altitude the share of the area's cells from which the glide that leaves in
        at least one of the twelve sectors, no turn counted, leads to this field.
    """

    measured: MeasuredField
    place: Place
    shares: tuple[float, ...]


@frozen(eq=False)
class Serving:
    """The fields that serve most of the area.

    Attributes
    ----------
    altitudes_amsl_ft : tuple of int
        The planned ones, ascending.
    rows : tuple of ServingField
        At most `LISTED`: those with the greatest sum of their shares, the greatest first.
    others : int
        How many more fields serve some of the area.
    together : tuple of float
        For each planned altitude the share of the area from which at least one sector leads to one
        of `rows`.
    """

    altitudes_amsl_ft: tuple[int, ...]
    rows: tuple[ServingField, ...]
    others: int
    together: tuple[float, ...]


def serving_fields(plan: Plan, survey: Surveyor) -> Serving:
    """Count, for every field, the cells of the area with a sector whose glide leads to it.

    A sector counts where its own glide reaches the field from the planned altitude; whether the
    turn towards it is within height as well is not in it. Each sector leads to one field only, the
    one that asks for the least height.
    """
    altitudes = tuple(row.altitude_amsl_ft for row in plan.planned)
    pairs = [_pairs(plan, altitude) for altitude in altitudes]
    cells = int(plan.cells.is_in_area.sum())
    counts = [np.bincount(field, minlength=len(plan.fields)) for _, field in pairs]
    total = np.stack(counts).sum(axis=0)
    order = sorted(
        np.flatnonzero(total).tolist(), key=lambda one: (-int(total[one]), plan.fields[one].name)
    )
    chosen = order[:LISTED]
    return Serving(
        altitudes_amsl_ft=altitudes,
        rows=tuple(
            ServingField(
                plan.measured[index],
                survey.middle(plan.fields[index].geometry),
                tuple(int(count[index]) / cells for count in counts),
            )
            for index in chosen
        ),
        others=len(order) - len(chosen),
        together=tuple(_cells_led_to(chosen, *pair) / cells for pair in pairs),
    )


_Indices = NDArray[np.int64]


def _pairs(plan: Plan, altitude_ft: int) -> tuple[_Indices, _Indices]:
    """Cells of the area and the fields that their sectors lead to, each pair once."""
    inside = plan.cells.is_in_area
    sector_ft = plan.cells.sector_amsl_ft[:, inside]
    field = plan.cells.sector_field[:, inside].astype(np.int64)
    is_reached = (sector_ft != UNKNOWN_FT) & (sector_ft <= altitude_ft) & (field != NOBODY)
    _, cell = np.nonzero(is_reached)
    many = max(1, len(plan.fields))
    once = np.unique(cell * many + field[is_reached])
    return once // many, once % many


def _cells_led_to(chosen: Sequence[int], cell: _Indices, field: _Indices) -> int:
    return int(np.unique(cell[np.isin(field, np.asarray(chosen, dtype=np.int64))]).size)
