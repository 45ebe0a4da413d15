"""One evaluation as files for other programs, each whole, none overwritten unasked."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from enum import StrEnum
from pathlib import Path

from areaplan.errors import Fault, InputError
from areaplan.planning.plan import Plan
from areaplan.render.export_gpx import plan_gpx
from areaplan.render.export_kml import plan_kml
from areaplan.render.export_layers import plan_tables
from areaplan.render.export_notes import ExportNotes, export_notes
from areaplan.render.export_table import Table
from areaplan.render.geojson import feature, geojson_bytes
from areaplan.render.geopackage import geopackage_bytes
from areaplan.render.geotiff import surface_files
from areaplan.render.whole_file import write_whole


class Format(StrEnum):
    """The formats of an export."""

    GEOJSON = "geojson"
    KML = "kml"
    GPX = "gpx"
    GEOPACKAGE = "geopackage"
    GEOTIFF = "geotiff"


def export_files(
    plan: Plan,
    stem: str,
    formats: Iterable[Format],
    altitudes_amsl_ft: Sequence[int] = (),
    *,
    has_sectors: bool = False,
    has_standoffs: bool = False,
) -> dict[str, bytes]:
    """Make every file of an export in memory.

    Parameters
    ----------
    plan : Plan
    stem : str
        Name of the single files, without an ending.
    formats : iterable of Format
    altitudes_amsl_ft : sequence of int
        Where the classes are drawn, whole feet AMSL; empty: at the planned altitudes.
    has_sectors : bool
        Whether the GeoTIFF surfaces include those of the twelve sectors.
    has_standoffs : bool
        Whether the ground that standoffs close is drawn at the altitudes of the classes.

    Returns
    -------
    dict
        Path relative to the folder of the export, with "/", to the file's bytes. The same for the
        same plan and libraries.
    """
    chosen = set(formats)
    notes = export_notes(plan)
    altitudes_ft = altitudes_amsl_ft or plan.project.planned_altitudes_amsl_ft
    tables = plan_tables(plan, altitudes_ft, has_standoffs=has_standoffs)
    files: dict[str, bytes] = {}
    if Format.GEOJSON in chosen:
        files |= {f"geojson/{table.name}.geojson": _geojson(table, notes) for table in tables}
    if Format.KML in chosen:
        files[f"{stem}.kml"] = plan_kml(tables, notes)
    if Format.GPX in chosen:
        files[f"{stem}.gpx"] = plan_gpx(tables, notes)
    if Format.GEOPACKAGE in chosen:
        files[f"{stem}.gpkg"] = geopackage_bytes(tables, notes)
    if Format.GEOTIFF in chosen:
        made = surface_files(plan, notes, has_sectors=has_sectors)
        files |= {f"geotiff/{name}": content for name, content in made.items()}
    return files


def write_export(
    files: dict[str, bytes], folder: Path, *, is_replacing: bool = False
) -> tuple[Path, ...]:
    """Write the files of an export, each whole or not at all.

    Parameters
    ----------
    files : dict
        As `export_files` makes them.
    folder : Path
        Made where it is missing; its parent must be there.
    is_replacing : bool
        Whether files that are there already may be replaced.

    Returns
    -------
    tuple of Path
        What was written, in order of name.

    Raises
    ------
    InputError
        Files are there already (all of them named, nothing written), or the folder can't be made
        or written to.
    """
    targets = {folder / name: content for name, content in sorted(files.items())}
    if not is_replacing:
        _refuse_existing(targets)
    for target, content in targets.items():
        _make_folder(target.parent, folder)
        write_whole(target, content, "the export", "--to")
    return tuple(targets)


def _refuse_existing(targets: Iterable[Path]) -> None:
    faults = [
        Fault(
            str(target),
            "",
            found="the file is there already",
            expected="no file of that name",
            fix="export to another folder, or give --replace",
        )
        for target in targets
        if target.exists()
    ]
    if faults:
        raise InputError(faults)


def _make_folder(folder: Path, top: Path) -> None:
    try:
        top.mkdir(exist_ok=True)
        folder.mkdir(exist_ok=True)
    except OSError as error:
        raise InputError.single(
            str(folder),
            "",
            found=f"the folder cannot be made: {error.strerror or error}",
            expected="a folder that exists, or whose parent can be written to",
            fix="make the folder, or name another one with --to",
        ) from error


def _geojson(table: Table, notes: ExportNotes) -> bytes:
    about = {"title": table.title, "note": table.note, "areaplan": notes.as_json()}
    return geojson_bytes((feature(shape, row) for row, shape in table.records()), about)
