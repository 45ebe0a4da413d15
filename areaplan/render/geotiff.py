"""Surfaces of a plan as cloud-optimised GeoTIFF, every overview to the cautious side.

The files keep the project's own frame and cells: nothing is resampled, a value is the cell's.
GDAL's own overviews would average floors downwards, so they are made here by `map_pooling`.
"""

from __future__ import annotations

import tempfile
from collections.abc import Callable, Iterator, Mapping
from html import escape
from pathlib import Path
from typing import Any, Final

import numpy as np
from attrs import frozen

from areaplan.grid import Grid, Int16Array
from areaplan.planning.plan import (
    NO_BAND_FT,
    NO_LIMIT_FT,
    UNKNOWN_FT,
    UNREACHABLE_FT,
    Cells,
    Plan,
)
from areaplan.render.export_notes import ExportNotes
from areaplan.render.map_pooling import coarsened
from areaplan.render.xml_text import xml_text
from areaplan.sources._environment import load_rasterio

BLOCK: Final = 512  # cells along the side of a tile
_CLOSED: Final = f"{UNREACHABLE_FT}: closed at every altitude considered"


@frozen
class Surface:
    """One file: a name, its meaning, and how its bands come from the cells.

    Attributes
    ----------
    name : str
        Of the file, without its ending; unit and reference in it.
    meaning : str
        What a value says, and what its special values say.
    bands : callable
        From `Cells` to int16 arrays, whole feet AMSL, UNKNOWN_FT where unknown.
    words : tuple of str
        Description of each band.
    """

    name: str
    meaning: str
    bands: Callable[[Cells], tuple[Int16Array, ...]]
    words: tuple[str, ...]


def _band_floor(cells: Cells) -> tuple[Int16Array, ...]:
    floor = cells.bands_amsl_ft[0, 0]
    closed = np.where(floor == NO_BAND_FT, UNREACHABLE_FT, floor)
    return (np.where(cells.is_legal_unknown, UNKNOWN_FT, closed).astype(np.int16),)


def _band_ceiling(cells: Cells) -> tuple[Int16Array, ...]:
    """No band leaves no ceiling: unknown, and the floor beside it says closed."""
    ceiling = cells.bands_amsl_ft[0, 1]
    is_silent = cells.is_legal_unknown | (ceiling == NO_BAND_FT)
    return (np.where(is_silent, UNKNOWN_FT, ceiling).astype(np.int16),)


SURFACES: Final = (
    Surface(
        "terrain_amsl_ft",
        "highest ground in the cell, rounded up",
        lambda cells: (cells.terrain_amsl_ft,),
        ("highest ground",),
    ),
    Surface(
        "legal_floor_amsl_ft",
        f"lowest altitude above every height and distance rule, airspace not counted; {_CLOSED}",
        lambda cells: (cells.legal_floor_amsl_ft,),
        ("legal floor",),
    ),
    Surface(
        "lowest_band_floor_amsl_ft",
        f"floor of the lowest open band, airspace and its margins counted; {_CLOSED}",
        _band_floor,
        ("floor of the lowest open band",),
    ),
    Surface(
        "lowest_band_ceiling_amsl_ft",
        "ceiling of the lowest open band, itself usable; "
        f"{NO_LIMIT_FT}: no ceiling in the data; no data where no band is open",
        _band_ceiling,
        ("ceiling of the lowest open band",),
    ),
    Surface(
        "glide_required_amsl_ft",
        "lowest altitude from which a glide reaches a field whatever the heading, in the given "
        f"wind; {UNREACHABLE_FT}: no altitude considered is enough",
        lambda cells: (cells.glide_required_amsl_ft,),
        ("glide required",),
    ),
)
SECTOR_SURFACE: Final = Surface(
    "sector_required_amsl_ft",
    "the same for a glide that leaves in a sector, no turn counted; one band a sector, centred on "
    f"000, 030, ... 330 degrees true; {UNREACHABLE_FT}: no altitude considered is enough",
    lambda cells: tuple(cells.sector_amsl_ft),
    tuple(f"glide required leaving near {30 * k:03d} degrees true" for k in range(12)),
)


def surface_files(plan: Plan, notes: ExportNotes, *, has_sectors: bool = False) -> dict[str, bytes]:
    """Surfaces of a plan, a file each.

    Parameters
    ----------
    plan : Plan
    notes : ExportNotes
        Go into the tags.
    has_sectors : bool
        Also the twelve sector surfaces, as twelve bands of one file.

    Returns
    -------
    dict
        File name to bytes; the same for the same plan and libraries.
    """
    levels = list(_levels(plan.grid, plan.cells))
    surfaces = (*SURFACES, SECTOR_SURFACE) if has_sectors else SURFACES
    return {
        f"{one.name}.tif": _cog_bytes(
            one, [(grid, one.bands(cells)) for grid, cells in levels], plan, notes
        )
        for one in surfaces
    }


def _levels(grid: Grid, cells: Cells) -> Iterator[tuple[Grid, Cells]]:
    """The cells and their coarser forms, down to one tile; each pooled from the finest."""
    yield grid, cells
    factor = 2
    while max(grid.shape) > BLOCK * factor // 2:
        yield coarsened(grid, cells, factor)
        factor *= 2


def _cog_bytes(
    surface: Surface,
    levels: list[tuple[Grid, tuple[Int16Array, ...]]],
    plan: Plan,
    notes: ExportNotes,
) -> bytes:
    rasterio = load_rasterio()
    from rasterio.shutil import copy as copy_raster

    crs = rasterio.crs.CRS.from_string(plan.frame.crs_text)
    with tempfile.TemporaryDirectory(prefix="areaplan-") as folder:
        for number, (grid, bands) in enumerate(levels):
            _write_level(Path(folder) / f"level{number}.tif", grid, bands, crs)
        vrt = Path(folder) / "surface.vrt"
        vrt.write_text(
            _vrt_text(surface, levels, crs.to_wkt(), _tags(surface, plan, notes)), encoding="utf-8"
        )
        target = Path(folder) / "surface.tif"
        copy_raster(
            str(vrt),
            str(target),
            driver="COG",
            BLOCKSIZE=str(BLOCK),
            COMPRESS="DEFLATE",
            PREDICTOR="YES",
            OVERVIEWS="FORCE_USE_EXISTING" if len(levels) > 1 else "NONE",
        )
        return target.read_bytes()


def _write_level(path: Path, grid: Grid, bands: tuple[Int16Array, ...], crs: Any) -> None:
    rasterio = load_rasterio()
    from affine import Affine

    with rasterio.open(
        path,
        "w",
        driver="GTiff",
        width=grid.cols,
        height=grid.rows,
        count=len(bands),
        dtype="int16",
        crs=crs,
        transform=Affine(grid.cell_m, 0.0, grid.x_min_m, 0.0, -grid.cell_m, grid.y_max_m),
        nodata=UNKNOWN_FT,
    ) as file:
        file.write(np.stack(bands))


def _vrt_text(
    surface: Surface,
    levels: list[tuple[Grid, tuple[Int16Array, ...]]],
    wkt: str,
    tags: Mapping[str, str],
) -> str:
    """A virtual raster that names our own overviews, for GDAL's driver to copy from."""
    grid = levels[0][0]
    place = (grid.x_min_m, grid.cell_m, 0.0, grid.y_max_m, 0.0, -grid.cell_m)
    metadata = "".join(
        f'<MDI key="{escape(key)}">{escape(xml_text(value))}</MDI>' for key, value in tags.items()
    )
    bands = "".join(
        f'<VRTRasterBand dataType="Int16" band="{band}"><Description>{escape(words)}</Description>'
        f"<UnitType>ft</UnitType><NoDataValue>{UNKNOWN_FT}</NoDataValue>"
        f"<SimpleSource>{_source(0, band)}</SimpleSource>"
        + "".join(f"<Overview>{_source(n, band)}</Overview>" for n in range(1, len(levels)))
        + "</VRTRasterBand>"
        for band, words in enumerate(surface.words, start=1)
    )
    return (
        f'<VRTDataset rasterXSize="{grid.cols}" rasterYSize="{grid.rows}"><SRS>{escape(wkt)}</SRS>'
        f"<GeoTransform>{', '.join(repr(value) for value in place)}</GeoTransform>"
        f"<Metadata>{metadata}</Metadata>{bands}</VRTDataset>"
    )


def _source(level: int, band: int) -> str:
    return (
        f'<SourceFilename relativeToVRT="1">level{level}.tif</SourceFilename>'
        f"<SourceBand>{band}</SourceBand>"
    )


def _tags(surface: Surface, plan: Plan, notes: ExportNotes) -> dict[str, str]:
    record = plan.layers.terrain.record
    return {
        "TITLE": f"{notes.title}: {surface.name}",
        "MEANING": surface.meaning,
        "UNIT": "whole feet above mean sea level",
        "VERTICAL_DATUM": record.vertical_datum or "mean sea level as the terrain data state it",
        "UNKNOWN": f"{UNKNOWN_FT} (no data) is unknown, and unknown is never clear",
        "OVERVIEWS": "of every block the most demanding value, unknown where any is",
        "CAUTIONS": "\n".join(notes.cautions),
        "NOTES": "\n".join(notes.lines()[len(notes.cautions) :]),
    }
