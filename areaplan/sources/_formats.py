"""What each vector format needs before GDAL sees the file: its parts, its mark, its completeness.

A file is opened only when its first bytes agree with its ending, so that a renamed file cannot
reach one of GDAL's many other drivers.
"""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Final

from attrs import frozen

from areaplan.errors import InputError
from areaplan.sources._files import require_file
from areaplan.sources._text import one_line, shown

_HEAD_BYTES: Final = 100
_CHUNK_BYTES: Final = 1 << 20
_MAX_PARSED_BYTES: Final = 64 * 1024**2
_SHAPEFILE_NEEDS: Final = (".dbf", ".shx")
_SHAPEFILE_PARTS: Final = frozenset({".shp", ".shx", ".dbf", ".prj", ".cpg"})
_LEAD: Final = re.compile(rb"^(\xef\xbb\xbf|\xff\xfe|\xfe\xff)?\s*")
_XML_BANS: Final = {
    b"<!doctype": "a document type declaration, through which a file can swell without end",
    b"<!entity": "an entity declaration, through which a file can swell without end",
    b"<networklink": "a network link: its content lies elsewhere",
}
SAVE_AGAIN: Final = "open the file in the program that made it and save it again"


@frozen
class Format:
    """A vector format that is read.

    Attributes
    ----------
    words : str
        Its name.
    drivers : frozenset of str
        GDAL drivers that may open it.
    mark : re.Pattern
        What its first bytes look like, after a byte order mark and white space.
    missing_crs_fix : str
        What to do when it states no coordinate reference system.
    reads_all_layers : bool
        Whether every layer is read when none is named.
    """

    words: str
    drivers: frozenset[str]
    mark: re.Pattern[bytes]
    missing_crs_fix: str
    reads_all_layers: bool = False


_GEOJSON: Final = Format(
    "GeoJSON",
    frozenset({"GeoJSON"}),
    re.compile(rb"\{"),
    "save it in WGS 84 longitude/latitude (RFC 7946)",
)
_GEOPACKAGE: Final = Format(
    "GeoPackage",
    frozenset({"GPKG"}),
    re.compile(rb"SQLite format 3\x00"),  # OGC 12-128, 1.1.1.1.1
    "assign the layer its coordinate reference system in a GIS",
)
_KML: Final = Format(
    "KML",
    frozenset({"LIBKML", "KML"}),
    re.compile(rb"<|\x00<"),
    "save it in WGS 84 longitude/latitude",
    reads_all_layers=True,
)
_SHAPEFILE: Final = Format(
    "shapefile",
    frozenset({"ESRI Shapefile"}),
    re.compile(rb"\x00\x00\x27\x0a"),  # ESRI Shapefile Technical Description (1998), p. 4
    "put the .prj file, which states it, beside the .shp file",
)
FORMATS: Final = {
    ".geojson": _GEOJSON,
    ".json": _GEOJSON,
    ".gpkg": _GEOPACKAGE,
    ".kml": _KML,
    ".shp": _SHAPEFILE,
}


def check_container(path: Path, name: str, kind: Format) -> tuple[Path, ...]:
    """Check a file's first bytes and completeness as far as that goes without GDAL.

    Returns
    -------
    tuple of Path
        The files that make it up, in the order of their names.

    Raises
    ------
    InputError
        The content does not belong to the format, is cut short, lacks a part, or could do harm.
    """
    with path.open("rb") as stream:
        head = stream.read(_HEAD_BYTES)
    if not kind.mark.match(head if kind is _SHAPEFILE else _LEAD.sub(b"", head)):
        raise InputError.single(
            name,
            "",
            found=f"its first bytes are not those of a {kind.words} file",
            expected=f"a {kind.words} file",
            fix="give the file the ending of its real format, or save it again",
        )
    if kind is _GEOJSON:
        _check_members(path, name)
    elif kind is _GEOPACKAGE:
        _check_sqlite(head, path, name)
    elif kind is _KML:
        check_xml(path, name)
    elif kind is _SHAPEFILE:
        return _shapefile_parts(path, name, head)
    return (path,)


def check_xml(path: Path, name: str) -> None:
    """Refuse an XML file that declares entities or that keeps its content elsewhere.

    Raises
    ------
    InputError
        It does.
    """
    overlap = max(len(ban) for ban in _XML_BANS)
    tail = b""
    with path.open("rb") as stream:
        while chunk := stream.read(_CHUNK_BYTES):
            # UTF-16 puts a zero beside each ASCII letter.
            text = tail + chunk.replace(b"\x00", b"").lower()
            for ban, words in _XML_BANS.items():
                if ban in text:
                    raise InputError.single(
                        name,
                        "",
                        found=f"it holds {words}",
                        expected="a file that holds all of its own content",
                        fix="save the places themselves in a file of their own",
                    )
            tail = text[-overlap:]


def _check_members(path: Path, name: str) -> None:
    """Refuse a collection with members that are no features: GDAL leaves them out in silence."""
    if path.stat().st_size > _MAX_PARSED_BYTES:
        return
    try:
        document = json.loads(path.read_bytes())
    except (ValueError, RecursionError) as error:
        raise InputError.single(
            name,
            "",
            found=f"it is not JSON ({one_line(error)})",
            expected="a complete GeoJSON file",
            fix=SAVE_AGAIN,
        ) from error
    members = document.get("features") if isinstance(document, dict) else None
    for number, member in enumerate(members if isinstance(members, list) else [], start=1):
        kind = member.get("type") if isinstance(member, dict) else None
        if kind != "Feature":
            raise InputError.single(
                name,
                f"feature {number}",
                found=f"its type is {shown(kind) or 'missing'}",
                expected='the type "Feature" (RFC 7946, 3.2)',
                fix="correct or delete this member of the collection",
            )


def _check_sqlite(head: bytes, path: Path, name: str) -> None:
    journal = path.with_name(path.name + "-wal")
    if journal.exists() and journal.stat().st_size > 0:
        raise InputError.single(
            name,
            "",
            found="another program has it open: part of its content is still in the -wal file",
            expected="a complete GeoPackage file",
            fix="close the program that edits it, then try again",
        )
    size = path.stat().st_size
    # SQLite file format, 1.3: page size at byte 16 (1 means 65536), count of pages at byte 28,
    # which is trusted when the counters at bytes 24 and 92 agree.
    page_bytes = int.from_bytes(head[16:18], "big")
    page_bytes = 65536 if page_bytes == 1 else page_bytes
    pages = int.from_bytes(head[28:32], "big")
    if head[24:28] == head[92:96] and pages and size < pages * page_bytes:
        raise InputError.single(
            name,
            "",
            found=f"it is cut short: {size:,} of {pages * page_bytes:,} bytes",
            expected="a complete GeoPackage file",
            fix="copy the file again",
        )


def _shapefile_parts(path: Path, name: str, head: bytes) -> tuple[Path, ...]:
    siblings = {
        other.suffix.lower(): other
        for other in sorted(path.parent.iterdir())
        if other.stem == path.stem and other.suffix.lower() in _SHAPEFILE_PARTS
    }
    siblings[".shp"] = path
    missing = [suffix for suffix in _SHAPEFILE_NEEDS if suffix not in siblings]
    if missing:
        raise InputError.single(
            name,
            "",
            found=f"its part {' and '.join(missing)} is missing",
            expected="a shapefile with its .shp, .shx, .dbf and .prj parts",
            fix="copy all parts into the same folder",
        )
    for suffix, part in siblings.items():
        if suffix != ".cpg":
            require_file(part, str(Path(name).with_suffix(suffix)))
    # The header states the length in 16-bit words (ESRI Shapefile Technical Description, p. 4).
    length = 2 * int.from_bytes(head[24:28], "big")
    if path.stat().st_size < length:
        raise InputError.single(
            name,
            "",
            found=f"it is cut short: {path.stat().st_size:,} of {length:,} bytes",
            expected="a complete shapefile",
            fix="copy the file again",
        )
    return tuple(sorted(siblings.values()))
