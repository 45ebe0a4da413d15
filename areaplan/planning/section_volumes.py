"""The published airspace that a vertical section cuts: its limits along the line, no margins."""

from __future__ import annotations

import math

import numpy as np
import shapely
from attrs import frozen

from areaplan.grid import BoolArray, Float64Array, Int16Array
from areaplan.planning.airspace import limit_m
from areaplan.planning.plan import UNKNOWN_FT, Plan, Volume
from areaplan.sources.layers import AirspaceVolume
from areaplan.units import FOOT_M


@frozen(eq=False)
class CutVolume:
    """A volume where a line passes through it. Arrays of shape (n,), one for each sample.

    Attributes
    ----------
    volume : Volume
    is_inside : bool array
        The sample lies in the published outline.
    lower_amsl_ft, upper_amsl_ft : float64 arrays
        Published limits, feet AMSL, those above ground over the highest ground of the cell; minus
        infinity for the surface, infinity for unlimited, NaN where the limit, or the ground that it
        is measured from, is not known.
    """

    volume: Volume
    is_inside: BoolArray
    lower_amsl_ft: Float64Array
    upper_amsl_ft: Float64Array


def cut_volumes(
    plan: Plan, x_m: Float64Array, y_m: Float64Array, terrain_amsl_ft: Int16Array
) -> tuple[CutVolume, ...]:
    """The volumes that samples of a line lie in, in the order of the plan.

    Parameters
    ----------
    plan : Plan
    x_m, y_m : float64 arrays, shape (n,)
        Samples, local metres.
    terrain_amsl_ft : int16 array, shape (n,)
        Highest ground of their cells, feet AMSL.
    """
    rows = {id(row.geometry): row for layer in plan.layers.airspace for row in layer.rows}
    ground_ft = np.where(terrain_amsl_ft == UNKNOWN_FT, np.nan, terrain_amsl_ft).astype(np.float64)
    found = []
    for volume in plan.volumes:
        local = plan.frame.geometry_to_local(volume.geometry)
        is_inside = np.asarray(shapely.intersects_xy(local, x_m, y_m))
        if not is_inside.any():
            continue
        lower_ft, upper_ft = _limits_ft(rows[id(volume.geometry)], plan, ground_ft)
        found.append(CutVolume(volume, is_inside, lower_ft, upper_ft))
    return tuple(found)


def _limits_ft(
    row: AirspaceVolume, plan: Plan, ground_ft: Float64Array
) -> tuple[Float64Array, Float64Array]:
    lower, upper = (
        _limit_ft(*limit_m(limit, plan.project.margins, is_upper=is_upper), ground_ft)
        for limit, is_upper in ((row.lower, False), (row.upper, True))
    )
    return lower, upper


def _limit_ft(value_m: float, is_agl: bool, ground_ft: Float64Array) -> Float64Array:
    if math.isnan(value_m):
        return np.full(ground_ft.shape, np.nan)
    value_ft = value_m / FOOT_M
    return ground_ft + value_ft if is_agl else np.full(ground_ft.shape, value_ft)
