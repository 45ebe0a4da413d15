"""A plan as tables with geometry, for people who go on in geopandas or a GIS.

All frames are in WGS 84 longitude/latitude (OGC:CRS84). They show what the plan found; they
compute nothing about safety.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

import numpy as np
import shapely
from numpy.typing import NDArray

from areaplan.planning.plan import NOBODY, UNREACHABLE_FT, CellClass, Plan
from areaplan.render.text import CLASS_WORDS

if TYPE_CHECKING:
    from geopandas import GeoDataFrame

CRS: Final = "OGC:CRS84"


def class_frame(plan: Plan, altitude_amsl_ft: int) -> GeoDataFrame:
    """The practice area at one altitude, a row for each class that occurs.

    Parameters
    ----------
    plan : Plan
    altitude_amsl_ft : int
        Whole feet above mean sea level.

    Returns
    -------
    GeoDataFrame
        Columns `cell_class` (0 to 4, see `CellClass`), `meaning` (plain words), `share` (of the
        area's cells) and `geometry`: the outlines of the cells, in steps of a cell. Cells that
        touch the drawn polygon belong to it whole.
    """
    classes = plan.cells.classes(altitude_amsl_ft)
    inside = plan.cells.is_in_area
    present = [each for each in CellClass if (classes[inside] == each).any()]
    return _frame(
        {
            "cell_class": [int(each) for each in present],
            "meaning": [CLASS_WORDS[each] for each in present],
            "share": [float((classes[inside] == each).mean()) for each in present],
        },
        [_outline(plan, inside & (classes == each)) for each in present],
    )


def findings_frame(plan: Plan) -> GeoDataFrame:
    """The findings, each at the place of its smallest margin.

    Returns
    -------
    GeoDataFrame
        Columns `rule`, `title`, `severity`, `verdict`, `altitude_amsl_ft`, `margin_ft` (missing
        where it can't be told), `feature`, `share_met`, `quote`, `document` and point geometry.
    """
    placed = [(row, row.lat, row.lon) for row in plan.findings]
    rows = [row for row, lat, lon in placed if lat is not None and lon is not None]
    return _frame(
        {
            "rule": [row.limit.rule for row in rows],
            "title": [row.limit.title for row in rows],
            "severity": [row.limit.severity.value for row in rows],
            "verdict": [row.verdict.value for row in rows],
            "altitude_amsl_ft": [row.altitude_amsl_ft for row in rows],
            "margin_ft": [row.margin_ft for row in rows],
            "feature": [row.feature for row in rows],
            "share_met": [row.share_met for row in rows],
            "quote": [row.limit.quote for row in rows],
            "document": [row.limit.document for row in rows],
        },
        [shapely.Point(lon, lat) for _, lat, lon in placed if lat is not None and lon is not None],
    )


def fields_frame(plan: Plan) -> GeoDataFrame:
    """The landing fields, with how much of the area each one serves.

    Returns
    -------
    GeoDataFrame
        Columns `name`, `surface`, `consent`, `remarks`, `share_served` (share of the area's cells
        from which the lowest of the twelve sectors leads to it) and the field's polygon.
    """
    inside = plan.cells.is_in_area & (plan.cells.glide_required_amsl_ft != UNREACHABLE_FT)
    leads_to = plan.cells.field[inside]
    counts = np.bincount(leads_to[leads_to != NOBODY], minlength=len(plan.fields))
    return _frame(
        {
            "name": [row.name for row in plan.fields],
            "surface": [row.surface for row in plan.fields],
            "consent": [row.consent for row in plan.fields],
            "remarks": [row.remarks for row in plan.fields],
            "share_served": counts / plan.cells.is_in_area.sum(),
        },
        [row.geometry for row in plan.fields],
    )


def _frame(columns: dict[str, Any], geometry: list[Any]) -> GeoDataFrame:
    from geopandas import GeoDataFrame

    return GeoDataFrame(columns, geometry=geometry, crs=CRS)


def _outline(plan: Plan, chosen: NDArray[np.bool_]) -> shapely.MultiPolygon:
    """Outline of some cells in longitude/latitude, corners joined as the raster has them."""
    from affine import Affine
    from rasterio.features import shapes

    grid = plan.grid
    place = Affine(grid.cell_m, 0.0, grid.x_min_m, 0.0, -grid.cell_m, grid.y_max_m)
    found = shapes(chosen.astype(np.uint8), mask=chosen, transform=place)
    rings = (each["coordinates"] for each, _ in found)
    local = shapely.MultiPolygon([shapely.Polygon(ring, holes) for ring, *holes in rings])

    def to_lonlat(xy: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.column_stack(plan.frame.to_lonlat(xy[:, 0], xy[:, 1]))

    return shapely.transform(local, to_lonlat)
