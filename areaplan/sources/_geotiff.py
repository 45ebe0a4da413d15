"""GeoTIFF headers: is it a terrain model, where does it lie, in what unit and datum."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from areaplan.errors import InputError
from areaplan.sources._coordinates import (
    horizontal_part,
    parse_crs,
    strict_transformer,
    vertical_part,
)
from areaplan.sources._environment import load_rasterio
from areaplan.sources._files import library_faults
from areaplan.sources._lattice import Placement
from areaplan.sources._terrain_files import GeoTiffTile, file_mark
from areaplan.sources._text import shown
from areaplan.sources.vertical_datum import agrees, known_name, orthometric_name
from areaplan.units import FOOT_M, US_SURVEY_FOOT_M

if TYPE_CHECKING:
    from pyproj import CRS

_UNITS_M: Final = {
    "m": 1.0,
    "metre": 1.0,
    "metres": 1.0,
    "meter": 1.0,
    "meters": 1.0,
    "ft": FOOT_M,
    "foot": FOOT_M,
    "feet": FOOT_M,
    "international foot": FOOT_M,
    "us-ft": US_SURVEY_FOOT_M,
    "ftus": US_SURVEY_FOOT_M,
    "us survey foot": US_SURVEY_FOOT_M,
    "us survey feet": US_SURVEY_FOOT_M,
    "foot_us": US_SURVEY_FOOT_M,
}


def open_geotiff(
    path: Path, name: str, declared_datum: str
) -> tuple[GeoTiffTile, tuple[Path, ...], list[str]]:
    """Check a GeoTIFF's header.

    Heights belong to the centres of the pixels, whether the file calls its pixels areas or points:
    GDAL reports the transform of pixel areas for both (GDAL manual, "GTiff" driver,
    GTIFF_POINT_GEO_IGNORE).

    Parameters
    ----------
    path : Path
    name : str
        The file as the project writes it.
    declared_datum : str
        Vertical datum that the project declares, checked.

    Returns
    -------
    tile : GeoTiffTile
    parts : tuple of Path
        The file and those beside it that GDAL uses, in the order of their names.
    notes : list of str

    Raises
    ------
    InputError
        Not a GeoTIFF, not one band of heights, not georeferenced, in an unknown unit, or with a
        vertical datum that contradicts the declared one.
    """
    rasterio = load_rasterio()
    expected = "a GeoTIFF of heights"
    with (
        library_faults(name, path, expected=expected, fix="get the file again") as warned,
        rasterio.Env(GTIFF_REPORT_COMPD_CS="YES"),
        rasterio.open(path, driver="GTiff") as data,
    ):
        band = _height_band(data, name)
        unit = (data.units[band - 1] or "").strip()
        shape = (int(data.height), int(data.width))
        transform = data.transform
        crs_text = data.crs.to_wkt(version="WKT2_2019") if data.crs else None
        parts = tuple(sorted(Path(part) for part in data.files))
    if transform.is_identity or abs(transform.determinant) == 0.0 or min(shape) < 2:
        raise InputError.single(
            name,
            "",
            found="it says not where its pixels lie",
            expected="a georeferenced file of at least 2 by 2 pixels",
            fix="assign its corner, pixel size and coordinate reference system in a GIS",
        )
    crs = parse_crs(crs_text, name, "", "assign its coordinate reference system in a GIS")
    strict_transformer(crs, name, "")
    notes = _check_datum(crs, name, declared_datum)
    unit_m, unit_note = _unit_m(unit, crs, name)
    a, b, c, d, e, f = transform[:6]
    # Node (j, i) is the centre of its pixel.
    matrix = np.array([[a, b, c + 0.5 * (a + b)], [d, e, f + 0.5 * (d + e)]])
    horizontal = horizontal_part(crs)
    authority = horizontal.to_authority(min_confidence=100)
    placement = Placement(
        ":".join(authority) if authority else horizontal.to_wkt(), horizontal.is_geographic, matrix
    )
    tile = GeoTiffTile(path, name, placement, shape, band, unit_m, file_mark(path))
    return tile, parts, [*warned, *notes, *unit_note]


def _height_band(data: Any, name: str) -> int:
    """Band of the heights: the only one, an alpha band aside."""
    rasterio = load_rasterio()
    alpha = rasterio.enums.ColorInterp.alpha
    bands = [i for i, kind in enumerate(data.colorinterp, start=1) if kind is not alpha]
    is_picture = (
        len(bands) != 1
        or data.dtypes[bands[0] - 1] in ("uint8", "int8")
        or "complex" in data.dtypes[bands[0] - 1]
        or data.colorinterp[bands[0] - 1] is rasterio.enums.ColorInterp.palette
    )
    if is_picture:
        raise InputError.single(
            name,
            "",
            found=f"{data.count} bands of {data.dtypes[0]}: a picture or a map of classes",
            expected="one band of heights, 16-bit or floating point",
            fix="give the elevation model itself, not a drawing of it",
        )
    return bands[0]


def _unit_m(unit: str, crs: CRS, name: str) -> tuple[float, list[str]]:
    """Metres in a unit: of the band, else of the vertical system, else metres with a note."""
    if unit:
        factor = _UNITS_M.get(unit.lower())
        if factor is None:
            raise InputError.single(
                name,
                "unit of the band",
                found=shown(unit),
                expected="metres or feet",
                fix="convert the heights to metres and say so in the file",
            )
        return factor, []
    vertical = vertical_part(crs)
    if vertical is not None:
        return float(vertical.axis_info[0].unit_conversion_factor), []
    return 1.0, [f"{name}: it states no unit; its heights are taken as metres"]


def _check_datum(crs: CRS, name: str, declared: str) -> list[str]:
    fix = "correct vertical_datum, or get the model with the heights that were meant"
    if len(crs.axis_info) == 3 and not crs.is_compound:
        orthometric_name("ellipsoidal", name, "vertical datum of the file")
    vertical = vertical_part(crs)
    if vertical is None:
        return []
    stated = known_name(vertical.name)
    if stated is None or not agrees(declared, stated):
        raise InputError.single(
            name,
            "vertical_datum",
            found=f"the project says {declared}, the file says {shown(vertical.name)}",
            expected="one vertical datum, of heights above mean sea level",
            fix=fix,
        )
    return [f"{name}: it states heights in {stated}"] if stated != declared else []
