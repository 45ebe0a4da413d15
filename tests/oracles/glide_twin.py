"""The glide surfaces once more, slowly and by other means.

Cells under a move come from shapely, groundspeed from the quadratic of the wind triangle, the
surfaces from Dijkstra's algorithm in whole numbers, one cell at a time, with no order of rows or
columns. Nothing here is imported from the engine.
"""

import heapq
import math
from functools import cache

import numpy as np
import shapely

STEPS_PER_M = 2048
LIMIT_STEPS = 8192 * STEPS_PER_M


def stencil():
    """Steps (south, east) of all moves up to four cells along each axis, none twice as far."""
    return [
        (south, east)
        for south in range(-4, 5)
        for east in range(-4, 5)
        if (south, east) != (0, 0) and all(south % part or east % part for part in range(2, 5))
    ]


def bearing_deg(move):
    south, east = move
    return (90.0 - math.degrees(math.atan2(-south, east))) % 360.0


def in_cone(move, sector, half_width_deg=33.0):
    off = math.cos(math.radians(bearing_deg(move) - 30.0 * sector))
    return off >= math.cos(math.radians(half_width_deg)) - 1e-12


@cache
def cells_under(move):
    """Cells met with some area by the first cell's square as it slides: {cell: share when left}.

    Shares are multiples of 1/24, so looking half-way between finds them exactly.
    """
    south, east = move
    ticks = (np.arange(24) + 0.5) / 24.0
    squares = shapely.box(
        east * ticks - 0.5, south * ticks - 0.5, east * ticks + 0.5, south * ticks + 0.5
    )
    under = {}
    for row in range(min(0, south), max(0, south) + 1):
        for col in range(min(0, east), max(0, east) + 1):
            cell = shapely.box(col - 0.5, row - 0.5, col + 0.5, row + 0.5)
            met = np.flatnonzero(shapely.area(shapely.intersection(squares, cell)) > 1e-9)
            if met.size and (row, col) != (south, east):
                under[row, col] = (int(met[-1]) + 1) / 24.0
    return under


def groundspeed(track_deg, horizontal_mps, wind_mps, wind_from_deg):
    """Greater root g of |g u - w| = V, with u along the track and w the wind; None without one."""
    u = np.array([math.sin(math.radians(track_deg)), math.cos(math.radians(track_deg))])
    w = -wind_mps * np.array(
        [math.sin(math.radians(wind_from_deg)), math.cos(math.radians(wind_from_deg))]
    )
    half = float(u @ w)
    under_root = half**2 + horizontal_mps**2 - wind_mps**2
    if under_root < 0.0:
        return None
    root = half + math.sqrt(under_root)
    return root if root > 0.0 else None


def loss_per_metre(track_deg, tas_mps, ratio, wind_mps, wind_from_deg):
    slope = math.atan(1.0 / ratio)
    speed = groundspeed(track_deg, tas_mps * math.cos(slope), wind_mps, wind_from_deg)
    return math.inf if speed is None else tas_mps * math.sin(slope) / speed


def required(surface, arrival, cell_m, per_metre, sector):
    """Steps of height that cells need in a sector, those with no way left out.

    Once for any first move of the cone, once for first moves within 15 degrees of its centre.
    `per_metre` maps each move to its loss. Dijkstra's algorithm from the fields outwards: a cell
    is settled when no unsettled one is lower, since every move costs height.
    """
    rows, cols = surface.shape

    def up(value):
        return math.ceil(float(value) * STEPS_PER_M)

    heights = {
        (r, c): up(surface[r, c])
        for r in range(rows)
        for c in range(cols)
        if math.isfinite(surface[r, c])
    }
    queue = [
        (max(up(arrival[cell]), height), cell)
        for cell, height in heights.items()
        if math.isfinite(arrival[cell])
    ]
    heapq.heapify(queue)
    moves = [move for move in stencil() if in_cone(move, sector) and per_metre[move] < math.inf]
    settled = {}
    ahead = {cell: height for height, cell in queue if height < LIMIT_STEPS}
    while queue:
        height, (row, col) = heapq.heappop(queue)
        if (row, col) in settled or height >= LIMIT_STEPS:
            continue
        settled[row, col] = height
        for move in moves:
            here = (row - move[0], col - move[1])
            if here not in heights:
                continue
            loss = per_metre[move] * math.hypot(*move) * cell_m
            need = max(height + up(loss), heights[here])
            for (south, east), share in cells_under(move).items():
                top = heights.get((here[0] + south, here[1] + east), LIMIT_STEPS)
                need = max(need, top + up(loss * share))
            heapq.heappush(queue, (need, here))
            if in_cone(move, sector, 15.0) and need < ahead.get(here, LIMIT_STEPS):
                ahead[here] = need
    return settled, ahead
