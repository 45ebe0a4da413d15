"""A wall one cell thick is flown through at no angle, even where cells meet at corners only."""

import math
from itertools import pairwise

import numpy as np
import pytest

from areaplan.engine.glide import sector_surfaces
from areaplan.engine.moves import move_losses

SIZE = 41
CELL_M = 25.0
WALL_M = 3000.0
LOSSES = move_losses((33.0, 35.0), 9.0, 7.0, 250.0)


def _bresenham(r0, c0, r1, c1):
    """Cells of a line, neighbours often touching only at a corner (Bresenham 1965)."""
    dr, dc = abs(r1 - r0), -abs(c1 - c0)
    step_r, step_c = (1 if r1 > r0 else -1), (1 if c1 > c0 else -1)
    error, cells = dr + dc, []
    while True:
        cells.append((r0, c0))
        if (r0, c0) == (r1, c1):
            return cells
        twice = 2 * error
        if twice >= dc:
            error, r0 = error + dc, r0 + step_r
        if twice <= dr:
            error, c0 = error + dr, c0 + step_c


def _edge_joined(cells):
    """The same line with a cell added at each corner, so that neighbours share an edge."""
    joined = cells[:1]
    for r, c in cells[1:]:
        if r != joined[-1][0] and c != joined[-1][1]:
            joined.append((r, joined[-1][1]))
        joined.append((r, c))
    return joined


def _required(wall, is_field):
    surface = np.where(wall, np.float32(WALL_M), np.float32(10.0))
    arrival = np.where(is_field, np.float32(100.0), np.float32(np.inf))
    return sector_surfaces(surface, arrival, CELL_M, LOSSES, threads=1).required_amsl_m


@pytest.mark.parametrize("angle_deg", range(0, 180, 2))
@pytest.mark.parametrize("join", [list, _edge_joined], ids=["corners", "edges"])
def test_wall_across_the_country(angle_deg, join):
    """All of one side is field; nobody on the other side gets there below the wall's top."""
    middle, far = SIZE // 2, 3 * SIZE
    r, c = (round(far * f(math.radians(angle_deg))) for f in (math.sin, math.cos))
    wall = np.zeros((SIZE, SIZE), bool)
    for row, col in join(_bresenham(middle - r, middle - c, middle + r, middle + c)):
        if 0 <= row < SIZE and 0 <= col < SIZE:
            wall[row, col] = True
    rows, cols = np.indices(wall.shape)
    side = (rows - middle) * c - (cols - middle) * r
    beyond, is_field = (side > 0) & ~wall, (side < 0) & ~wall
    required = _required(wall, is_field)
    assert beyond.sum() > 300
    # The best of the sectors leaves a cell next to the wall at its top and the height lost there.
    assert required[:, beyond].min() > WALL_M
    assert np.all(required[:, is_field] == 100.0)
    assert np.isfinite(required[:, beyond]).any(axis=0).all()


@pytest.mark.parametrize("sides", [3, 4, 5, 8])
@pytest.mark.parametrize("turn_deg", range(0, 120, 7))
def test_ring_round_a_field(sides, turn_deg):
    """From outside a closed ring the field is reached over its top or not at all."""
    middle, radius = SIZE // 2, 13
    wall = np.zeros((SIZE, SIZE), bool)
    angles = np.radians(turn_deg + 360.0 * np.arange(sides + 1) / sides)
    corners = [
        (middle + round(radius * math.sin(a)), middle + round(radius * math.cos(a)))
        for a in angles
    ]  # fmt: skip
    for begin, end in pairwise(corners):
        for cell in _bresenham(*begin, *end):
            wall[cell] = True
    outside = _flooded(~wall)
    is_field = np.zeros_like(wall)
    is_field[middle - 1 : middle + 2, middle - 1 : middle + 2] = True
    required = _required(wall, is_field)
    assert not outside[middle, middle]
    assert outside.sum() > 500
    assert required[:, outside].min() > WALL_M


def _flooded(is_open):
    """Open cells joined to the first corner by edges."""
    reached = np.zeros_like(is_open)
    todo = [(0, 0)]
    while todo:
        r, c = todo.pop()
        if 0 <= r < SIZE and 0 <= c < SIZE and is_open[r, c] and not reached[r, c]:
            reached[r, c] = True
            todo += [(r + 1, c), (r - 1, c), (r, c + 1), (r, c - 1)]
    return reached
