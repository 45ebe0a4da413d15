"""Terrain files as tiles: SRTM .hgt and .hgt.zip, GeoTIFF, and arrays in memory."""

from __future__ import annotations

import re
import zipfile
import zlib
from pathlib import Path
from typing import Any, Final

import numpy as np
from attrs import frozen
from numpy.typing import NDArray

from areaplan.errors import InputError
from areaplan.grid import Float64Array
from areaplan.sources._environment import load_rasterio
from areaplan.sources._files import library_faults
from areaplan.sources._lattice import Placement
from areaplan.sources._text import one_line, shown

LOWEST_M: Final = -500.0  # the Dead Sea shore lies at -430 m
HIGHEST_M: Final = 9000.0  # Everest has 8849 m
# Size in bytes to nodes a side: 16-bit, 3601 or 1201 nodes (NASA/JPL, SRTM FAQ).
_HGT_SIDES: Final = {2 * 3601 * 3601: 3601, 2 * 1201 * 1201: 1201}
_HGT_NAME: Final = re.compile(r"([NS])(\d{2})([EW])(\d{3})(\.|$)", re.IGNORECASE)
_HGT_VOID: Final = -32768
_WGS84: Final = "EPSG:4326"


def plausible(heights_m: Float64Array) -> tuple[Float64Array, float | None]:
    """Heights with infinite and absurd ones made unknown, and one absurd height if there is any."""
    is_absurd = (heights_m < LOWEST_M) | (heights_m > HIGHEST_M)
    finite = heights_m[is_absurd & np.isfinite(heights_m)]
    heights_m = np.where(is_absurd, np.nan, heights_m)
    return heights_m, float(finite[0]) if finite.size else None


@frozen(eq=False)
class ArrayTile:
    """Heights in memory.

    Attributes
    ----------
    name : str
        For messages.
    placement : Placement
    heights : array, shape (rows, cols)
        Metres above mean sea level; row 0 in the north.
    void : int or None
        Value that stands for unknown, beside NaN.
    """

    name: str
    placement: Placement
    heights: NDArray[Any]
    void: int | None = None

    @property
    def shape(self) -> tuple[int, int]:
        """Rows and columns of nodes."""
        return self.heights.shape[0], self.heights.shape[1]

    def read(self, row: int, col: int, rows: int, cols: int) -> tuple[Float64Array, float | None]:
        """Heights of a window; see `areaplan.sources._lattice.Tile`."""
        part = self.heights[row : row + rows, col : col + cols]
        heights_m = part.astype(np.float64)
        if self.void is not None:
            heights_m[part == self.void] = np.nan
        return plausible(heights_m)


@frozen(eq=False)
class GeoTiffTile:
    """A GeoTIFF of heights, read in windows.

    Attributes
    ----------
    path : Path
    name : str
        The file as the project writes it.
    placement : Placement
    shape : tuple of int
        Rows and columns of nodes, which are the centres of the pixels.
    band : int
        Band that carries the heights.
    unit_m : float
        Metres in one unit of the heights.
    mark : tuple of int
        Size and time of the last change when the file was checked.
    """

    path: Path
    name: str
    placement: Placement
    shape: tuple[int, int]
    band: int
    unit_m: float
    mark: tuple[int, int]

    def read(self, row: int, col: int, rows: int, cols: int) -> tuple[Float64Array, float | None]:
        """Heights of a window; see `areaplan.sources._lattice.Tile`.

        Raises
        ------
        InputError
            The file has changed since it was checked, or is damaged.
        """
        rasterio = load_rasterio()
        expected = "a GeoTIFF that can be read to its end"
        with library_faults(self.name, self.path, expected=expected, fix="get the file again"):
            if file_mark(self.path) != self.mark:
                raise OSError("it has changed since it was checked")
            with rasterio.open(self.path, driver="GTiff") as data:
                part = data.read(
                    self.band,
                    window=rasterio.windows.Window(col, row, cols, rows),
                    masked=True,
                )
                scale, offset = data.scales[self.band - 1], data.offsets[self.band - 1]
        with np.errstate(invalid="ignore"):  # a damaged NaN must not become a warning
            raw = part.data.astype(np.float64)
        raw[np.ma.getmaskarray(part)] = np.nan
        return plausible((raw * scale + offset) * self.unit_m)


def file_mark(path: Path) -> tuple[int, int]:
    """Size and time of the last change of a file."""
    status = path.stat()
    return status.st_size, status.st_mtime_ns


def is_hgt(path: Path) -> bool:
    """Whether a path ends as SRTM tiles do."""
    return path.name.lower().endswith((".hgt", ".hgt.zip"))


def read_hgt(path: Path, name: str) -> ArrayTile:
    """Read an SRTM tile: big-endian 16-bit metres, named by its south-west corner.

    The nodes are points; the outer ones lie on whole degrees.

    Raises
    ------
    InputError
        The name states no corner, or the content is not one of the two legal sizes.

    References
    ----------
    NASA/JPL, *SRTM Topography* FAQ and documentation.
    """
    if path.name.lower().endswith(".zip"):
        member, raw = _unzipped(path, name)
        corner = _corner(member, name)
        if _HGT_NAME.match(path.name) and _corner(path.name, name) != corner:
            raise InputError.single(
                name,
                "",
                found=f"it holds {shown(member)}",
                expected="the tile that its own name states",
                fix="get the file again, or give it the name of the tile inside",
            )
    else:
        corner = _corner(path.name, name)
        _side(path.stat().st_size, name)
        raw = path.read_bytes()
    side = _side(len(raw), name)
    south, west = corner
    step = 1.0 / (side - 1)
    matrix = np.array([[step, 0.0, float(west)], [0.0, -step, south + 1.0]])
    heights = np.frombuffer(raw, dtype=">i2").reshape(side, side)
    return ArrayTile(name, Placement(_WGS84, True, matrix), heights, _HGT_VOID)


def _unzipped(path: Path, name: str) -> tuple[str, bytes]:
    """Name and content of the one .hgt file in an archive, its size checked before it is read."""
    expected = "a zip archive with one .hgt file"
    try:
        with zipfile.ZipFile(path) as archive:
            members = [i for i in archive.infolist() if i.filename.lower().endswith(".hgt")]
            if len(members) != 1:
                found = f"it holds {len(members)} .hgt files"
                fix = "put one tile into each archive, or unpack it"
                raise InputError.single(name, "", found=found, expected=expected, fix=fix)
            member = members[0]
            size = _side_bytes(member.file_size, name)
            with archive.open(member) as stream:
                raw = stream.read(size + 1)
    # The standard library raises all of these on damaged or encrypted archives.
    except (zipfile.BadZipFile, zlib.error, RuntimeError, OSError, ValueError, EOFError) as error:
        found = f"cannot be unpacked ({one_line(error)})"
        raise InputError.single(
            name, "", found=found, expected=expected, fix="get the file again"
        ) from error
    return Path(member.filename).name, raw


def _side_bytes(size: int, name: str) -> int:
    _side(size, name)
    return size


def _side(size: int, name: str) -> int:
    side = _HGT_SIDES.get(size)
    if side is None:
        raise InputError.single(
            name,
            "",
            found=f"{size:,} bytes of heights",
            expected=f"{' or '.join(f'{legal:,}' for legal in sorted(_HGT_SIDES))} bytes",
            fix="get the tile again; only tiles of 1 and 3 arc-seconds are read",
        )
    return side


def _corner(file_name: str, name: str) -> tuple[int, int]:
    """South and west edge in whole degrees, from a name such as N34W119.hgt."""
    match = _HGT_NAME.match(file_name)
    south = int(match[2]) * (1 if match[1].upper() == "N" else -1) if match else 0
    west = int(match[4]) * (1 if match[3].upper() == "E" else -1) if match else 0
    if match is None or not (-90 <= south < 90 and -180 <= west < 180):
        raise InputError.single(
            name,
            "",
            found=f"the name {shown(file_name)} states no tile",
            expected="the south-west corner, such as N34W119.hgt",
            fix="give the file the name of its tile",
        )
    return south, west
