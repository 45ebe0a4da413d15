"""How far a strip stays from the wires, structures and obstacles round it."""

from __future__ import annotations

import math

import numpy as np
import shapely
from shapely.geometry import LineString

from areaplan.engine.strip_table import Strips
from areaplan.planning.field_surrounds import TREES, Surrounds


def nearest_solid(strips: Strips, index: int, width_m: float, near: Surrounds) -> tuple[str, float]:
    """The wire, structure or obstacle nearest to a strip, and how far it is from it.

    Parameters
    ----------
    strips : Strips
    index : int
        Of the landing direction.
    width_m : float
        Of the strip, metres.
    near : Surrounds
        Those looked at; trees are passed over, beside which fields end.

    Returns
    -------
    tuple of str and float
        Its name and the distance in metres, its spread taken off, at least 0; "" and NaN where
        nothing solid is near, or no strip lies there.
    """
    solid = np.flatnonzero([kind != TREES for kind in near.kinds])
    ends = np.array([strips.touchdown_m[index], strips.rollout_m[index]])
    if not solid.size or not strips.length_m[index] > 0.0:
        return "", math.nan
    strip = LineString(ends).buffer(0.5 * width_m, cap_style="flat")
    chosen = near.chosen(solid)
    lines = shapely.linestrings(chosen.features.segments_m.reshape(-1, 2, 2))
    apart_m = np.minimum.reduceat(
        shapely.distance(lines, strip), chosen.features.first_segment[:-1]
    )
    left_m = np.maximum(0.0, apart_m - chosen.features.spread_m)
    first = int(np.argmin(left_m))
    return chosen.names[first], float(left_m[first])
