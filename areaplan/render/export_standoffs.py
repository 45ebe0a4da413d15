"""The ground that standoffs close at one altitude, as outlines: what the map draws, for export."""

from __future__ import annotations

import math
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from areaplan.planning.plan import Plan, Standoff
from areaplan.render.export_table import Table
from areaplan.units import FOOT_M, feet_text

_QUARTER_STEPS: Final = 16  # corners in a quarter of a circle
# Corners of a buffer lie on its circle and its edges inside: grown so that the edges touch it.
_OUTWARD: Final = 1.0 / math.cos(math.pi / (4 * _QUARTER_STEPS))
_NOTE: Final = (
    "never smaller than the distance, and under 0.2 % larger; those of kind level hold only over "
    "the ground that their rule names; the classes of the cells are what counts"
)


def standoff_radius_m(
    standoff: Standoff, top_amsl_m: float, spread_m: float, altitude_amsl_m: float
) -> float:
    """How far a thing closes the ground round itself at an altitude; see `Standoff`.

    Parameters
    ----------
    standoff : Standoff
    top_amsl_m : float
        NaN unknown: taken as above everything.
    spread_m : float
        How much nearer it may stand, metres.
    altitude_amsl_m : float

    Returns
    -------
    float
        Metres; 0 where it closes nothing.
    """
    reach_m = standoff.radius_m + spread_m
    above_m = altitude_amsl_m - top_amsl_m
    if standoff.profile == "level":
        return 0.0 if above_m >= standoff.height_m else reach_m
    if above_m >= standoff.radius_m:
        return 0.0
    if not above_m > 0.0:  # NaN too
        return reach_m
    return math.sqrt(standoff.radius_m**2 - above_m**2) + spread_m


def standoff_table(plan: Plan, altitude_amsl_ft: int) -> Table:
    """Outlines of the ground closed round each thing at an altitude.

    Parameters
    ----------
    plan : Plan
    altitude_amsl_ft : int
        Whole feet above mean sea level.
    """
    columns = {
        "name": str,
        "rule": str,
        "title": str,
        "severity": str,
        "kind": str,
        "altitude_amsl_ft": int,
        "radius_m": float,
        "is_top_known": bool,
    }
    rows: list[tuple[str | int | float | bool, ...]] = []
    shapes: list[BaseGeometry] = []
    for one in plan.standoffs:
        for geometry, name, top_m, spread_m in zip(
            one.geometries, one.names, one.top_amsl_m.tolist(), one.spread_m.tolist(), strict=True
        ):
            radius_m = standoff_radius_m(one, top_m, spread_m, altitude_amsl_ft * FOOT_M)
            if radius_m > 0.0:
                limit = one.limit
                words = (name, limit.rule, limit.title, limit.severity.value, one.profile)
                known = not math.isnan(top_m)
                rows.append((*words, altitude_amsl_ft, math.ceil(radius_m * 100) / 100, known))
                shapes.append(_buffer(plan, geometry, radius_m))
    return Table.of(
        f"standoffs_{altitude_amsl_ft}_ft_amsl",
        f"Standoffs at {feet_text(altitude_amsl_ft)} AMSL",
        columns,
        rows,
        shapes,
        style="standoffs",
        note=_NOTE,
    )


def _buffer(plan: Plan, geometry: BaseGeometry, radius_m: float) -> BaseGeometry:
    local = plan.frame.geometry_to_local(geometry)
    grown = shapely.buffer(local, radius_m * _OUTWARD, quad_segs=_QUARTER_STEPS)

    def to_lonlat(xy: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.column_stack(plan.frame.to_lonlat(xy[:, 0], xy[:, 1]))

    return shapely.transform(grown, to_lonlat)
