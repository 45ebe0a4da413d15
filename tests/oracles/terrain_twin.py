"""Lowest and highest ground of cells, slowly: many places in each cell, by scipy's interpolator."""

import numpy as np
from scipy.interpolate import RegularGridInterpolator


def dense_extremes(heights, lons, lats, grid, frame, places=40):
    """Sampled (lowest, highest) of every cell; the true extremes lie at or outside these.

    `lons` ascend and `lats` descend, as the columns and rows of `heights`. Bilinear interpolation
    by scipy, at places + 1 by places + 1 places of each cell, and at every node inside the cell.
    """
    surface = RegularGridInterpolator(
        (lats[::-1], lons), heights[::-1].astype(float), bounds_error=False, fill_value=np.nan
    )
    lowest = np.full(grid.shape, np.inf)
    highest = np.full(grid.shape, -np.inf)
    steps = np.linspace(0.0, grid.cell_m, places + 1)
    for row in range(grid.rows):
        for col in range(grid.cols):
            x, y = np.meshgrid(
                grid.x_min_m + col * grid.cell_m + steps, grid.y_max_m - row * grid.cell_m - steps
            )
            lon, lat = frame.to_lonlat(x, y)
            values = surface((lat, lon))
            lowest[row, col], highest[row, col] = values.min(), values.max()
    lon, lat = np.meshgrid(lons, lats)
    x, y = frame.to_local(lon, lat)
    rows = np.floor((grid.y_max_m - y) / grid.cell_m).astype(int)
    cols = np.floor((x - grid.x_min_m) / grid.cell_m).astype(int)
    inside = (rows >= 0) & (rows < grid.rows) & (cols >= 0) & (cols < grid.cols)
    for row, col, height in zip(rows[inside], cols[inside], heights[inside], strict=True):
        lowest[row, col] = min(lowest[row, col], height)
        highest[row, col] = max(highest[row, col], height)
    return lowest, highest
