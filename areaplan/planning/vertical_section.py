"""Vertical sections through the area: what stands at every cell that a straight line crosses."""

from __future__ import annotations

import math
from enum import StrEnum
from typing import Final

import numpy as np
import shapely
from attrs import frozen
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from areaplan.errors import InputError
from areaplan.grid import BoolArray, Float64Array, Int16Array
from areaplan.planning.plan import Finding, Plan, Verdict
from areaplan.planning.section_line import SectionLine
from areaplan.planning.section_volumes import CutVolume, cut_volumes
from areaplan.rules.model import Severity

_SHORTEST_M: Final = 1.0  # a section has a length


class SectionKind(StrEnum):
    """Which way a section goes."""

    ALONG = "along"  # the area's long axis, through its middle
    ACROSS = "across"  # square to that axis, through the worst place
    CHOSEN = "chosen"  # by the school


@frozen
class Through:
    """The place that a section was laid through, and the finding that is worst there.

    Attributes
    ----------
    lon, lat : float
        Degrees WGS 84.
    finding : Finding
    is_middle_of_volume : bool
        The finding is about a volume of airspace, in which the margin is the same everywhere: the
        place is the middle of what it covers of the area, not the finding's own place.
    """

    lon: float
    lat: float
    finding: Finding
    is_middle_of_volume: bool


@frozen(eq=False)
class VerticalSection:
    """Cells along a straight line, from its western (or southern) end. Arrays of shape (n,).

    Attributes
    ----------
    kind : SectionKind
    ends_m : float64 array, shape (2, 2)
        Local metres of the line's two ends.
    ends_lonlat : tuple of (float, float)
        Longitude and latitude of the same.
    bearing_deg_true : float
        From the first end to the second, in [0, 360).
    along_m : float64 array
        Distance of each sample from the first end, metres; half a cell apart.
    terrain_amsl_ft, glide_required_amsl_ft : int16 arrays
        As of the plan's cells, with its sentinels.
    bands_amsl_ft : int16 array, shape (bands, 2, n)
        As of the plan's cells.
    is_legal_unknown, is_in_area : bool arrays
    volumes : tuple of CutVolume
        The published airspace that the line passes through, closed or not, without margins.
    through : Through or None
        The worst place; None where the line was not laid through it.
    """

    kind: SectionKind
    ends_m: Float64Array
    ends_lonlat: tuple[tuple[float, float], tuple[float, float]]
    bearing_deg_true: float
    along_m: Float64Array
    terrain_amsl_ft: Int16Array
    glide_required_amsl_ft: Int16Array
    bands_amsl_ft: Int16Array
    is_legal_unknown: BoolArray
    is_in_area: BoolArray
    volumes: tuple[CutVolume, ...]
    through: Through | None = None


def vertical_sections(
    plan: Plan, altitude_amsl_ft: int, beyond_m: float = 0.0
) -> tuple[VerticalSection, ...]:
    """Cut the plan twice: along the area through its middle, and across it through the worst place.

    The line that the project chooses under `[briefing] section`, where it does, takes the place of
    the one along the area; the one across stays, as it shows what does not hold.

    Parameters
    ----------
    plan : Plan
    altitude_amsl_ft : int
        The planned altitude whose worst place is shown, feet AMSL: that of `worst_finding`, or
        the middle of the volume that it is about. Where everything is met there, the line across
        goes through the middle of the area too.
    beyond_m : float
        How far lines go on beyond the area's smallest rectangle, metres; cut off at the edge of the
        grid. A chosen line ends where it was told to.

    Raises
    ------
    InputError
        An end of the chosen line lies off the grid.
    """
    area = plan.frame.geometry_to_local(plan.layers.area.rows[0].geometry)
    chosen = plan.project.section
    if chosen is not None:
        first = _cut(plan, SectionKind.CHOSEN, _chosen_ends(plan, chosen))
    else:
        first = _cut(plan, SectionKind.ALONG, _along(area, beyond_m))
    through = _through(plan, area, worst_finding(plan, altitude_amsl_ft))
    place_m = None
    if through is not None:
        place_m = np.array([float(one) for one in plan.frame.to_local(through.lon, through.lat)])
    second = _cut(plan, SectionKind.ACROSS, _across(area, place_m, beyond_m), through)
    return first, second


def worst_finding(plan: Plan, altitude_amsl_ft: int) -> Finding | None:
    """What binds, has a place and is not met at an altitude: that of the smallest margin.

    Where no altitude would do, there is no smaller margin. Where nothing is broken, the first of
    what is unknown; None where all is met. What is only asked (an advisory) is left out.

    Parameters
    ----------
    plan : Plan
    altitude_amsl_ft : int
        One of the planned altitudes, feet AMSL.
    """
    here = [
        row
        for row in plan.findings
        if row.altitude_amsl_ft == altitude_amsl_ft
        and row.lat is not None
        and row.limit.severity is not Severity.ADVISORY
    ]
    broken = [row for row in here if row.verdict is Verdict.NOT_MET]
    if broken:
        return min(
            broken, key=lambda row: -math.inf if row.margin_ft is None else float(row.margin_ft)
        )
    return next((row for row in here if row.verdict is Verdict.UNKNOWN), None)


def _through(plan: Plan, area: BaseGeometry, worst: Finding | None) -> Through | None:
    if worst is None or worst.lat is None or worst.lon is None:
        return None
    volumes = [
        plan.frame.geometry_to_local(one.geometry)
        for one in plan.volumes
        if one.is_blocking and one.name == worst.feature
    ]
    covered = shapely.intersection(area, shapely.union_all(volumes))
    if covered.area == 0.0:
        return Through(worst.lon, worst.lat, worst, is_middle_of_volume=False)
    middle = covered.centroid
    lon, lat = plan.frame.to_lonlat(middle.x, middle.y)
    return Through(float(lon), float(lat), worst, is_middle_of_volume=True)


def _cut(
    plan: Plan, kind: SectionKind, wanted_m: Float64Array, through: Through | None = None
) -> VerticalSection:
    """What the cells hold along a line, cut off at the edge of the grid."""
    line = shapely.LineString(wanted_m).intersection(_inside(plan))
    ends = shapely.get_coordinates(line)[[0, -1]]
    length_m = float(np.hypot(*(ends[1] - ends[0])))
    grid = plan.grid
    count = max(2, math.ceil(length_m / (0.5 * grid.cell_m)) + 1)
    share = np.linspace(0.0, 1.0, count)
    x_m = ends[0, 0] + share * (ends[1, 0] - ends[0, 0])
    y_m = ends[0, 1] + share * (ends[1, 1] - ends[0, 1])
    cols = _index((x_m - grid.x_min_m) / grid.cell_m, grid.cols)
    rows = _index((grid.y_max_m - y_m) / grid.cell_m, grid.rows)
    lon, lat = plan.frame.to_lonlat(ends[:, 0], ends[:, 1])
    cells = plan.cells
    bearing = math.degrees(math.atan2(ends[1, 0] - ends[0, 0], ends[1, 1] - ends[0, 1])) % 360.0
    terrain_ft = cells.terrain_amsl_ft[rows, cols]
    return VerticalSection(
        kind=kind,
        ends_m=ends,
        ends_lonlat=((float(lon[0]), float(lat[0])), (float(lon[1]), float(lat[1]))),
        bearing_deg_true=bearing,
        along_m=share * length_m,
        terrain_amsl_ft=terrain_ft,
        glide_required_amsl_ft=cells.glide_required_amsl_ft[rows, cols],
        bands_amsl_ft=cells.bands_amsl_ft[:, :, rows, cols],
        is_legal_unknown=cells.is_legal_unknown[rows, cols],
        is_in_area=cells.is_in_area[rows, cols],
        volumes=cut_volumes(plan, x_m, y_m, terrain_ft),
        through=through,
    )


def _along(area: BaseGeometry, beyond_m: float) -> Float64Array:
    """Ends of the long middle line of the smallest rectangle, the western or southern first."""
    corners = _corners(area)
    ends = np.array([(corners[0] + corners[3]) / 2.0, (corners[1] + corners[2]) / 2.0])
    return _ordered(_lengthened(ends, beyond_m))


def _across(area: BaseGeometry, through_m: Float64Array | None, beyond_m: float) -> Float64Array:
    """Ends of the line square to that one, through a place in the rectangle or its middle."""
    corners = _corners(area)
    long = corners[1] - corners[0]
    share = 0.5
    if through_m is not None:
        share = float(np.clip((through_m - corners[0]) @ long / (long @ long), 0.0, 1.0))
    ends = np.array([corners[0] + share * long, corners[3] + share * long])
    return _ordered(_lengthened(ends, beyond_m))


def _corners(area: BaseGeometry) -> Float64Array:
    """Corners of the smallest rectangle; the long sides run from 0 to 1 and from 3 to 2."""
    corners = shapely.get_coordinates(shapely.minimum_rotated_rectangle(area))[:4]
    sides = np.hypot(*(np.roll(corners, -1, axis=0) - corners).T)
    return np.asarray(np.roll(corners, 0 if sides[0] >= sides[1] else -1, axis=0))


def _lengthened(ends: Float64Array, beyond_m: float) -> Float64Array:
    unit = (ends[1] - ends[0]) / np.hypot(*(ends[1] - ends[0]))
    return np.asarray(ends + np.array([-unit, unit]) * beyond_m)


def _ordered(ends: Float64Array) -> Float64Array:
    (x0, y0), (x1, y1) = ends.round(2).tolist()  # a centimetre is neither west nor east
    is_turned = (x0, y0) > (x1, y1)
    return np.asarray(ends[::-1] if is_turned else ends)


def _chosen_ends(plan: Plan, line: SectionLine) -> Float64Array:
    """Local metres of a chosen line's ends, in the order told."""
    inside = _inside(plan)
    ends = []
    for number, (lat, lon) in enumerate((line.begin, line.end), 1):
        x_m, y_m = (float(one) for one in plan.frame.to_local(lon, lat))
        if not inside.covers(shapely.Point(x_m, y_m)):
            raise _off_grid(plan, number, lat, lon)
        ends.append((x_m, y_m))
    found = np.array(ends)
    if np.hypot(*(found[1] - found[0])) < _SHORTEST_M:
        raise InputError.single(
            str(plan.project.path),
            "briefing.section",
            found="two ends less than a metre apart",
            expected="a line across the area",
            fix="move one of the ends",
        )
    return found


def _off_grid(plan: Plan, number: int, lat: float, lon: float) -> InputError:
    grid = plan.grid
    west_south = plan.frame.to_lonlat(grid.x_min_m, grid.y_min_m)
    east_north = plan.frame.to_lonlat(grid.x_max_m, grid.y_max_m)
    (west, south), (east, north) = (map(float, one) for one in (west_south, east_north))
    return InputError.single(
        str(plan.project.path),
        f"briefing.section[{number}]",
        found=f"[{lat:g}, {lon:g}], which lies off the grid",
        expected=f"a place from about {south:.3f} to {north:.3f} and {west:.3f} to {east:.3f}",
        fix="move it nearer to the area, or widen [grid] around",
    )


def _inside(plan: Plan) -> BaseGeometry:
    grid = plan.grid
    return shapely.box(grid.x_min_m, grid.y_min_m, grid.x_max_m, grid.y_max_m)


def _index(value: Float64Array, count: int) -> NDArray[np.int64]:
    """Whole index; the far edge of the grid belongs to its last cell."""
    return np.clip(np.floor(value).astype(np.int64), 0, count - 1)
