"""Compiled loops of `straight_runs.py`. No checks: the public function has made them."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from areaplan.compiled import compiled

_MOST_LOOKS = 64  # vertices looked along at most for the direction of an arm
_ROUNDING_M = 1e-9
_FALTER_M = 1e-6  # far above rounding in coordinates of a county, far below what matters


@compiled
def _arm_direction(
    node_xy: Any, edge_nodes: Any, first: Any, half: Any, leaving: int, look: float
) -> tuple[float, float]:
    """Unit vector from a node to where its arm is `look` away, or to the arm's next junction."""
    origin = edge_nodes[leaving // 2, leaving % 2]
    dx = dy = far = 0.0
    for _ in range(_MOST_LOOKS):
        node = edge_nodes[leaving // 2, 1 - leaving % 2]
        next_far = math.hypot(
            node_xy[node, 0] - node_xy[origin, 0], node_xy[node, 1] - node_xy[origin, 1]
        )
        if next_far > 0.0:
            dx = (node_xy[node, 0] - node_xy[origin, 0]) / next_far
            dy = (node_xy[node, 1] - node_xy[origin, 1]) / next_far
        far = next_far
        if far >= look or first[node + 1] - first[node] != 2:
            break
        arrived = leaving ^ 1
        leaving = half[first[node]]
        if leaving == arrived:
            leaving = half[first[node] + 1]
    return dx, dy


@compiled
def _bend(ux: float, uy: float, vx: float, vy: float) -> float:
    """Bend of a line that comes in against one direction and leaves in another, radians."""
    return abs(math.atan2(ux * vy - uy * vx, -(ux * vx + uy * vy)))


@compiled
def _is_corner(
    node_xy: Any, edge_nodes: Any, first: Any, half: Any, start: int, look: float,
    greatest_bend: float, sharpest_turn: float,
) -> bool:  # fmt: skip
    """Whether two arms bend at their node and lead to places that lie round a corner."""
    one, other = half[start], half[start + 1]
    ux, uy = _arm_direction(node_xy, edge_nodes, first, half, one, 0.0)
    vx, vy = _arm_direction(node_xy, edge_nodes, first, half, other, 0.0)
    if _bend(ux, uy, vx, vy) <= greatest_bend:
        return False
    ux, uy = _arm_direction(node_xy, edge_nodes, first, half, one, look)
    vx, vy = _arm_direction(node_xy, edge_nodes, first, half, other, look)
    return _bend(ux, uy, vx, vy) > sharpest_turn


@compiled
def pair_arms(
    node_xy: Any, edge_nodes: Any, first: Any, half: Any, look: float, greatest_bend: float,
    sharpest_turn: float,
) -> Any:  # fmt: skip
    """For each half-edge the one at the same node in which the line goes on; -1 where it ends.

    Two arms belong together unless they make a corner: a bend at the node, and a turn between
    where they lead. Of more, those with the least bend do (radians), each arm once.
    """
    partner = np.full(half.size, -1, dtype=np.int64)
    for node in range(first.size - 1):
        start, count = first[node], first[node + 1] - first[node]
        if count == 2 and not _is_corner(
            node_xy, edge_nodes, first, half, start, look, greatest_bend, sharpest_turn
        ):
            partner[half[start]], partner[half[start + 1]] = half[start + 1], half[start]
        if count <= 2:
            continue
        ux, uy = np.empty(count), np.empty(count)
        for k in range(count):
            ux[k], uy[k] = _arm_direction(node_xy, edge_nodes, first, half, half[start + k], look)
        while True:
            least, one, other = greatest_bend, -1, -1
            for a in range(count):
                if partner[half[start + a]] >= 0:
                    continue
                for b in range(a + 1, count):
                    if partner[half[start + b]] >= 0:
                        continue
                    bend = _bend(ux[a], uy[a], ux[b], uy[b])
                    if bend < least or (bend == least and one < 0):
                        least, one, other = bend, a, b
            if one < 0:
                break
            partner[half[start + one]] = half[start + other]
            partner[half[start + other]] = half[start + one]
    return partner


@compiled
def _loop_start(node_xy: Any, edge_nodes: Any, partner: Any, leaving: int) -> int:
    """Half-edge of a closed path that leaves its sharpest bend."""
    sharpest, best, h = -1.0, leaving, leaving
    while True:
        a, b = edge_nodes[h // 2, h % 2], edge_nodes[h // 2, 1 - h % 2]
        following = partner[h ^ 1]
        c = edge_nodes[following // 2, 1 - following % 2]
        x0, y0 = node_xy[b, 0] - node_xy[a, 0], node_xy[b, 1] - node_xy[a, 1]
        x1, y1 = node_xy[c, 0] - node_xy[b, 0], node_xy[c, 1] - node_xy[b, 1]
        bend = abs(math.atan2(x0 * y1 - y0 * x1, x0 * x1 + y0 * y1))
        if bend > sharpest:
            sharpest, best = bend, following
        h = following
        if h == leaving:
            return best


@compiled
def paths_of(node_xy: Any, edge_nodes: Any, partner: Any) -> tuple[Any, Any, Any]:
    """Every edge in one path: nodes of all paths, their edges, first node of each path.

    The edge after node k of path p stands at k - p in the list of edges.
    """
    edges = edge_nodes.shape[0]
    nodes, order = np.empty(2 * edges, dtype=np.int64), np.empty(edges, dtype=np.int64)
    first = np.zeros(edges + 1, dtype=np.int64)
    is_used = np.zeros(edges, dtype=np.bool_)
    node_count = edge_count = path_count = 0
    for turn in range(2):  # open paths from their ends, then closed ones
        for start in range(2 * edges):
            if is_used[start // 2] or (turn == 0 and partner[start] >= 0):
                continue
            h = start if turn == 0 else _loop_start(node_xy, edge_nodes, partner, start)
            while h >= 0 and not is_used[h // 2]:
                is_used[h // 2] = True
                nodes[node_count], order[edge_count] = edge_nodes[h // 2, h % 2], h // 2
                node_count, edge_count = node_count + 1, edge_count + 1
                last = edge_nodes[h // 2, 1 - h % 2]
                h = partner[h ^ 1]
            nodes[node_count] = last
            node_count, path_count = node_count + 1, path_count + 1
            first[path_count] = node_count
    return nodes[:node_count], order, first[: path_count + 1]


@compiled
def _turn(points: Any, a: int, b: int, c: int) -> float:
    """Twice the area of a triangle; positive where it runs counter-clockwise."""
    area: float = (points[b, 0] - points[a, 0]) * (points[c, 1] - points[a, 1]) - (
        points[b, 1] - points[a, 1]
    ) * (points[c, 0] - points[a, 0])
    return area


@compiled
def _ring(points: Any, count: int, ring: Any) -> int:
    """Convex hull, counter-clockwise, of points sorted by x, then y (Andrew's monotone chain).

    Andrew (1979), "Another efficient algorithm for convex hulls in two dimensions".
    """
    if count < 3:
        for k in range(count):
            ring[k] = k
        return count
    size = 0
    for k in range(count):
        while size >= 2 and _turn(points, ring[size - 2], ring[size - 1], k) <= 0.0:
            size -= 1
        ring[size] = k
        size += 1
    lower = size
    for k in range(count - 2, -1, -1):
        while size > lower and _turn(points, ring[size - 2], ring[size - 1], k) <= 0.0:
            size -= 1
        ring[size] = k
        size += 1
    return size - 1  # the last is the first again


@compiled
def _band(points: Any, ring: Any, size: int) -> tuple[float, float, float, float, float]:
    """Narrowest band over a convex ring: half its width, a place on its middle line, direction.

    One side of it lies on an edge (Houle and Toussaint, 1988, "Computing the width of a set").
    """
    first = ring[0]
    if size < 2:
        return 0.0, points[first, 0], points[first, 1], 1.0, 0.0
    if size == 2:
        last = ring[1]
        dx, dy = points[last, 0] - points[first, 0], points[last, 1] - points[first, 1]
        length = math.hypot(dx, dy)
        return 0.0, points[first, 0], points[first, 1], dx / length, dy / length
    least = np.inf
    x = y = ux = uy = 0.0
    apex = 1
    for k in range(size):
        a, b = ring[k], ring[(k + 1) % size]
        dx, dy = points[b, 0] - points[a, 0], points[b, 1] - points[a, 1]
        length = math.hypot(dx, dy)
        dx, dy = dx / length, dy / length
        far = dx * (points[ring[apex], 1] - points[a, 1]) - dy * (
            points[ring[apex], 0] - points[a, 0]
        )
        # Round the ring the distance grows and falls again; where three corners are all but in
        # line, rounding may make it falter on the way up.
        at = apex
        for _ in range(size):
            at = (at + 1) % size
            farther = dx * (points[ring[at], 1] - points[a, 1]) - dy * (
                points[ring[at], 0] - points[a, 0]
            )
            if farther > far:
                apex, far = at, farther
            elif farther < far - _FALTER_M:
                break
        if far < least:
            least = far
            x, y = points[a, 0] - 0.5 * far * dy, points[a, 1] + 0.5 * far * dx
            ux, uy = dx, dy
    return 0.5 * least, x, y, ux, uy


@compiled
def _merged(one: Any, ones: int, other: Any, others: int, into: Any) -> int:
    """Merge two sorted lists of points; of equal ones the first only."""
    a = b = size = 0
    while a < ones or b < others:
        if b >= others or (
            a < ones
            and (one[a, 0] < other[b, 0] or (one[a, 0] == other[b, 0] and one[a, 1] <= other[b, 1]))
        ):
            x, y = one[a, 0], one[a, 1]
            a += 1
        else:
            x, y = other[b, 0], other[b, 1]
            b += 1
        if size == 0 or into[size - 1, 0] != x or into[size - 1, 1] != y:
            into[size, 0], into[size, 1] = x, y
            size += 1
    return size


@compiled
def _hull_with(hull: Any, count: int, x: float, y: float, work: Any, ring: Any, into: Any) -> int:
    """Put one point more into a sorted hull; the sorted hull goes `into`, its size is returned."""
    size, is_in = 0, False
    for k in range(count):
        if not is_in and (hull[k, 0] > x or (hull[k, 0] == x and hull[k, 1] >= y)):
            is_in = True
            work[size, 0], work[size, 1] = x, y
            size += 1
        if hull[k, 0] != x or hull[k, 1] != y:
            work[size, 0], work[size, 1] = hull[k, 0], hull[k, 1]
            size += 1
    if not is_in:
        work[size, 0], work[size, 1] = x, y
        size += 1
    corners = _ring(work, size, ring)
    # Along the ring the positions rise up to the last point and fall again.
    low, high = 0, corners - 1
    for k in range(corners):
        if ring[low] < ring[high]:
            at = ring[low]
            low += 1
        else:
            at = ring[high]
            high -= 1
        into[k, 0], into[k, 1] = work[at, 0], work[at, 1]
    return corners


@compiled
def farthest_ends(xy: Any, tolerance: float) -> Any:
    """For each point of a path the last one up to which all fit into a band.

    The band is 2 `tolerance` wide. The window grows at its end and shrinks at its start, so the
    hull is kept in two stacks: hulls of what runs up to a middle point, from every start, and the
    hull of what came after it.
    """
    # Arrays are copied number by number: an assignment of whole rows takes seconds to compile.
    count = xy.shape[0]
    far = np.empty(count, dtype=np.int64)
    room = count + 2
    work, both, ring = np.empty((room, 2)), np.empty((room, 2)), np.empty(2 * room, dtype=np.int64)
    back, spare = np.empty((room, 2)), np.empty((room, 2))
    store = np.empty((8 * room, 2))
    begins, sizes = np.zeros(count, dtype=np.int64), np.zeros(count, dtype=np.int64)
    middle, backs, end = -1, 0, -1
    has_line = False
    lx = ly = ux = uy = 0.0
    for start in range(count):
        if end < start:
            end, middle, backs = start, start - 1, 1
            back[0, 0], back[0, 1] = xy[start, 0], xy[start, 1]
            has_line = False
        elif start > middle:  # what came after becomes what runs up to a new middle
            middle, backs, top = end, 0, 0
            for k in range(end, start - 1, -1):
                if top + room > store.shape[0]:
                    wider = np.empty((2 * store.shape[0], 2))
                    for row in range(top):
                        wider[row, 0], wider[row, 1] = store[row, 0], store[row, 1]
                    store = wider
                before = store[begins[k + 1] :] if k < end else work
                size = sizes[k + 1] if k < end else 0
                begins[k] = top
                sizes[k] = _hull_with(before, size, xy[k, 0], xy[k, 1], both, ring, store[top:])
                top += sizes[k]
        while end + 1 < count:
            x, y = xy[end + 1, 0], xy[end + 1, 1]
            with_next = _hull_with(back, backs, x, y, work, ring, spare)
            if not (has_line and abs(ux * (y - ly) - uy * (x - lx)) <= tolerance):
                fronts = sizes[start] if start <= middle else 0
                size = _merged(store[begins[start] :], fronts, spare, with_next, both)
                half, lx, ly, ux, uy = _band(both, ring, _ring(both, size, ring))
                has_line = half <= tolerance + _ROUNDING_M
                if not has_line:
                    break
            end += 1
            backs = with_next
            back, spare = spare, back
        if end == count - 1:  # a later start cannot reach less far
            for k in range(start, count):
                far[k] = end
            break
        far[start] = end
    return far


@compiled
def bands_over(xy: Any, first: Any) -> Any:
    """Narrowest band over each group of points, as `_band` gives it.

    The points of a group, from first[i] up to first[i + 1], are different and sorted by x, then y.
    """
    answer = np.empty((first.size - 1, 5))
    ring = np.empty(2 * xy.shape[0] + 2, dtype=np.int64)
    for group in range(first.size - 1):
        points = xy[first[group] : first[group + 1]]
        half, x, y, ux, uy = _band(points, ring, _ring(points, points.shape[0], ring))
        answer[group, 0], answer[group, 1], answer[group, 2] = half, x, y
        answer[group, 3], answer[group, 4] = ux, uy
    return answer


@compiled
def longest_runs(xy: Any, far: Any, first: Any, least: float) -> tuple[Any, Any]:
    """Path of each run, and its first and last position there; longest first in each path.

    `xy` and `far`, what `farthest_ends` gives, are of all paths after one another. Where a path is
    no candidate, its points reach no farther than themselves.
    """
    path, span = np.empty(far.size, np.int64), np.empty((far.size, 2), np.int64)
    stack = np.empty((far.size + 1, 2), dtype=np.int64)
    found = 0
    for p in range(first.size - 1):
        begin = first[p]
        stack[0, 0], stack[0, 1] = 0, first[p + 1] - begin - 1
        depth = 1
        while depth:
            depth -= 1
            low, high = stack[depth, 0], stack[depth, 1]
            best, one, other = -1.0, -1, -1
            for k in range(low, high):
                end = min(far[begin + k], high)
                chord = math.hypot(
                    xy[begin + end, 0] - xy[begin + k, 0], xy[begin + end, 1] - xy[begin + k, 1]
                )
                if chord > best:
                    best, one, other = chord, k, end
            if best < least:
                continue
            path[found], span[found, 0], span[found, 1] = p, one, other
            found += 1
            stack[depth, 0], stack[depth, 1] = low, one
            stack[depth + 1, 0], stack[depth + 1, 1] = other, high
            depth += 2
    return path[:found], span[:found]
