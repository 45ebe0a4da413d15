"""Everything known at one place."""

from __future__ import annotations

import math

import shapely
from attrs import frozen
from shapely.ops import nearest_points

from areaplan.errors import OutsideDataError
from areaplan.planning.plan import (
    NO_BAND_FT,
    NO_LIMIT_FT,
    NOBODY,
    UNKNOWN_FT,
    UNREACHABLE_FT,
    Binder,
    CellClass,
    Plan,
    Verdict,
)
from areaplan.rules.model import Entry
from areaplan.units import NAUTICAL_MILE_M


@frozen
class Band:
    """An open band with what sets its edges; ceiling None where the data have no limit."""

    floor_amsl_ft: int
    ceiling_amsl_ft: int | None
    floor_by: Binder | None
    ceiling_by: Binder | None


@frozen
class PointAnswer:
    """What `areaplan point` says. Heights in whole feet AMSL, None where not known.

    Attributes
    ----------
    lat, lon : float
        The place asked, degrees WGS 84.
    altitude_amsl_ft : int
        The altitude for which sectors, fields and verdict are given.
    terrain_amsl_ft : int or None
        Highest ground of the cell.
    legal_floor_amsl_ft : int or None
        Lowest altitude above every height and distance rule; None where unknown or closed.
    floor_by : Binder or None
    bands : tuple of Band or None
        Open bands; None where unknown.
    glide_required_amsl_ft : int or None
        None where unknown or where no altitude considered is enough.
    glide_bound_by : Binder or None
        What asks for it: the glide itself, or a rule on the choice of fields; None where unknown.
    is_glide_unknown : bool
    field : str or None
        The field reached with the least height.
    field_distance_nm, field_bearing_true_deg : float or None
        To the nearest edge of that field; 0 and None inside it.
    sectors_with_field, separate_fields : int or None
        Of twelve sectors, those with a field within gliding distance at the altitude; and how many
        different fields these lead to (there may be more).
    cell_class : CellClass
    verdict : Verdict
        Legal with a field at the altitude: met, not met or unknown.
    """

    lat: float
    lon: float
    altitude_amsl_ft: int
    terrain_amsl_ft: int | None
    legal_floor_amsl_ft: int | None
    floor_by: Binder | None
    bands: tuple[Band, ...] | None
    glide_required_amsl_ft: int | None
    glide_bound_by: Binder | None
    is_glide_unknown: bool
    field: str | None
    field_distance_nm: float | None
    field_bearing_true_deg: float | None
    sectors_with_field: int | None
    separate_fields: int | None
    cell_class: CellClass
    verdict: Verdict


def answer_point(plan: Plan, lat: float, lon: float, altitude_amsl_ft: int) -> PointAnswer:
    """Look a place up in a plan.

    Parameters
    ----------
    plan : Plan
    lat, lon : float
        Degrees WGS 84.
    altitude_amsl_ft : int
        Altitude for sectors and verdict, whole feet AMSL.

    Returns
    -------
    PointAnswer
        All unknown for a place outside the evaluated grid.
    """
    x_m, y_m = plan.frame.to_local(lon, lat)
    try:
        row, col = plan.grid.cell_of(float(x_m), float(y_m))
    except OutsideDataError:
        return _nothing_known(lat, lon, altitude_amsl_ft)
    cells = plan.cells
    required = int(cells.glide_required_amsl_ft[row, col])
    floor = int(cells.legal_floor_amsl_ft[row, col])
    field = int(cells.field[row, col])
    distance_nm, bearing = _to_field(plan, field, float(x_m), float(y_m))
    sector_ft = cells.sector_amsl_ft[:, row, col]
    is_reached = (sector_ft != UNKNOWN_FT) & (sector_ft <= altitude_amsl_ft)
    is_reached &= sector_ft != UNREACHABLE_FT
    is_glide_unknown = required == UNKNOWN_FT
    leads_to = set(cells.sector_field[:, row, col][is_reached].tolist()) - {NOBODY}
    cell_class = CellClass(int(cells.classes(altitude_amsl_ft)[row, col]))
    return PointAnswer(
        lat=lat,
        lon=lon,
        altitude_amsl_ft=altitude_amsl_ft,
        terrain_amsl_ft=_known(int(cells.terrain_amsl_ft[row, col])),
        legal_floor_amsl_ft=_known(floor),
        floor_by=_binder(plan, int(cells.legal_floor_binder[row, col])),
        bands=None if cells.is_legal_unknown[row, col] else _bands(plan, row, col),
        glide_required_amsl_ft=_known(required),
        glide_bound_by=_binder(plan, int(cells.glide_binder[row, col])),
        is_glide_unknown=is_glide_unknown,
        field=None if field == NOBODY else plan.fields[field].name,
        field_distance_nm=distance_nm,
        field_bearing_true_deg=bearing,
        sectors_with_field=None if is_glide_unknown else int(is_reached.sum()),
        separate_fields=None if is_glide_unknown else len(leads_to),
        cell_class=cell_class,
        verdict=_verdict(cell_class),
    )


def _nothing_known(lat: float, lon: float, altitude_amsl_ft: int) -> PointAnswer:
    return PointAnswer(
        lat=lat,
        lon=lon,
        altitude_amsl_ft=altitude_amsl_ft,
        terrain_amsl_ft=None,
        legal_floor_amsl_ft=None,
        floor_by=None,
        bands=None,
        glide_required_amsl_ft=None,
        glide_bound_by=None,
        is_glide_unknown=True,
        field=None,
        field_distance_nm=None,
        field_bearing_true_deg=None,
        sectors_with_field=None,
        separate_fields=None,
        cell_class=CellClass.UNKNOWN,
        verdict=Verdict.UNKNOWN,
    )


def _known(feet: int) -> int | None:
    return None if feet in (UNKNOWN_FT, UNREACHABLE_FT) else feet


def _binder(plan: Plan, index: int) -> Binder | None:
    return None if index == NOBODY else plan.binders[index]


def _bands(plan: Plan, row: int, col: int) -> tuple[Band, ...]:
    edges = plan.cells.bands_amsl_ft[:, :, row, col].tolist()
    binders = plan.cells.bands_binder[:, :, row, col].tolist()
    return tuple(
        Band(
            floor,
            None if ceiling == NO_LIMIT_FT else ceiling,
            _binder(plan, floor_by),
            _binder(plan, ceiling_by),
        )
        for (floor, ceiling), (floor_by, ceiling_by) in zip(edges, binders, strict=True)
        if floor != NO_BAND_FT
    )


def _to_field(plan: Plan, field: int, x_m: float, y_m: float) -> tuple[float | None, float | None]:
    """Distance in NM (hundredths) and true bearing (whole degrees) to a field's nearest edge.

    In the local frame: within 0.02 % of the geodesic, and within the convergence of the meridians,
    under a degree on any grid that fits in memory.
    """
    if field == NOBODY:
        return None, None
    here = shapely.Point(x_m, y_m)
    polygon = plan.frame.geometry_to_local(plan.fields[field].geometry)
    if polygon.intersects(here):
        return 0.0, None
    edge = nearest_points(polygon, here)[0]
    bearing = math.degrees(math.atan2(edge.x - x_m, edge.y - y_m)) % 360.0
    distance_m = math.hypot(edge.x - x_m, edge.y - y_m)
    return round(distance_m / NAUTICAL_MILE_M, 2), float(round(bearing) % 360)


def _verdict(cell_class: CellClass) -> Verdict:
    if cell_class is CellClass.UNKNOWN:
        return Verdict.UNKNOWN
    return Verdict.MET if cell_class is CellClass.LEGAL_WITH_FIELD else Verdict.NOT_MET


def unknown_airspace_at(plan: Plan, lat: float, lon: float) -> tuple[str, ...]:
    """Volumes over a place, margins included, that no rule in force knows: name and reason.

    Parameters
    ----------
    plan : Plan
    lat, lon : float
        Degrees WGS 84.
    """
    here = shapely.Point(*plan.frame.to_local(lon, lat))
    # The cell's far corner may be nearer to the volume than the place itself.
    reach_m = plan.project.margins.airspace_lateral_m + math.sqrt(2.0) * plan.grid.cell_m
    return tuple(
        f"{volume.name}: {volume.reason}"
        for volume in plan.volumes
        if volume.is_blocking
        and volume.entry == Entry.UNKNOWN
        and plan.frame.geometry_to_local(volume.geometry).distance(here) <= reach_m
    )
