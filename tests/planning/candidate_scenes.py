"""Countries with one meadow, and what the tests of candidates measure on them."""

import numpy as np
import shapely

from areaplan.planning.project_file import read_project
from areaplan.planning.reading import read_layers
from tests.planning.covered_country import (
    PASTURE,
    bare_country,
    patches,
    with_cover,
)

ROUNDING_M = 1e-3
GRAVEST = "not confirmed"


def silent(_):
    pass


def scene(path):
    project = read_project(path)
    return project, *read_layers(project, silent)


def cell_boxes(grid):
    west, north = np.meshgrid(
        grid.x_min_m + np.arange(grid.cols) * grid.cell_m,
        grid.y_max_m - np.arange(grid.rows) * grid.cell_m,
    )
    return shapely.box(west, north - grid.cell_m, west + grid.cell_m, north)


def local_of(ground, fields):
    return [ground.frame.geometry_to_local(field.geometry) for field in fields]


def one_meadow(folder, heights_m=None):
    return with_cover(bare_country(folder, heights_m), patches((PASTURE, -500, -300, 500, 300)))
