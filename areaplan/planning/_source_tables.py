"""The `[[source]]` tables of a project file, each kind held to what its reader needs."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from areaplan.sources.land_cover_legends import legend_names
from areaplan.sources.layers import SourceKind
from areaplan.sources.spec import SourceSpec
from areaplan.toml_quantities import Bounds, read_quantity
from areaplan.toml_tables import Table
from areaplan.units import parse_length

_KINDS: Final = tuple(kind for kind in SourceKind if kind is not SourceKind.AREA)
# Where a row without a height takes it; the reader demands it when there is such a row.
_MAY_DEFAULT_HEIGHT: Final = frozenset(
    {
        SourceKind.OBSTACLES,
        SourceKind.STRUCTURES,
        SourceKind.PERSONS,
        SourceKind.WIRES,
        SourceKind.WOODS,
    }
)
# They show a pilot the way and no more: nothing follows from their silence.
_TO_FLY_BY: Final = frozenset(
    {
        SourceKind.RAILS,
        SourceKind.FENCES,
        SourceKind.SECTION_LINES,
        SourceKind.CANALS,
        SourceKind.LANDMARKS,
        SourceKind.REFERENCES,
    }
)
_MAY_COUNT_AS_VEHICLE: Final = frozenset({SourceKind.ROADS, SourceKind.RAILS})
_MAY_CARRY_DATUM: Final = frozenset({SourceKind.TERRAIN, SourceKind.OBSTACLES})
_DEFAULT_HEIGHT: Final = Bounds(
    parse_length,
    "1 ft",
    "2000 ft",
    "30 ft",
    "it stands in for every height that the file does not give, so it must not be nothing",
)
_COVERS_WORDS: Final = '"all", "extent" or the path of a polygon file'

_NONE_WORDS: Final = "who looked, when, and saw none"
_NONE_EXAMPLE: Final = "none seen on 2026-10-02, chief instructor"


def read_area(table: Table, folder: Path) -> SourceSpec:
    """Turn the `area` key of `[project]` into a source of its own."""
    name = table.text("area", "the file of the drawn practice area", "area.geojson")
    path = resolve_file(table, "area", name, folder)
    return SourceSpec(
        SourceKind.AREA,
        (path,) if path else (),
        (name,),
        edition="as drawn",
        key=table.path("area"),
    )


def read_sources(whole: Table, folder: Path) -> tuple[SourceSpec, ...]:
    """Read every `[[source]]` table; exactly one must be of kind terrain."""
    tables = whole.tables("source")
    specs = [spec for table in tables if (spec := _source(table, folder)) is not None]
    grounds = [spec.key for spec in specs if spec.kind is SourceKind.TERRAIN]
    if not grounds:
        whole.note(
            "source",
            'no source of kind "terrain"',
            "exactly one",
            'add a [[source]] table with kind = "terrain"',
        )
    elif len(grounds) > 1:
        whole.note(
            "source",
            f'{len(grounds)} sources of kind "terrain": {", ".join(grounds)}',
            "exactly one",
            "put all its files into the files list of a single table",
        )
    return tuple(specs)


def _source(table: Table, folder: Path) -> SourceSpec | None:
    kind = _kind(table)
    names = _names(table)
    has_none, has_files = table.has("none_because"), table.has("files")
    spec = SourceSpec(
        kind or SourceKind.AREA,
        paths=_paths(table, names, folder),
        names=names,
        layer=table.text("layer", "the name of a layer", "buildings", default=""),
        edition=_edition(table, is_needed=not has_none),
        effective=table.day("effective"),
        expires=table.day("expires"),
        vertical_datum=table.text("vertical_datum", "a vertical datum", "EGM96", default=""),
        covers=table.text("covers", _COVERS_WORDS, "all", default="all"),
        covers_path=_covers_path(table, folder),
        default_height_m=_default_height_m(table),
        presence=table.choice("count_as", ("vehicle",), default="") or "",
        none_because=table.text("none_because", _NONE_WORDS, _NONE_EXAMPLE, default=""),
        key=table.key,
        legend=_legend(table, kind),
    )
    table.refuse_unknown()
    if kind is None:
        return None
    _check_files_or_none(table, kind, has_files=has_files, has_none=has_none)
    _check_dates(table, spec)
    if has_files and not has_none:
        _check_kind_needs(table, kind)
    _check_kind_allows(table, kind, has_none=has_none)
    return spec


def _kind(table: Table) -> SourceKind | None:
    if table.values.get("kind") == SourceKind.AREA.value:
        table.has("kind")
        table.note(
            "kind",
            "'area', a second time",
            "the drawn area only once, as area in [project]",
            "delete this table",
        )
        return None
    return table.choice("kind", _KINDS)


def _names(table: Table) -> tuple[str, ...]:
    if not table.has("files"):
        return ()
    return table.texts("files", "a list of one or more files", '["fields.geojson"]')


def _paths(table: Table, names: tuple[str, ...], folder: Path) -> tuple[Path, ...]:
    paths = (resolve_file(table, "files", name, folder) for name in names)
    return tuple(path for path in paths if path)


def _edition(table: Table, *, is_needed: bool) -> str:
    words = "the edition or cycle as published, or who drew it and when"
    return table.text(
        "edition", words, "drawn 2026-10-02, J. Doe", default=None if is_needed else ""
    )


def _default_height_m(table: Table) -> float | None:
    if not table.has("default_height"):
        return None
    return read_quantity(table, "default_height", _DEFAULT_HEIGHT)


def _legend(table: Table, kind: SourceKind | None) -> str:
    if kind is not SourceKind.LAND_COVER and not table.has("legend"):
        return ""
    return table.choice("legend", legend_names()) or ""


def _covers_path(table: Table, folder: Path) -> Path | None:
    covers = table.values.get("covers")
    if not isinstance(covers, str) or not covers.strip() or covers in ("all", "extent"):
        return None
    return resolve_file(table, "covers", covers, folder, otherwise=f"{_COVERS_WORDS}, ")


def _check_files_or_none(
    table: Table, kind: SourceKind, *, has_files: bool, has_none: bool
) -> None:
    if has_none and kind is SourceKind.TERRAIN:
        table.note(
            "none_because", "given for terrain", "files: there is always ground", "name the files"
        )
    elif has_none and kind is SourceKind.LAND_COVER:
        table.note(
            "none_because",
            "given for land-cover",
            "files: something covers every ground",
            "name the files, or delete this table: no other source needs it",
        )
    elif has_none and has_files:
        table.note(
            "none_because",
            "given together with files",
            "files, or the reason why there are none, not both",
            "delete one of the two",
        )
    elif not has_none and not has_files:
        table.note_missing(
            "files",
            "the files of this source, or none_because with who looked and when",
            f'add files = ["..."], or none_because = "{_NONE_EXAMPLE}"',
        )


def _check_dates(table: Table, spec: SourceSpec) -> None:
    if spec.effective and spec.expires and spec.expires < spec.effective:
        table.note(
            "expires",
            f"{spec.expires}, before effective {spec.effective}",
            "a last day on or after the first",
            "check both dates against the publication",
        )


def _check_kind_needs(table: Table, kind: SourceKind) -> None:
    if kind is SourceKind.TERRAIN:
        if not table.has("vertical_datum"):
            table.note_missing(
                "vertical_datum",
                "the mean-sea-level datum of the heights, as published",
                'add vertical_datum = "EGM96", "EGM2008", "NAVD88" or what the publisher states',
            )
    elif kind is SourceKind.LAND_COVER or (kind in _TO_FLY_BY and "count_as" not in table.values):
        return
    elif not table.has("covers"):
        table.note_missing(
            "covers",
            f"{_COVERS_WORDS}: where does the silence of this file mean that nothing is there?",
            'add covers = "extent", or "all" if the file speaks for everything around the area',
        )


def _check_kind_allows(table: Table, kind: SourceKind, *, has_none: bool) -> None:
    is_raster = kind in (SourceKind.TERRAIN, SourceKind.LAND_COVER)
    no_use = {
        "covers": is_raster and f"{kind.value} speaks where its posts or pixels are",
        "layer": (is_raster or has_none) and "there is no layer to choose here",
        "default_height": (kind not in _MAY_DEFAULT_HEIGHT or has_none)
        and f"only {', '.join(sorted(_MAY_DEFAULT_HEIGHT))} with files take a default height",
        "vertical_datum": (kind not in _MAY_CARRY_DATUM or has_none)
        and "only terrain and obstacles carry heights above mean sea level",
        "count_as": (kind not in _MAY_COUNT_AS_VEHICLE or has_none)
        and "only roads and rails with files can count as vehicles",
        "legend": kind is not SourceKind.LAND_COVER and "only land-cover has classes with codes",
    }
    for key, why in no_use.items():
        if why and key in table.values:
            table.note(key, f"given for {kind.value}", f"nothing: {why}", f"delete {key}")
    if has_none and table.values.get("covers") == "extent":
        table.note(
            "covers",
            '"extent" without files',
            '"all" or the path of a polygon file: there are no rows to take an extent from',
            'write covers = "all", or draw where you looked',
        )


def resolve_file(
    table: Table, key: str, name: str, folder: Path, *, otherwise: str = ""
) -> Path | None:
    """Path of a file named in the project, from the project's folder; None and a fault if absent.

    Parameters
    ----------
    table, key
        Where it is named.
    name : str
        As written; "" (already at fault) gives None.
    folder : Path
        Folder of the project file.
    otherwise : str
        What else the key may hold, for the message.
    """
    if not name:
        return None
    path = folder / name
    try:
        if path.is_file():
            return path
        found = "a folder" if path.is_dir() else "no such file"
    except OSError as error:
        found = f"unreadable ({error.strerror})"
    table.note(
        key,
        f"{name!r}: {found}; tried {path}",
        f"{otherwise}a file, its path taken from the folder of the project file",
        "correct the path, or put the file there",
    )
    return None
