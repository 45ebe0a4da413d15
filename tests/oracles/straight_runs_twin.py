"""Slow twin of straight runs: shapely nodes the lines, every stretch of every path is measured.

Obviously right rather than fast: a stretch is straight if, square to the direction between some two
of its vertices, all of them lie within twice the tolerance (one side of the narrowest band over
points runs through two of them).
"""

from __future__ import annotations

import math
from collections import defaultdict
from itertools import combinations, pairwise

import numpy as np
import shapely


def band_width(points):
    """Least width of a band over points, by trying the direction between every two of them."""
    points = np.unique(np.asarray(points), axis=0)
    if len(points) < 3:
        return 0.0
    widths = []
    for a, b in combinations(points, 2):
        side = np.array([-(b - a)[1], (b - a)[0]]) / np.hypot(*(b - a))
        across = points @ side
        widths.append(across.max() - across.min())
    return min(widths)


def arms_of(lines):
    """Neighbours of every node, once shapely has noded the lines."""
    neighbours = defaultdict(set)
    for part in shapely.get_parts(shapely.unary_union(lines)):
        xy = [tuple(place) for place in shapely.get_coordinates(part).tolist()]
        for a, b in pairwise(xy):
            neighbours[a].add(b)
            neighbours[b].add(a)
    return neighbours


def _direction(neighbours, node, arm, look):
    before, at = node, arm
    while math.dist(node, at) < look and len(neighbours[at]) == 2:
        onward = next(one for one in neighbours[at] if one != before)
        before, at = at, onward
    return math.atan2(at[1] - node[1], at[0] - node[0])


def _bend(one, other):
    return abs(math.remainder(one - other + math.pi, math.tau))


def _partners(neighbours, look, greatest_bend):
    """For each arm (node, neighbour) the neighbour in which the line goes on."""
    goes_on = {}
    for node, around in neighbours.items():
        if len(around) == 2:
            one, other = around
            if all(
                _bend(
                    _direction(neighbours, node, one, far), _direction(neighbours, node, other, far)
                )
                > most
                for far, most in ((0.0, greatest_bend), (look, math.radians(60.0)))
            ):
                continue
            goes_on[node, one], goes_on[node, other] = other, one
            continue
        heading = {arm: _direction(neighbours, node, arm, look) for arm in around}
        bends = sorted((_bend(heading[a], heading[b]), a, b) for a, b in combinations(around, 2))
        for bend, a, b in bends:
            if bend <= greatest_bend and (node, a) not in goes_on and (node, b) not in goes_on:
                goes_on[node, a], goes_on[node, b] = b, a
    return goes_on


def paths_of(neighbours, look, greatest_bend):
    """Open paths only: the scenes of the tests have no loop without an end."""
    goes_on = _partners(neighbours, look, greatest_bend)
    paths, done = [], set()
    for node, around in neighbours.items():
        for arm in around:
            if (node, arm) in goes_on or frozenset((node, arm)) in done:
                continue
            path = [node, arm]
            while (path[-1], path[-2]) in goes_on:
                path.append(goes_on[path[-1], path[-2]])
            done |= {frozenset(pair) for pair in pairwise(path)}
            paths.append(path)
    return paths


def runs_of_path(path, tolerance, least):
    """(first, last) of each run of a path: the longest chord, then the longest of what remains."""
    count = len(path)
    far = []
    for first in range(count):
        last = first
        while last + 1 < count and band_width(path[first : last + 2]) <= 2 * tolerance + 2e-9:
            last += 1
        far.append(last)
    runs, todo = [], [(0, count - 1)]
    while todo:
        low, high = todo.pop()
        choices = [
            (math.dist(path[one], path[min(far[one], high)]), one, min(far[one], high))
            for one in range(low, high)
        ]
        if choices and max(choices)[0] >= least:
            _, one, other = max(choices)
            runs.append((one, other))
            todo += [(low, one), (other, high)]
    return runs


def straight_runs_twin(lines, least, tolerance, greatest_bend_deg):
    """Chord lengths of all runs, longest first, and half the bands over them."""
    neighbours = arms_of(lines)
    found = []
    for path in paths_of(neighbours, 2.0 * tolerance, math.radians(greatest_bend_deg)):
        for one, other in runs_of_path(path, tolerance, least):
            half = 0.5 * band_width(path[one : other + 1])
            found.append((math.dist(path[one], path[other]), half))
    return sorted(found, reverse=True)
