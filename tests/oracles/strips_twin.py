"""The longest strip by brute force: turn the field, slide a band across it, look for the gaps.

Shapely alone; slow and obviously right. For each sideways offset the band is cut out of the field;
what it fails to cover is projected on the landing direction, and the widest gap between is the
longest strip at that offset.
"""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import shapely
from shapely import affinity


def turned(geometry, landing_deg):
    """Turned so that landing on the bearing goes along +x."""
    return affinity.rotate(geometry, landing_deg - 90.0, origin=(0, 0))


def gaps(band, clear):
    """Open intervals of x in which the band (a box) lies wholly in the clear ground."""
    west, _, east, _ = band.bounds
    missing = band.difference(clear)
    parts = [part for part in shapely.get_parts(missing) if part.area > 1e-9]
    ends = sorted((part.bounds[0], part.bounds[2]) for part in parts)
    reached, found = west, []
    for start, end in ends:
        if start > reached:
            found.append((reached, start))
        reached = max(reached, end)
    if east > reached:
        found.append((reached, east))
    return found


def longest_at(clear, y, width_m):
    """Longest strip whose band runs from y to y + width."""
    west, _, east, _ = clear.bounds
    band = shapely.box(west - 1.0, y, east + 1.0, y + width_m)
    return max((end - start for start, end in gaps(band, clear)), default=0.0)


def longest(clear, landing_deg, width_m, step_m):
    """A strip that exists, and a length that none exceeds, over all offsets.

    Between two offsets a step apart every strip holds the band that both share; the longest gap
    in that is no less than the length of any of them.
    """
    ground = turned(clear, landing_deg)
    _, south, _, north = ground.bounds
    if north - south < width_m - 1e-9:
        return 0.0, 0.0
    corners = shapely.get_coordinates(ground)[:, 1]
    count = max(2, math.ceil((north - width_m - south) / step_m) + 1)
    tried = np.concatenate([np.linspace(south, north - width_m, count), corners, corners - width_m])
    tried = np.unique(tried[(tried >= south - 1e-12) & (tried <= north - width_m + 1e-12)])
    if not tried.size:
        tried = np.array([south])
    is_there = max(longest_at(ground, y, width_m) for y in tried)
    none_exceeds = is_there
    for low, high in pairwise(tried):
        if high - low < width_m:
            none_exceeds = max(none_exceeds, longest_at(ground, high, width_m - (high - low)))
    return is_there, none_exceeds


def strip_box(strips, index, width_m):
    """The strip of a measured direction as a polygon."""
    line = shapely.LineString([strips.touchdown_m[index], strips.rollout_m[index]])
    return line.buffer(width_m / 2, cap_style="flat")
