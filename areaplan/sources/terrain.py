"""Terrain: height of the ground above mean sea level, as files state it and on a project's grid."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
from attrs import field, frozen
from numpy.typing import ArrayLike

from areaplan.errors import InputError
from areaplan.sources._files import MAX_TERRAIN_BYTES, require_file, sha256_of
from areaplan.sources._geotiff import open_geotiff
from areaplan.sources._lattice import Placement, Tile
from areaplan.sources._terrain_files import HIGHEST_M, LOWEST_M, ArrayTile, is_hgt, read_hgt
from areaplan.sources._text import shown
from areaplan.sources.layers import SourceKind, SourceRecord
from areaplan.sources.vertical_datum import orthometric_name

if TYPE_CHECKING:
    from areaplan.geodesy import LocalFrame
    from areaplan.grid import Float64Array, Grid
    from areaplan.sources.spec import SourceSpec


@frozen(eq=False)
class TerrainOnGrid:
    """Ground of each cell of a grid.

    Attributes
    ----------
    lowest_amsl_m, highest_amsl_m : float64 array, shape grid.shape
        Lowest and highest ground anywhere in the cell, metres above mean sea level; NaN where any
        part of the cell is unknown.
    notes : tuple of str
        What a person must know: files with absurd heights, which were taken as unknown.
    """

    lowest_amsl_m: Float64Array
    highest_amsl_m: Float64Array
    notes: tuple[str, ...] = ()


@frozen(eq=False)
class Terrain:
    """A terrain model of one or more tiles.

    Attributes
    ----------
    record : SourceRecord
        Where it comes from.
    tiles : tuple of Tile
        In file order: where several know a height, the first counts.
    """

    record: SourceRecord
    tiles: tuple[Tile, ...] = field(repr=False)

    @classmethod
    def from_array(
        cls,
        heights_amsl_m: ArrayLike,
        west: float,
        south: float,
        east: float,
        north: float,
        record: SourceRecord,
    ) -> Terrain:
        """Terrain of heights in memory, posted evenly in longitude and latitude.

        Parameters
        ----------
        heights_amsl_m : array_like, shape (rows, cols)
            Metres above mean sea level, NaN unknown; row 0 is the northernmost, column 0 the
            westernmost.
        west, south, east, north : float
            Longitude and latitude of the outer posts, degrees on WGS 84.
        record : SourceRecord
            Of kind TERRAIN.

        Raises
        ------
        InputError
            Fewer than 2 by 2 posts, or a box that is not one.
        """
        heights = np.array(heights_amsl_m)
        place = ", ".join(record.paths) or "terrain in memory"
        is_box = -90.0 <= south < north <= 90.0 and west < east <= west + 360.0
        if heights.ndim != 2 or min(heights.shape) < 2 or not is_box:
            raise InputError.single(
                place,
                "",
                found=f"heights of shape {heights.shape} from {west}, {south} to {east}, {north}",
                expected="at least 2 by 2 posts in a box of west, south, east, north",
                fix="check the order of the edges",
            )
        rows, cols = heights.shape
        step_x, step_y = (east - west) / (cols - 1), (north - south) / (rows - 1)
        matrix = np.array([[step_x, 0.0, west], [0.0, -step_y, north]])
        return cls(record, (ArrayTile(place, Placement("EPSG:4326", True, matrix), heights),))

    def on_grid(self, grid: Grid, frame: LocalFrame) -> TerrainOnGrid:
        """Lowest and highest ground of every cell of a grid.

        Between its nodes the model's surface is bilinear. `highest_amsl_m` is the greatest height
        of that surface over the cell, found exactly, so no node inside the cell stands above it;
        `lowest_amsl_m` likewise. The model reaches half a node spacing beyond its outer nodes.
        A cell of which any part is unknown is unknown. Of several files the first that knows a
        height counts; in cells that no file knows alone, the nodes of all of them bound the
        surface.

        Parameters
        ----------
        grid : Grid
            Cells in the metres of `frame`.
        frame : LocalFrame
            The project's frame.

        Returns
        -------
        TerrainOnGrid

        Raises
        ------
        InputError
            A file has changed since it was checked, or is damaged.

        Notes
        -----
        Assumes that a cell's edges are straight in the coordinates of the file, which for cells up
        to 100 m is true to a millimetre. Heights between nodes may exceed the surface: the model's
        own error is not added here.
        """
        from areaplan.sources._resampling import terrain_on_grid

        lowest, highest, absurd = terrain_on_grid(self.tiles, grid, frame)
        notes = tuple(
            f"{name}: heights outside {LOWEST_M:.0f} to {HIGHEST_M:.0f} m, such as {value:.0f} m, "
            "are taken as unknown"
            for name, value in absurd.items()
        )
        return TerrainOnGrid(lowest, highest, notes)


def read_terrain(spec: SourceSpec) -> Terrain:
    """Check terrain files; heights are read later, as far as a grid needs them.

    Parameters
    ----------
    spec : SourceSpec
        Of kind TERRAIN: GeoTIFF in any coordinate system, SRTM .hgt or .hgt.zip tiles, mixed as
        they come. Its `vertical_datum` names a datum of heights above mean sea level.

    Returns
    -------
    Terrain

    Raises
    ------
    InputError
        A file is not a terrain model, or the vertical datum is missing, ellipsoidal, unknown, or
        contradicted by a file.
    """
    place = ", ".join(spec.names)
    datum = orthometric_name(spec.vertical_datum, place, f"{spec.key}.vertical_datum")
    tiles: list[Tile] = []
    digests: list[str] = []
    notes: list[str] = []
    for path, name in zip(spec.paths, spec.names, strict=True):
        require_file(path, name, MAX_TERRAIN_BYTES)
        parts: tuple[Any, ...] = (path,)
        tile: Tile
        if is_hgt(path):
            tile = read_hgt(path, name)
        elif path.suffix.lower() in (".tif", ".tiff"):
            tile, parts, more = open_geotiff(path, name, datum)
            notes += more
        else:
            raise InputError.single(
                name,
                "",
                found=f"the ending {shown(path.suffix)} is not known",
                expected="a terrain model: .tif, .hgt or .hgt.zip",
                fix="save the heights as GeoTIFF",
            )
        tiles.append(tile)
        digests.append(sha256_of(parts))
    record = SourceRecord(
        kind=SourceKind.TERRAIN,
        paths=spec.names,
        sha256=tuple(digests),
        edition=spec.edition,
        effective=spec.effective,
        expires=spec.expires,
        vertical_datum=datum,
        rows_read=len(tiles),
        rows_used=len(tiles),
        notes=tuple(dict.fromkeys(notes)),
    )
    return Terrain(record, tuple(tiles))
