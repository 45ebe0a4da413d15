"""Compiled loops of `strips.py` over the ground. No checks: the public function has made them."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from areaplan.compiled import compiled

NOISE = 1e-6  # of a cell: a strip that ends on the last row of middles has known ground


@compiled
def height_at(middle: Any, row: float, col: float) -> float:
    """Ground between the middles of four cells; NaN where one is unknown or off the grid."""
    last_row, last_col = middle.shape[0] - 1, middle.shape[1] - 1
    if last_row < 1 or last_col < 1:
        return np.nan
    if not (-NOISE <= row <= last_row + NOISE and -NOISE <= col <= last_col + NOISE):
        return np.nan
    i = min(max(math.floor(row), 0), last_row - 1)
    j = min(max(math.floor(col), 0), last_col - 1)
    s, t = row - i, col - j
    upper = middle[i, j] * (1.0 - t) + middle[i, j + 1] * t
    lower = middle[i + 1, j] * (1.0 - t) + middle[i + 1, j + 1] * t
    height: float = upper * (1.0 - s) + lower * s
    return height


@compiled
def ground_along(
    middle: Any, relief: Any, x0: float, y0: float, x1: float, y1: float, width: float,
    cell: float, stretch: int,
) -> tuple[float, float, float]:  # fmt: skip
    """Slope, steepest slope and roughness of a strip.

    Its ends are metres east and south of the north-west corner of `middle`, the ground at the
    middles of cells; `relief` is how much it varies in each. Samples lie half a cell apart; a
    stretch is so many of them.
    """
    length = math.hypot(x1 - x0, y1 - y0)
    ex, ey = (x1 - x0) / length, (y1 - y0) / length
    count = max(3, math.ceil(length / (0.5 * cell)) + 1)
    across = max(3, math.ceil(width / (0.5 * cell)) + 1)
    profile = np.zeros(count)
    heights = np.empty((count, across))
    varies = np.empty((count, across))
    step, side = length / (count - 1), width / (across - 1)
    rise = tilt = mean = 0.0
    for k in range(count):
        for m in range(across):
            offset = -0.5 * width + m * side
            x, y = x0 + ex * k * step + ey * offset, y0 + ey * k * step - ex * offset
            row, col = y / cell, x / cell
            heights[k, m] = height_at(middle, row - 0.5, col - 0.5)
            if math.isnan(heights[k, m]):
                return np.nan, np.nan, np.nan
            varies[k, m] = relief[int(row), int(col)]
            profile[k] += heights[k, m] / across
            rise += (k - 0.5 * (count - 1)) * heights[k, m]
            tilt += offset * heights[k, m]
            mean += heights[k, m] / (count * across)
    # Least squares on a regular lattice: the sums of squares are those of even steps.
    rise /= across * step * count * (count * count - 1) / 12.0
    tilt /= count * side * side * across * (across * across - 1) / 12.0
    plain = (abs(rise * ex + tilt * ey) + abs(rise * ey - tilt * ex)) * cell
    scatter = 0.0
    for k in range(count):
        for m in range(across):
            along = (k - 0.5 * (count - 1)) * step
            off = heights[k, m] - mean - rise * along - tilt * (m * side - 0.5 * width)
            # What the cell varies by beyond the plane's own slope, half either way.
            hidden = 0.5 * max(0.0, varies[k, m] - plain)
            scatter += off * off + hidden * hidden
    steepest = abs(rise)
    for k in range(count):
        for other in range(k + stretch, min(k + 2 * stretch, count)):
            steepest = max(steepest, abs(profile[other] - profile[k]) / ((other - k) * step))
    return rise, steepest, math.sqrt(scatter / (count * across))
