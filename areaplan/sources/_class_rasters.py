"""GeoTIFFs of classes: opened, checked, and cut to the country that matters."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import numpy as np
import shapely
from attrs import frozen
from numpy.typing import NDArray

from areaplan.errors import InputError
from areaplan.sources._coordinates import horizontal_part, parse_crs, strict_transformer
from areaplan.sources._environment import load_rasterio
from areaplan.sources._files import library_faults
from areaplan.sources._lattice import Placement
from areaplan.sources._text import shown

if TYPE_CHECKING:
    from pyproj import CRS

    from areaplan.grid import Float64Array
    from areaplan.sources._vector import LonLatBox

MOST_PIXELS: Final = 400_000_000
_EDGE_STEPS: Final = 32  # places along each edge of the clip box; the margin covers the rest
_MARGIN_PIXELS: Final = 4


@frozen(eq=False)
class CodeTile:
    """One file's pixels, as far as they were asked for.

    Attributes
    ----------
    name : str
        The file as the project writes it.
    placement : Placement
        x, y of the north-west corner of pixel (column j, row i) = matrix @ (j, i, 1).
    codes : integer array, shape (rows, cols)
    is_blank : bool array, shape (rows, cols)
        Pixels for which the file declares no value.
    parts : tuple of Path
        The file and those beside it that belong to it.
    notes : tuple of str
    """

    name: str
    placement: Placement
    codes: NDArray[Any]
    is_blank: NDArray[np.bool_]
    parts: tuple[Path, ...]
    notes: tuple[str, ...]


def read_codes(path: Path, name: str, clip_lonlat: LonLatBox | None) -> CodeTile:
    """Read the codes of a GeoTIFF of classes, in any coordinate system.

    Parameters
    ----------
    path : Path
    name : str
        The file as the project writes it.
    clip_lonlat : tuple of float or None
        West, south, east, north in degrees: pixels outside are left unread.

    Raises
    ------
    InputError
        Not a GeoTIFF, a picture, not whole numbers, tied to no place, or too many pixels.
    """
    rasterio = load_rasterio()
    with (
        library_faults(
            name, path, expected="a GeoTIFF of classes", fix="get the file again"
        ) as warned,
        rasterio.open(path, driver="GTiff") as data,
    ):
        band = _class_band(data, name)
        transform = data.transform
        if transform.is_identity or abs(transform.determinant) == 0.0:
            raise InputError.single(
                name,
                "",
                found="it says not where its pixels lie",
                expected="a georeferenced file",
                fix="assign its corner, pixel size and coordinate reference system in a GIS",
            )
        crs_text = data.crs.to_wkt(version="WKT2_2019") if data.crs else None
        crs = parse_crs(crs_text, name, "", "assign its coordinate reference system in a GIS")
        matrix = np.array(transform[:6], dtype=np.float64).reshape(2, 3)
        col, row, cols, rows = _window(crs, name, matrix, (data.height, data.width), clip_lonlat)
        if rows * cols > MOST_PIXELS:
            raise InputError.single(
                name,
                "",
                found=f"{rows * cols / 1e6:,.0f} million pixels round the area",
                expected=f"at most {MOST_PIXELS / 1e6:,.0f} million",
                fix="give a coarser file, or a smaller area",
            )
        read = np.ma.array(np.zeros((rows, cols), dtype=np.uint8), mask=True)
        if rows and cols:
            window = rasterio.windows.Window(col, row, cols, rows)
            read = data.read(band, window=window, masked=True)
        parts = tuple(sorted(Path(part) for part in data.files))
    horizontal = horizontal_part(crs)
    authority = horizontal.to_authority(min_confidence=100)
    matrix[:, 2] = matrix @ (col, row, 1.0)
    placement = Placement(
        ":".join(authority) if authority else horizontal.to_wkt(), horizontal.is_geographic, matrix
    )
    values = np.asarray(read.data)
    is_blank = np.ma.getmaskarray(read) | (values != values)  # NaN is no code either
    codes = _whole_numbers(values, is_blank, name)
    return CodeTile(name, placement, codes, is_blank, parts, tuple(warned))


def _class_band(data: Any, name: str) -> int:
    """The one band of classes, an alpha band aside."""
    rasterio = load_rasterio()
    alpha = rasterio.enums.ColorInterp.alpha
    bands = [i for i, kind in enumerate(data.colorinterp, start=1) if kind is not alpha]
    if len(bands) != 1 or "complex" in data.dtypes[bands[0] - 1]:
        raise InputError.single(
            name,
            "",
            found=f"{data.count} bands of {data.dtypes[0]}: a picture of a map",
            expected="one band, whose values are the codes of classes",
            fix="give the class raster itself, not a drawing of it",
        )
    return int(bands[0])


def _window(
    crs: CRS,
    name: str,
    matrix: Float64Array,
    shape: tuple[int, int],
    clip_lonlat: LonLatBox | None,
) -> tuple[int, int, int, int]:
    """Column, row, columns and rows of the pixels to read; of none where the file lies apart."""
    transformer = strict_transformer(crs, name, "")
    whole = (0, 0, shape[1], shape[0])
    if clip_lonlat is None:
        return whole
    box = shapely.box(*clip_lonlat)
    edge = shapely.segmentize(box.exterior, box.exterior.length / 4 / _EDGE_STEPS)
    lon, lat = shapely.get_coordinates(edge).T
    x, y = transformer.transform(lon, lat)
    if horizontal_part(crs).is_geographic:
        middle = float((matrix @ (shape[1] / 2.0, shape[0] / 2.0, 1.0))[0])
        x = x + 360.0 * np.round((middle - x) / 360.0)
    if not (np.isfinite(x).all() and np.isfinite(y).all()):
        return whole
    u, v = np.linalg.solve(matrix[:, :2], np.vstack([x, y]) - matrix[:, 2:])
    col, last_col = _span(u, shape[1])
    row, last_row = _span(v, shape[0])
    return col, row, last_col - col, last_row - row


def _span(places: Float64Array, size: int) -> tuple[int, int]:
    low = int(np.clip(np.floor(places.min()) - _MARGIN_PIXELS, 0, size))
    high = int(np.clip(np.ceil(places.max()) + _MARGIN_PIXELS, 0, size))
    return low, max(low, high)


def _whole_numbers(values: NDArray[Any], is_blank: NDArray[np.bool_], name: str) -> NDArray[Any]:
    if np.issubdtype(values.dtype, np.integer):
        return values
    rounded = np.where(is_blank | ~np.isfinite(values), 0, np.round(values))
    is_odd = ~is_blank & (rounded != values)
    if is_odd.any() or np.abs(rounded).max(initial=0.0) > np.iinfo(np.int32).max:
        example = values[is_odd][0] if is_odd.any() else np.abs(rounded).max()
        raise InputError.single(
            name,
            "",
            found=f"values such as {shown(float(example))}",
            expected="whole numbers, the codes of classes",
            fix="give the class raster itself, not one that was resampled by averaging",
        )
    return rounded.astype(np.int32)
