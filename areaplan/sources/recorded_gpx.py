"""Recorded flights in GPX: the points of its tracks, read as a stream.

References
----------
GPX 1.1 schema, http://www.topografix.com/GPX/1/1 (1.0 has the same points, from memory): latitude
and longitude on WGS 84, elevation in metres, time in UTC. It does not say what an elevation is
measured from; that receivers write height above mean sea level is common practice.
"""

from __future__ import annotations

import math
import re
from datetime import UTC, datetime
from pathlib import Path
from typing import Final
from xml.parsers import expat

from areaplan.errors import InputError
from areaplan.sources._files import MAX_ROWS
from areaplan.sources._text import one_line, shown
from areaplan.sources.recorded_flight import RecordedFlight, Row, as_flight

_NAMESPACE: Final = re.compile(r"http://www\.topografix\.com/GPX/1/[01]")
_CHUNK_BYTES: Final = 1 << 16
_LONGEST_TEXT: Final = 64  # characters of a time or an elevation
_HIGHEST_M: Final = 20_000.0
_LOWEST_M: Final = -500.0
_ABOUT_HEIGHTS: Final = (
    "elevations: taken as satellite altitudes above mean sea level, as is common practice; the "
    "form does not say what they refer to, and the ellipsoid may lie 100 m from mean sea level"
)


class _StopError(Exception):
    """Leaves the parser with what was found."""


class _Reader:
    """Collects track points from the events of a parser; nothing else is kept."""

    def __init__(self) -> None:
        self.rows: list[Row] = []
        self.rejected: list[str] = []
        self._path: list[str] = []
        self._segment = -1
        self._count = 0
        self._point: dict[str, str] = {}
        self._text: list[str] = []
        self.parser = expat.ParserCreate(namespace_separator=" ")
        self.parser.StartDoctypeDeclHandler = self._refuse_doctype
        self.parser.StartElementHandler = self._start
        self.parser.EndElementHandler = self._end
        self.parser.CharacterDataHandler = self._characters

    def _refuse_doctype(self, *_: object) -> None:
        raise _StopError("a document type declaration")

    def _start(self, tag: str, attributes: dict[str, str]) -> None:
        space, _, local = tag.rpartition(" ")
        if not self._path and (local != "gpx" or not _NAMESPACE.fullmatch(space)):
            raise _StopError(f"a root element {shown(tag)}")
        self._path.append(local if _NAMESPACE.fullmatch(space) else "")
        self._text = []
        if self._path == ["gpx", "trk", "trkseg"]:
            self._segment += 1
        elif self._path == ["gpx", "trk", "trkseg", "trkpt"]:
            self._point = dict(attributes)

    def _characters(self, text: str) -> None:
        if sum(map(len, self._text)) <= _LONGEST_TEXT:
            self._text.append(text)

    def _end(self, _tag: str) -> None:
        path, local = self._path[:-1], self._path[-1]
        if path == ["gpx", "trk", "trkseg", "trkpt"] and local in ("ele", "time"):
            self._point[local] = "".join(self._text).strip()
        elif path == ["gpx", "trk", "trkseg"] and local == "trkpt":
            self._add()
        self._path.pop()

    def _add(self) -> None:
        self._count += 1
        if self._count > MAX_ROWS:
            raise _StopError(f"more than {MAX_ROWS} points")
        place = f"track point {self._count}"
        row = _row(self._point, place, self._segment)
        if isinstance(row, str):
            self.rejected.append(f"{place}: {row}")
        else:
            self.rows.append(row)


def read_gpx(path: Path, name: str) -> RecordedFlight:
    """Read the tracks of a GPX file; routes and waypoints are plans, not recordings.

    Raises
    ------
    InputError
        Not GPX 1.0 or 1.1, not well formed, with a document type declaration, or fewer than two
        track points with place and time.
    """
    reader = _Reader()
    try:
        with path.open("rb") as stream:
            while chunk := stream.read(_CHUNK_BYTES):
                reader.parser.Parse(chunk, False)
            reader.parser.Parse(b"", True)
    except (_StopError, expat.ExpatError, ValueError, LookupError) as error:  # unknown encoding
        raise InputError.single(
            name,
            f"line {reader.parser.CurrentLineNumber}",
            found=one_line(error),
            expected="well-formed GPX 1.1 without a document type declaration",
            fix="export the recorded track again as GPX 1.1",
        ) from error
    bare = sum(math.isnan(row.gnss_amsl_m) for row in reader.rows)
    notes = [_ABOUT_HEIGHTS] if bare < len(reader.rows) else []
    if bare:
        notes.append(f"elevations: {bare} of {len(reader.rows)} points have none that is usable")
    return as_flight(reader.rows, reader.rejected, notes, path=path, name=name, form="GPX")


def _row(point: dict[str, str], place: str, segment: int) -> Row | str:
    """One point, or why it is rejected."""
    lat, lon = _number(point.get("lat", "")), _number(point.get("lon", ""))
    if not (abs(lat) <= 90.0 and abs(lon) <= 180.0):  # NaN too
        found = f"{point.get('lat', '')}, {point.get('lon', '')}"
        return f"{shown(found)} is no place on the globe"
    try:
        moment = datetime.fromisoformat(point.get("time", ""))
    except ValueError:
        return "it has no time that can be read"
    if moment.utcoffset() is None:
        return "its time has no offset from UTC"
    height = _number(point.get("ele", ""))
    if not _LOWEST_M <= height <= _HIGHEST_M:
        height = math.nan
    return Row(place, moment.astimezone(UTC), lat, lon, height, math.nan, segment)


def _number(text: str) -> float:
    """A finite number; NaN where the text is none."""
    try:
        value = float(text)
    except ValueError:
        return math.nan
    return value if math.isfinite(value) else math.nan
