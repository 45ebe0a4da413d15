"""Compiled loops of `rectangles.py`. No checks: the public function has made them."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from areaplan.compiled import compiled


@compiled
def faces_of_area(
    node_xy: Any, edge_nodes: Any, following: Any, smallest: float, largest: float
) -> tuple[Any, Any, Any]:
    """Half-edges round every face whose area lies in a range, face by face, and the areas."""
    halves = following.size
    is_seen = np.zeros(halves, dtype=np.bool_)
    rounds, first = np.empty(halves, dtype=np.int64), np.zeros(halves + 1, dtype=np.int64)
    areas = np.empty(halves)
    size = faces = 0
    for start in range(halves):
        if is_seen[start]:
            continue
        origin = edge_nodes[start // 2, start % 2]
        ox, oy = node_xy[origin, 0], node_xy[origin, 1]
        twice, h, end = 0.0, start, size
        while not is_seen[h]:
            is_seen[h] = True
            a, b = edge_nodes[h // 2, h % 2], edge_nodes[h // 2, 1 - h % 2]
            twice += (node_xy[a, 0] - ox) * (node_xy[b, 1] - oy) - (node_xy[b, 0] - ox) * (
                node_xy[a, 1] - oy
            )
            rounds[end] = h
            end += 1
            h = following[h]
        if smallest <= 0.5 * twice <= largest:
            areas[faces] = 0.5 * twice
            faces, size = faces + 1, end
            first[faces] = size
    return rounds[:size], first[: faces + 1], areas[:faces]


@compiled
def least_rectangles(xy: Any, first: Any) -> Any:
    """Smallest rectangle round each convex ring: middle, direction of a side, its half, the other.

    One side of it lies on an edge of the ring (Freeman and Shapira, 1975, "Determining the
    minimum-area encasing rectangle for an arbitrary closed curve").
    """
    answer = np.empty((first.size - 1, 6))
    for ring in range(first.size - 1):
        begin, end = first[ring], first[ring + 1]
        least = np.inf
        for k in range(begin, end - 1):
            ux, uy = xy[k + 1, 0] - xy[k, 0], xy[k + 1, 1] - xy[k, 1]
            length = math.hypot(ux, uy)
            if length == 0.0:
                continue
            ux, uy = ux / length, uy / length
            low_u = low_v = np.inf
            high_u = high_v = -np.inf
            for m in range(begin, end - 1):
                dx, dy = xy[m, 0] - xy[k, 0], xy[m, 1] - xy[k, 1]
                u, v = dx * ux + dy * uy, dy * ux - dx * uy
                low_u, high_u = min(low_u, u), max(high_u, u)
                low_v, high_v = min(low_v, v), max(high_v, v)
            area = (high_u - low_u) * (high_v - low_v)
            if area < least:
                least = area
                u, v = 0.5 * (low_u + high_u), 0.5 * (low_v + high_v)
                answer[ring, 0] = xy[k, 0] + u * ux - v * uy
                answer[ring, 1] = xy[k, 1] + u * uy + v * ux
                answer[ring, 2], answer[ring, 3] = ux, uy
                answer[ring, 4] = 0.5 * (high_u - low_u)
                answer[ring, 5] = 0.5 * (high_v - low_v)
    return answer
