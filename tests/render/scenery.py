"""Invented country for the map's tests: ground, fields, area, and what every cell answers there."""

from __future__ import annotations

import numpy as np
import shapely
from shapely import affinity

from areaplan.geodesy import LocalFrame
from areaplan.planning.plan import (
    NO_BAND_FT,
    NO_LIMIT_FT,
    NOBODY,
    UNKNOWN_FT,
    UNREACHABLE_FT,
    Cells,
)
from areaplan.units import FOOT_M

FRAME = LocalFrame(lat=45.5, lon=-35.25)
HOSTILE_NAMES = (
    "</script><script>window.broken=1</script>",
    "<img src=x onerror=window.broken=1> \"double\" 'single' & more",
    "line\u2028and\u2029paragraph {{ 7*7 }} {% raw %} @@POLICY@@",
    "\u202egnihton yas ot\u202c \u200f\u05e9\u05d3\u05d4 \u05d9\u05e8\u05d5\u05e7",
    "<!--<script> -->]]> \\u003c \\ `${7*7}`",
)


def lonlat(geometry):
    """A geometry in local metres as longitude and latitude."""
    return shapely.transform(
        geometry, lambda xy: np.column_stack(FRAME.to_lonlat(xy[:, 0], xy[:, 1]))
    )


def box(x_m, y_m, width_m, height_m, turn_deg=0.0):
    shape = shapely.box(
        x_m - width_m / 2, y_m - height_m / 2, x_m + width_m / 2, y_m + height_m / 2
    )
    return affinity.rotate(shape, turn_deg)


AREA_M = shapely.Polygon(
    [(-4200, -3300), (-3000, 2800), (600, 3600), (4300, 2500), (4700, -1500), (1200, -3700)]
)
FIELDS_M = (
    ("Long Meadow", box(-2600, -900, 180, 620, 20)),
    (HOSTILE_NAMES[0], box(1400, 1500, 160, 700, -35)),
    ("River flat", box(3300, -400, 150, 560, 80)),
    ("Old strip", box(-600, 3000, 120, 800, 60)),
    (HOSTILE_NAMES[3], box(-5200, 2400, 200, 500, 0)),
    ("South stubble", box(600, -2500, 240, 480, 10)),
    ("Two halves", shapely.MultiPolygon([box(5200, 3900, 200, 500), box(5700, 3900, 200, 500)])),
)


def terrain_ft(x_m, y_m):
    hills = (
        600
        + 260 * np.exp(-(((x_m - 1500) / 1800) ** 2 + ((y_m + 300) / 1300) ** 2))
        + 420 * np.exp(-(((x_m + 6000) / 2500) ** 2 + ((y_m - 4500) / 2600) ** 2))
        + 40 * np.sin(x_m / 700) * np.cos(y_m / 900)
        - 0.012 * y_m
    )
    return np.ceil(hills)


def _floor(terrain, x_m, y_m, structures):
    """Legal floor in feet and its binder: 500 ft above ground, structures, a quiet place."""
    floor = terrain + 500
    binder = np.zeros(terrain.shape, dtype=np.int32)
    for index, (shape, top_ft) in enumerate(structures[:40]):
        centre = shape.centroid
        distance_ft = np.hypot(x_m - centre.x, y_m - centre.y) / FOOT_M
        slant = np.where(
            distance_ft < 500, top_ft + np.sqrt(np.maximum(0, 500**2 - distance_ft**2)), -9e9
        )
        is_higher = slant > floor
        floor = np.where(is_higher, np.ceil(slant), floor)
        binder[is_higher] = 1 + index
    quiet = np.hypot(x_m + 1200, y_m - 1500) < 2000 * FOOT_M
    floor = np.where(quiet & (floor < 1700), 1700, floor)
    binder[quiet & (floor == 1700)] = 41
    return floor, binder


def _glide(terrain, x_m, y_m, fields):
    """Twelve sectors and the worst heading of a straight glide at 7.2 : 1; not the real engine."""
    cost = []
    for _, shape in fields:
        nearest = shape.centroid
        dx, dy = nearest.x - x_m, nearest.y - y_m
        distance_ft = np.hypot(dx, dy) / FOOT_M
        feet = 620 + 300 + distance_ft / 7.2
        bearing = np.degrees(np.arctan2(dx, dy)) % 360
        cost.append((feet, bearing))
    sector = np.full((12, *terrain.shape), float(UNREACHABLE_FT))
    label = np.full((12, *terrain.shape), NOBODY)
    for k in range(12):
        for index, (feet, bearing) in enumerate(cost):
            off = np.abs((bearing - 30 * k + 180) % 360 - 180)
            need = np.maximum(
                np.ceil(feet / np.cos(np.radians(np.minimum(off, 60)))), terrain + 100
            )
            is_better = (off <= 45) & (need < sector[k])
            sector[k] = np.where(is_better, need, sector[k])
            label[k] = np.where(is_better, index, label[k])
    required = np.full(terrain.shape, -9e9)
    for heading in range(12):
        best = np.full(terrain.shape, float(UNREACHABLE_FT))
        for k in range(12):
            turn = abs((heading - k + 6) % 12 - 6) * 38.0
            best = np.minimum(best, np.where(sector[k] < UNREACHABLE_FT, sector[k] + turn, best))
        required = np.maximum(required, best)
    return sector, label, np.ceil(required)


def _bands(floor, is_closed, is_unknown, x_m, y_m, binder):
    """Two shelves cut the air: 1,800 to 2,400 in the north, above 2,900 in the west."""
    bands = np.full((3, 2, *floor.shape), NO_BAND_FT, dtype=np.int64)
    by = np.full((3, 2, *floor.shape), NOBODY, dtype=np.int32)
    north, west = y_m > 1200, x_m < -1500
    for row, col in np.argwhere(~(is_closed | is_unknown)):
        blocked = []
        if north[row, col]:
            blocked.append((1801, 2399, 42))
        if west[row, col]:
            blocked.append((2900, NO_LIMIT_FT, 43))
        low, low_by, slot = floor[row, col], binder[row, col], 0
        for start, stop, who in blocked:
            if low < start:
                bands[slot, :, row, col] = low, start - 1
                by[slot, :, row, col] = low_by, who
                slot += 1
            if stop + 1 > low:
                low, low_by = stop + 1, who
        if low <= NO_LIMIT_FT:
            bands[slot, :, row, col] = low, NO_LIMIT_FT
            by[slot, 0, row, col] = low_by
    return bands, by


def _int16(values):
    return np.asarray(values).astype(np.int16)


def cells_of(grid, structures, fields):
    x_m, y_m = np.meshgrid(grid.centre_x_m(), grid.centre_y_m())
    terrain = terrain_ft(x_m, y_m)
    floor, binder = _floor(terrain, x_m, y_m, structures)
    no_terrain = (x_m > 6500) & (y_m > 5000)
    is_unknown = no_terrain | ((x_m > 3900) & (x_m < 4300))
    is_closed = np.hypot(x_m - 3000, y_m - 2300) < 420
    bands, by = _bands(floor, is_closed, is_unknown, x_m, y_m, binder)
    sector, label, required = _glide(terrain, x_m, y_m, fields)
    lost = (x_m > 1800) & (y_m < -2400)
    sector[:, lost], label[:, lost], required[lost] = UNREACHABLE_FT, NOBODY, UNREACHABLE_FT
    dark = no_terrain | ((x_m < -8000) & (y_m < -6500))
    asks = np.where(x_m > 2000, 46, 45)
    lowest = sector.argmin(axis=0)[None]
    field = np.take_along_axis(label, lowest, axis=0)[0]
    inside = shapely.intersects_xy(AREA_M.buffer(grid.cell_m * 0.7), x_m, y_m)
    return Cells(
        terrain_amsl_ft=_int16(np.where(no_terrain, UNKNOWN_FT, terrain)),
        legal_floor_amsl_ft=_int16(
            np.where(is_unknown, UNKNOWN_FT, np.where(is_closed, UNREACHABLE_FT, floor))
        ),
        legal_floor_binder=np.where(is_unknown, NOBODY, np.where(is_closed, 44, binder)).astype(
            np.int32
        ),
        bands_amsl_ft=_int16(bands),
        bands_binder=by,
        is_legal_unknown=is_unknown,
        glide_required_amsl_ft=_int16(np.where(dark, UNKNOWN_FT, required)),
        glide_binder=np.where(dark, NOBODY, asks).astype(np.int32),
        sector_amsl_ft=_int16(np.where(dark, UNKNOWN_FT, sector)),
        sector_field=_int16(np.where(dark, NOBODY, label)),
        field=_int16(np.where(dark | lost, NOBODY, field)),
        is_in_area=inside,
    )
