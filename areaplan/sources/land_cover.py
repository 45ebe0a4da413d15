"""Land cover: which class of ground a map of classes shows. A hint of fields, never a proof."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING, Final

import numpy as np
from attrs import field, frozen
from numpy.typing import NDArray

from areaplan.errors import Fault, InputError
from areaplan.sources._class_rasters import CodeTile, read_codes
from areaplan.sources._files import MAX_TERRAIN_BYTES, raise_faults, require_file, sha256_of
from areaplan.sources._lattice import Placement
from areaplan.sources._text import shown
from areaplan.sources.land_cover_legends import UNKNOWN_CLASS, Legend, load_legend
from areaplan.sources.layers import SourceRecord

if TYPE_CHECKING:
    from pathlib import Path

    from areaplan.geodesy import LocalFrame
    from areaplan.grid import Float64Array, Grid, Int16Array
    from areaplan.sources._vector import LonLatBox
    from areaplan.sources.spec import SourceSpec

_MOST_NAMED_CODES: Final = 8
_ENDINGS: Final = (".tif", ".tiff")


@frozen(eq=False)
class ClassTile:
    """Pixels of one file, their codes turned into positions in the legend.

    Attributes
    ----------
    name : str
    placement : Placement
        x, y of the north-west corner of pixel (column j, row i) = matrix @ (j, i, 1).
    classes : uint8 array, shape (rows, cols)
        Position in `Legend.classes`; `UNKNOWN_CLASS` where there is no class.
    """

    name: str
    placement: Placement
    classes: NDArray[np.uint8]

    @property
    def shape(self) -> tuple[int, int]:
        """Rows and columns of pixels."""
        return self.classes.shape[0], self.classes.shape[1]

    def read(self, row: int, col: int, rows: int, cols: int) -> tuple[Float64Array, None]:
        """Classes of a window, NaN unknown; see `areaplan.sources._lattice.Tile`."""
        part = self.classes[row : row + rows, col : col + cols]
        return np.where(part == UNKNOWN_CLASS, np.nan, part.astype(np.float64)), None


@frozen(eq=False)
class LandCover:
    """A land-cover map of one or more files.

    Attributes
    ----------
    record : SourceRecord
        Where it comes from.
    legend : Legend
    tiles : tuple of ClassTile
    """

    record: SourceRecord
    legend: Legend
    tiles: tuple[ClassTile, ...] = field(repr=False)

    def on_grid(self, grid: Grid, frame: LocalFrame) -> Int16Array:
        """Rank of every cell as ground on which a field may lie.

        A cell takes the worst of all the pixels that it touches (by more than a millionth of a
        pixel), from every file: one pixel of another class is enough to close it.

        Parameters
        ----------
        grid : Grid
            Cells in the metres of `frame`.
        frame : LocalFrame

        Returns
        -------
        int16 array, shape grid.shape
            1 first choice, 2 second, 3 third; 0 not a candidate; -1 unknown: no pixel says
            otherwise, and some part of the cell has no class.

        Notes
        -----
        Assumes that a cell's edges are straight in the coordinates of the file, which for cells up
        to 250 m holds to a hundredth of a 10 m pixel. Where the box round a cell, along the file's
        own rows and columns, holds a pixel that the cell itself misses, that pixel counts too.
        """
        from areaplan.sources._class_cells import ranks_on_grid

        ranks = np.array([row.rank for row in self.legend.classes], dtype=np.int16)
        return ranks_on_grid(self.tiles, ranks, grid, frame)

    def classes_on_grid(self, grid: Grid, frame: LocalFrame) -> Int16Array:
        """Class of the pixel at the centre of every cell.

        Returns
        -------
        int16 array, shape grid.shape
            Position in `legend.classes`, -1 where there is none. Of several files the first that
            has a class there counts.
        """
        from areaplan.sources._class_cells import classes_at_centres

        return classes_at_centres(self.tiles, grid, frame)


def read_land_cover(spec: SourceSpec, clip_lonlat: LonLatBox | None = None) -> LandCover:
    """Read maps of classes: GeoTIFF in any coordinate system, palette or not.

    A datum a few metres off, which such files often carry, matters nothing at their pixel size;
    one without a known way from WGS 84 is refused.

    Parameters
    ----------
    spec : SourceSpec
        Of kind LAND_COVER; its `legend` is one of `legend_names`.
    clip_lonlat : tuple of float, optional
        West, south, east, north in degrees: pixels outside are left unread, and unchecked.

    Raises
    ------
    InputError
        A file is not such a map, or holds codes that the legend does not know, each named with its
        count of pixels.
    """
    legend = load_legend(spec.legend)
    tiles: list[ClassTile] = []
    digests: list[str] = []
    notes: list[str] = [f"{legend.title}: {legend.accuracy}; every field on it is to confirm"]
    faults: list[Fault] = []
    for path, name in zip(spec.paths, spec.names, strict=True):
        _check_path(path, name)
        read = read_codes(path, name, clip_lonlat)
        notes += read.notes
        if read.codes.size == 0:
            notes.append(f"{name}: it does not reach the country round the area")
        classes, odd = _classes(read, legend)
        faults += _odd_codes(name, odd, legend, spec.key)
        tiles.append(ClassTile(name, read.placement, classes))
        digests.append(sha256_of(read.parts))
    raise_faults(faults)
    record = SourceRecord(
        kind=spec.kind,
        paths=spec.names,
        sha256=tuple(digests),
        edition=spec.edition,
        effective=spec.effective,
        expires=spec.expires,
        rows_read=len(tiles),
        rows_used=len(tiles),
        notes=tuple(dict.fromkeys(notes)),
    )
    return LandCover(record, legend, tuple(tiles))


def _check_path(path: Path, name: str) -> None:
    require_file(path, name, MAX_TERRAIN_BYTES)
    if path.suffix.lower() not in _ENDINGS:
        raise InputError.single(
            name,
            "",
            found=f"the ending {shown(path.suffix)} is not known",
            expected="a land-cover map: .tif",
            fix="save the classes as GeoTIFF",
        )


def _classes(read: CodeTile, legend: Legend) -> tuple[NDArray[np.uint8], Counter[int]]:
    """Position of every pixel's class, and how many pixels have codes that the legend lacks."""
    codes, place = np.unique(read.codes, return_inverse=True)
    positions = legend.positions(codes.astype(np.int64))
    classes = positions[place].reshape(read.codes.shape)
    classes[read.is_blank] = UNKNOWN_CLASS
    counts = np.bincount(place.reshape(-1)[~read.is_blank.reshape(-1)], minlength=codes.size)
    odd = Counter(
        {
            int(code): int(count)
            for code, count, position in zip(codes, counts, positions, strict=True)
            if count and position == UNKNOWN_CLASS and int(code) not in legend.no_data
        }
    )
    return classes, odd


def _odd_codes(name: str, odd: Counter[int], legend: Legend, key: str) -> list[Fault]:
    """Faults of a file with codes that the legend does not know."""
    if not odd:
        return []
    for other in legend.others:
        given_away = [code for code in other.codes if code in odd]
        if given_away:
            found = _counted(odd, given_away)
            expected = f"{legend.title}; its legend differs from that of {other.title}"
            fix = "get the map of a later year: the same code means other ground in this one"
            return [Fault(name, "", found, expected, fix)]
    found = _counted(odd, [code for code, _ in odd.most_common()])
    expected = f"only codes of {legend.title}: {', '.join(map(str, legend.codes))}"
    fix = f"check {key}.legend, or make these pixels nodata if they stand for nothing"
    return [Fault(name, "", found, expected, fix)]


def _counted(odd: Counter[int], codes: list[int]) -> str:
    named = [f"code {code} in {odd[code]:,} pixels" for code in codes[:_MOST_NAMED_CODES]]
    more = len(codes) - len(named)
    return ", ".join(named) + (f" and {more} more codes" if more else "")
