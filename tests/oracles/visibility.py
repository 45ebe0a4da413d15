"""Exact glides over flat ground between walls too high to cross: a visibility graph in wind.

Continuous geometry, nothing of cells or moves: the quickest way past straight-sided walls bends
only at their corners (its pieces are straight, since in a steady wind time is a norm of the
displacement, lopsided but convex), and ends at the place of a field that the wind makes nearest.
Height lost is sink times that time. Places are metres (x east, y north); walls and fields are
boxes (west, south, east, north). Walls are open sets: a way may lie along their sides.

What is left out makes it lower, never higher: fields are entered on any side and at any place.
"""

import heapq

import numpy as np

SLACK = 1e-7


def flight_time(way, speed, wind):
    """Least time for displacements (..., 2): the root of |way - wind t| = speed t."""
    slow = speed**2 - wind @ wind
    along = way @ wind
    return (np.sqrt(along**2 + slow * (way**2).sum(axis=-1)) - along) / slow


def onto_box(places, box, speed, wind):
    """Place of a box reached first from each of some places, and the time: bisection on it.

    At time t all places within speed t of the place that the wind has drifted to are in reach.
    """
    low, high = np.array(box[:2]), np.array(box[2:])
    early = np.zeros(len(places))
    late = flight_time(np.clip(places, low, high) - places, speed, wind)
    for _ in range(60):
        middle = 0.5 * (early + late)
        drifted = places + middle[:, np.newaxis] * wind
        is_there = np.hypot(*(np.clip(drifted, low, high) - drifted).T) <= speed * middle
        late, early = np.where(is_there, middle, late), np.where(is_there, early, middle)
    drifted = places + late[:, np.newaxis] * wind
    return np.clip(drifted, low, high), late


def is_clear(starts, ends, walls):
    """Whether straight ways keep out of the inside of all walls: slabs, one wall at a time."""
    clear = np.ones(len(starts), bool)
    way = ends - starts
    for west, south, east, north in walls:
        enter, leave = np.zeros(len(starts)), np.ones(len(starts))
        for axis, (low, high) in enumerate(((west, east), (south, north))):
            low, high = low + SLACK, high - SLACK
            still = np.abs(way[:, axis]) < SLACK / 100.0  # what divides by less overflows
            inside = (starts[:, axis] > low) & (starts[:, axis] < high)
            safe = np.where(still, 1.0, way[:, axis])
            first, second = (low - starts[:, axis]) / safe, (high - starts[:, axis]) / safe
            near, far = np.minimum(first, second), np.maximum(first, second)
            enter = np.maximum(enter, np.where(still, np.where(inside, -np.inf, np.inf), near))
            leave = np.minimum(leave, np.where(still, np.inf, far))
        clear &= ~(enter < leave)
    return clear


def times_to_fields(places, fields, walls, speed, wind):
    """Least time from each place to any field; infinity where walls shut all off."""
    corners = np.array([(x, y) for w, s, e, n in walls for x in (w, e) for y in (s, n)])
    corners = corners.reshape(-1, 2)
    nodes = np.concatenate([places, corners])
    best = np.full(len(nodes), np.inf)
    for field in fields:
        target, time = onto_box(nodes, field, speed, wind)
        best = np.where(is_clear(nodes, target, walls), np.minimum(best, time), best)
    if not len(corners):
        return best
    first = len(places)
    here, there = (axis.ravel() for axis in np.indices((len(nodes), len(corners))))
    clear = is_clear(nodes[here], corners[there], walls).reshape(len(nodes), -1)
    hops = flight_time(corners[np.newaxis] - nodes[:, np.newaxis], speed, wind)
    hops = np.where(clear, hops, np.inf)
    # Dijkstra's algorithm from the fields outwards, over the corners.
    queue = [(time, i) for i, time in enumerate(best[first:].tolist()) if np.isfinite(time)]
    heapq.heapify(queue)
    settled = np.full(len(corners), np.inf)
    while queue:
        time, i = heapq.heappop(queue)
        if time >= settled[i]:
            continue
        settled[i] = time
        for j in range(len(corners)):
            through = hops[first + j, i] + time
            if through < settled[j]:
                heapq.heappush(queue, (through, j))
    return np.minimum(best[:first], (hops[:first] + settled).min(axis=1))
