"""Where in the area something lies, as people say it: which side, and how far from which corner."""

from __future__ import annotations

import math
from enum import StrEnum
from typing import Final

import numpy as np
import shapely
from attrs import frozen

from areaplan.geodesy import distance_and_bearing
from areaplan.grid import BoolArray, Grid
from areaplan.planning.briefing_places import Corner, Surveyor
from areaplan.sources._environment import load_rasterio

# Nearer to the middle than this share of the radius of a circle as large as the area, a place is
# told as lying in the middle; a convention of ours.
_MIDDLE: Final = 0.25


class Side(StrEnum):
    """A side of the area, seen from its middle; sectors of 45 degrees, from north clockwise."""

    NORTH = "north"
    NORTH_EAST = "north-east"
    EAST = "east"
    SOUTH_EAST = "south-east"
    SOUTH = "south"
    SOUTH_WEST = "south-west"
    WEST = "west"
    NORTH_WEST = "north-west"
    MIDDLE = "middle"


_ROUND: Final = tuple(side for side in Side if side is not Side.MIDDLE)


@frozen
class Spot:
    """A place in the area and the corner nearest to it.

    Attributes
    ----------
    side : Side
        From the middle of the area (the centroid of the drawn polygon); MIDDLE near it.
    corner : Corner
        The nearest, straight on the ground.
    corner_distance_m : float
        To it along the geodesic.
    """

    side: Side
    corner: Corner
    corner_distance_m: float


@frozen(eq=False)
class Spotter:
    """Tells spots of one area from its corners."""

    survey: Surveyor
    corners: tuple[Corner, ...]

    def spot(self, lat: float, lon: float) -> Spot:
        """The spot of a place, degrees WGS 84."""
        frame, area = self.survey.frame, self.survey.area
        x_m, y_m = (float(one) for one in frame.to_local(lon, lat))
        rows = [
            (distance_and_bearing(lat, lon, one.place.lat, one.place.lon)[0], one)
            for one in self.corners
        ]
        distance_m, corner = min(rows, key=lambda row: (row[0], row[1].number))
        east_m, north_m = x_m - area.centroid.x, y_m - area.centroid.y
        side = Side.MIDDLE
        if math.hypot(east_m, north_m) >= _MIDDLE * math.sqrt(area.area / math.pi):
            side = side_towards(math.degrees(math.atan2(east_m, north_m)))
        return Spot(side, corner, distance_m)

    def outermost(self) -> tuple[tuple[Side, Corner], ...]:
        """The corners farthest to the north-west, north-east, south-east and south-west.

        One that is farthest two ways is told once, by the first of them.
        """
        ways = (
            (Side.NORTH_WEST, -1, 1),
            (Side.NORTH_EAST, 1, 1),
            (Side.SOUTH_EAST, 1, -1),
            (Side.SOUTH_WEST, -1, -1),
        )
        lon = [one.place.lon for one in self.corners]
        lat = [one.place.lat for one in self.corners]
        x_m, y_m = self.survey.frame.to_local(np.asarray(lon), np.asarray(lat))
        found: dict[int, tuple[Side, Corner]] = {}
        for side, east, north in ways:
            at = int(np.argmax(east * np.asarray(x_m) + north * np.asarray(y_m)))
            found.setdefault(at, (side, self.corners[at]))
        return tuple(found.values())


def side_towards(bearing_deg_true: float) -> Side:
    """The side that a bearing from the middle points to."""
    return _ROUND[round(bearing_deg_true / 45.0) % 8]


def largest_patches(
    is_there: BoolArray, grid: Grid, *, least_share: float, most: int
) -> tuple[tuple[shapely.Point, float], ...]:
    """The largest of the patches that cells form, cells that touch at a corner being of one patch.

    Parameters
    ----------
    is_there : bool array of the grid's shape
        At least one cell True.
    grid : Grid
    least_share : float
        Patches after the first are left out where they hold less of the cells that are True.
    most : int
        How many patches at most.

    Returns
    -------
    tuple of (middle, share)
        The centroid of each, local metres, and its share of all the cells that are True, above 0
        to 1; the largest first, of equals that farther to the north, then west.
    """
    load_rasterio()
    from rasterio import features
    from rasterio.transform import from_origin

    corner = from_origin(grid.x_min_m, grid.y_max_m, grid.cell_m, grid.cell_m)
    rings = features.shapes(
        is_there.astype(np.uint8), mask=is_there, connectivity=8, transform=corner
    )
    patches = [shapely.geometry.shape(ring) for ring, _ in rings]
    patches.sort(key=lambda one: (-one.area, -one.bounds[3], one.bounds[0]))
    cells_m2 = float(is_there.sum()) * grid.cell_m**2
    rows = [(one.centroid, min(1.0, float(one.area) / cells_m2)) for one in patches[:most]]
    return tuple(row for row in rows if row is rows[0] or row[1] >= least_share)
