"""Worst class of the pixels under a cell, one polygon at a time."""

import numpy as np
import shapely

LEAST_SHARE = 1e-5  # of a pixel: less is the rounding of the coordinates


def worst_ranks(ranks, matrix, grid, frame, to_file):
    """Rank of each cell: 0 if any pixel under it is 0, else -1 if any is unknown, else the worst.

    `ranks` are those of the pixels, -1 unknown; `matrix` takes column, row, 1 to the coordinates of
    the file; `to_file` takes longitude and latitude there. Beyond the file all is unknown.
    """
    rows, cols = ranks.shape
    inverse = np.linalg.inv(np.vstack([matrix, [0.0, 0.0, 1.0]]))
    answer = np.empty(grid.shape, dtype=int)
    for i in range(grid.rows):
        for j in range(grid.cols):
            x = grid.x_min_m + grid.cell_m * (j + np.array([0, 1, 1, 0]))
            y = grid.y_max_m - grid.cell_m * (i + np.array([0, 0, 1, 1]))
            fx, fy = to_file(*frame.to_lonlat(x, y))
            u, v, _ = inverse @ np.vstack([fx, fy, np.ones(4)])
            cell = shapely.Polygon(np.column_stack([u, v]))
            found = []
            for row in range(int(np.floor(v.min())), int(np.ceil(v.max()))):
                for col in range(int(np.floor(u.min())), int(np.ceil(u.max()))):
                    if (
                        cell.intersection(shapely.box(col, row, col + 1, row + 1)).area
                        > LEAST_SHARE
                    ):
                        is_inside = 0 <= row < rows and 0 <= col < cols
                        found.append(int(ranks[row, col]) if is_inside else -1)
            answer[i, j] = 0 if 0 in found else -1 if -1 in found else max(found)
    return answer
