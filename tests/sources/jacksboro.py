"""A real piece of SRTM, 3 seconds of arc, that comes with matplotlib's sample data.

The `ymin` and `ymax` of the file are one box too far north. Its true box, against which the ground
under the obstacles of the FAA's file agrees, is 36.15958-36.44625 N, 84.41375-84.07792 W: the outer
edges of the pixels, whose centres are the posts.
"""

import matplotlib.cbook
import numpy as np

from areaplan.sources.layers import SourceKind, SourceRecord
from areaplan.sources.terrain import Terrain

POST_DEG = 3.0 / 3600.0
NORTH, WEST = 36.44625, -84.41375
SOURCE = "jacksboro_fault_dem.npz of matplotlib's sample data (SRTM, public domain)"


def jacksboro_heights():
    """Heights in metres, row 0 in the north."""
    with matplotlib.cbook.get_sample_data("jacksboro_fault_dem.npz") as data:
        return np.array(data["elevation"])


def jacksboro_terrain(north_edge=NORTH):
    """The model as a `Terrain`; `north_edge` moves it, to show that the place matters."""
    heights = jacksboro_heights()
    rows, cols = heights.shape
    north, west = north_edge - POST_DEG / 2, WEST + POST_DEG / 2
    record = SourceRecord(
        SourceKind.TERRAIN, (SOURCE,), ("",), "SRTM 3 arc-seconds", vertical_datum="EGM96"
    )
    return Terrain.from_array(
        heights,
        west=west,
        south=north - (rows - 1) * POST_DEG,
        east=west + (cols - 1) * POST_DEG,
        north=north,
        record=record,
    )
