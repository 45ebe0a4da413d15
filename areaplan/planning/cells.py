"""From surfaces in metres to what each cell answers in whole feet, on the cautious side."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import Any, Final

import numpy as np
from attrs import frozen
from numpy.typing import NDArray

from areaplan.engine.bands import Bands
from areaplan.grid import BoolArray, Float64Array, Int16Array, Int32Array
from areaplan.planning.airspace import BlockingVolume
from areaplan.planning.choice import GlideNeed
from areaplan.planning.glide import Glide
from areaplan.planning.ground import Ground
from areaplan.planning.limits import RuleSurface
from areaplan.planning.plan import (
    NO_BAND_FT,
    NO_LIMIT_FT,
    NOBODY,
    UNKNOWN_FT,
    UNREACHABLE_FT,
    Binder,
    Cells,
    Limit,
)
from areaplan.rules.model import Severity
from areaplan.units import FOOT_M

GROUND_NAME: Final = "ground"
GROUND_LIMIT: Final = Limit(
    rule="areaplan-ground",
    title="No rule asks for a height here but the ground itself",
    severity=Severity.LAW,
    quote="",
    document="no sentence: nothing flies below the ground",
)
_SLACK_FT: Final = 1e-6  # as in units.feet_up: float64 noise is no foot


@frozen(eq=False)
class LegalFloor:
    """The highest of all binding floors, and who sets it.

    Attributes
    ----------
    amsl_m : float64 array
        Never below the ground; +inf where closed, NaN where some rule or the ground can't tell.
    binder : int32 array
        Index into `binders`; NOBODY where the floor is unknown.
    binders : tuple of Binder
    """

    amsl_m: Float64Array
    binder: Int32Array
    binders: tuple[Binder, ...]


def feet_up_array(value_m: NDArray[Any]) -> Int16Array:
    """Whole feet at or above; NaN to UNKNOWN_FT, beyond the range to UNREACHABLE_FT."""
    return _in_feet(value_m, np.ceil, -_SLACK_FT, UNREACHABLE_FT)


def feet_down_array(value_m: NDArray[Any]) -> Int16Array:
    """Whole feet at or below; NaN to UNKNOWN_FT, beyond the range to NO_LIMIT_FT."""
    return _in_feet(value_m, np.floor, _SLACK_FT, NO_LIMIT_FT)


def _in_feet(
    value_m: NDArray[Any],
    whole: Callable[[Float64Array], Float64Array],
    slack_ft: float,
    beyond_ft: int,
) -> Int16Array:
    """Row by row of the first axis: float64 copies of all sectors at once would fill memory."""
    answer = np.empty(value_m.shape, dtype=np.int16)
    for target, values in zip(answer, value_m, strict=True):
        feet = whole(values.astype(np.float64) / FOOT_M + slack_ft)
        clipped = np.clip(feet, -32000.0, float(beyond_ft))
        target[...] = np.where(np.isnan(feet), float(UNKNOWN_FT), clipped)
    return answer


def highest_floor(
    surfaces: Iterable[RuleSurface], ground: Ground, is_in_area: BoolArray
) -> tuple[LegalFloor, tuple[RuleSurface, ...]]:
    """Combine the surfaces of law and policy; the earlier rule names itself on a tie.

    Where no rule asks for a height (open water, sparse country away from everything) the ground
    itself is the floor. Advisories ask, they do not bind.

    Returns
    -------
    floor : LegalFloor
    over_area : tuple of RuleSurface
        All surfaces, advisories too, over the cells of the area alone.
    """
    amsl_m = ground.highest_amsl_m
    code = np.zeros(ground.grid.shape, dtype=np.int64)
    binders = [Binder(GROUND_LIMIT, GROUND_NAME)]
    over_area = []
    for surface in surfaces:
        over_area.append(surface.over(is_in_area))
        if surface.limit.severity is Severity.ADVISORY:
            continue
        is_higher = surface.floor_amsl_m > amsl_m
        # Slot 0 of a surface is the ground itself, then its features.
        code[is_higher] = len(binders) + 1 + surface.feature[is_higher]
        amsl_m = np.maximum(amsl_m, surface.floor_amsl_m)  # NaN stays NaN: unknown
        binders += [Binder(surface.limit, name) for name in (GROUND_NAME, *surface.names)]
    code[np.isnan(amsl_m)] = NOBODY
    kept, inverse = np.unique(code[code != NOBODY], return_inverse=True)
    binder = np.full(ground.grid.shape, NOBODY, dtype=np.int32)
    binder[code != NOBODY] = inverse.astype(np.int32)
    return LegalFloor(amsl_m, binder, tuple(binders[i] for i in kept)), tuple(over_area)


def answer_cells(
    ground: Ground,
    floor: LegalFloor,
    bands: Bands,
    blocking: Sequence[BlockingVolume],
    glide: Glide,
    need: GlideNeed,
    is_in_area: BoolArray,
) -> tuple[Cells, tuple[Binder, ...]]:
    """Assemble the cells in whole feet and the table of binders that they index."""
    is_unknown = np.isnan(floor.amsl_m) | bands.is_unknown | np.isnan(ground.highest_amsl_m)
    binders = floor.binders + tuple(Binder(row.limit, row.name) for row in blocking)
    glide_binder = np.where(need.binder == NOBODY, NOBODY, need.binder + len(binders))
    floor_ft = feet_up_array(floor.amsl_m)
    floor_ft[is_unknown] = UNKNOWN_FT
    cells = Cells(
        terrain_amsl_ft=feet_up_array(ground.highest_amsl_m),
        legal_floor_amsl_ft=floor_ft,
        legal_floor_binder=np.where(is_unknown, np.int32(NOBODY), floor.binder),
        bands_amsl_ft=_bands_ft(bands, is_unknown),
        bands_binder=_bands_binder(bands, floor, is_unknown),
        is_legal_unknown=is_unknown,
        glide_required_amsl_ft=feet_up_array(need.amsl_m),
        glide_binder=glide_binder.astype(np.int32),
        sector_amsl_ft=feet_up_array(glide.sector_amsl_m),
        sector_field=glide.sector_field,
        field=glide.field,
        is_in_area=is_in_area,
    )
    return cells, binders + need.binders


def _bands_ft(bands: Bands, is_unknown: BoolArray) -> Int16Array:
    """Edges in feet: floors up, ceilings down; bands that hold no whole foot vanish."""
    floor = feet_up_array(bands.edges_m[:, 0])
    ceiling = feet_down_array(bands.edges_m[:, 1])
    is_empty = (
        np.isnan(bands.edges_m[:, 0]) | (ceiling < floor) | (floor == UNREACHABLE_FT) | is_unknown
    )
    edges = np.stack([floor, ceiling], axis=1)
    edges[np.broadcast_to(is_empty[:, None], edges.shape)] = NO_BAND_FT
    return edges


def _bands_binder(bands: Bands, floor: LegalFloor, is_unknown: BoolArray) -> Int32Array:
    """Volumes come after the binders of the floor in the table; -1 of the engine is the floor."""
    by = bands.by.astype(np.int32)
    binder = np.where(by >= 0, by + len(floor.binders), np.int32(NOBODY))
    is_floor = by[:, 0] == NOBODY
    binder[:, 0] = np.where(is_floor, floor.binder, binder[:, 0])
    is_empty = np.isnan(bands.edges_m) | is_unknown
    return np.where(is_empty, np.int32(NOBODY), binder)
