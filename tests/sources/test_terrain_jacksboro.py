"""A real elevation model under real obstacles: the ground that the FAA's file implies."""

from pathlib import Path

import matplotlib.cbook
import numpy as np
import pytest

from areaplan.geodesy import LocalFrame
from areaplan.grid import Grid
from areaplan.sources.obstacles import read_obstacles
from tests.sources.jacksboro import NORTH, POST_DEG, jacksboro_heights, jacksboro_terrain
from tests.sources.making import spec_of

FILE = Path(__file__).parent.parent / "authorities" / "faa_obstacles_jacksboro.dat"
CELL_M = 40.0
# The model's stated accuracy is 16 m at 90 % (SRTM mission goal, from memory): a standard deviation
# of 10 m. Obstacles here are coded within 50 ft horizontally and 20 ft vertically.
MODEL_SIGMA_M = 10.0


def ground_differences_m(terrain):
    """Ground under each obstacle of the file, published less modelled; NaN outside the model."""
    frame = LocalFrame(36.3, -84.245)
    grid = Grid.covering(-16_000.0, -17_000.0, 16_000.0, 48_000.0, CELL_M)
    got = terrain.on_grid(grid, frame)
    middle_m = (got.lowest_amsl_m + got.highest_amsl_m) / 2.0
    differences = []
    for obstacle in read_obstacles(spec_of("obstacles", FILE)).rows:
        cell = grid.cell_of(*frame.to_local(obstacle.lon, obstacle.lat))
        differences.append(obstacle.top_amsl_m - obstacle.top_agl_m - middle_m[cell])
    return np.array(differences)


def test_the_model_lies_where_the_obstacles_say():
    differences = ground_differences_m(jacksboro_terrain())
    over = differences[np.isfinite(differences)]
    assert over.size == 13
    assert np.isnan(differences).sum() == 3  # the rows north of the model
    assert abs(over.mean()) < MODEL_SIGMA_M / np.sqrt(over.size)
    assert over.std() < MODEL_SIGMA_M


def test_with_the_box_that_the_file_states_nothing_fits():
    with matplotlib.cbook.get_sample_data("jacksboro_fault_dem.npz") as data:
        # "ymin" is printed above "ymax": the labels are wrong on their face.
        assert data["ymin"] > data["ymax"]
        stated_north = float(data["ymin"])
    differences = ground_differences_m(jacksboro_terrain(stated_north))
    over = differences[np.isfinite(differences)]
    assert over.size == 3
    assert over.std() > 10 * MODEL_SIGMA_M


@pytest.mark.parametrize("posts", [-4, 4])
def test_a_few_posts_off_is_already_worse(posts):
    right = ground_differences_m(jacksboro_terrain())
    moved = ground_differences_m(jacksboro_terrain(NORTH + posts * POST_DEG))
    assert np.nanstd(moved) > 1.5 * np.nanstd(right)


def test_the_extremes_of_the_model_survive():
    """Over the whole model the highest cell is the highest post, and the lowest the lowest."""
    heights = jacksboro_heights()
    frame = LocalFrame(36.3, -84.245)
    grid = Grid.covering(-16_500.0, -17_000.0, 16_500.0, 17_500.0, 50.0)
    got = jacksboro_terrain().on_grid(grid, frame)
    assert np.nanmax(got.highest_amsl_m) == heights.max() == 1076
    assert np.nanmin(got.lowest_amsl_m) == heights.min() == 236
    is_known = ~np.isnan(got.highest_amsl_m)
    assert (got.highest_amsl_m[is_known] >= got.lowest_amsl_m[is_known]).all()
    area_km2 = is_known.sum() * 0.05**2
    # 344 by 403 pixels of 3": 31.8 km by 30.1 km (111.0 km and 89.8 km to a degree at 36.3 N).
    assert area_km2 == pytest.approx(344 * 403 * POST_DEG**2 * 111.0 * 89.8, rel=0.01)
