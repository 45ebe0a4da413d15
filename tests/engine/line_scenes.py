"""Line work made at random, and ways to say the same again in other words."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import shapely


def wandering(stream, lines=5, vertices=12, step_m=90.0, spread_m=500.0):
    """Lines that wander on from random places, on whole millimetres."""
    made = []
    for _ in range(lines):
        turns = np.cumsum(stream.normal(0.0, 0.12, vertices)) + stream.uniform(0.0, 2 * np.pi)
        steps = stream.uniform(0.4, 1.6, vertices)[:, np.newaxis] * step_m
        xy = np.cumsum(np.stack([np.cos(turns), np.sin(turns)], axis=1) * steps, axis=0)
        made.append(shapely.LineString(np.round(xy + stream.uniform(-1, 1, 2) * spread_m, 3)))
    return made


def split_and_shuffled(lines, stream):
    """The same lines cut at random vertices, some turned round, in another order."""
    parts = []
    for line in lines:
        xy = shapely.get_coordinates(line)
        cuts = [0, *sorted(set(stream.integers(1, len(xy) - 1, 2).tolist())), len(xy) - 1]
        for first, last in pairwise(cuts):
            piece = xy[first : last + 1]
            parts.append(shapely.LineString(piece[::-1] if stream.random() < 0.5 else piece))
    stream.shuffle(parts)
    return parts


def moved(geometries, angle_deg, dx_m, dy_m):
    """Turned round the origin and shifted."""
    cos, sin = np.cos(np.radians(angle_deg)), np.sin(np.radians(angle_deg))
    turn = np.array([[cos, sin], [-sin, cos]])
    return [shapely.transform(one, lambda xy: xy @ turn + (dx_m, dy_m)) for one in geometries]


def section_grid(sides, side_m, stream=None, wiggle_m=0.0, step_m=25.0):
    """Roads of a square grid, each a line of many vertices that meets the others in vertices."""
    per_side = round(side_m / step_m)
    along = np.arange(sides * per_side + 1) * (side_m / per_side)
    lines = []
    for k in range(sides + 1):
        for is_north in (False, True):
            off = np.zeros(along.size)
            if stream is not None:
                smooth = np.convolve(stream.normal(size=along.size + 20), np.ones(21), "valid")
                off = wiggle_m * smooth / np.abs(smooth).max()
                off[::per_side] = 0.0
            xy = np.stack([along, k * side_m + off], axis=1)
            lines.append(shapely.LineString(xy[:, ::-1] if is_north else xy))
    return lines
