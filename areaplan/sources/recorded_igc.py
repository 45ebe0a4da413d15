"""Recorded flights in the IGC form: fixed columns, a line a record.

References
----------
FAI, *Technical Specification for GNSS Flight Recorders*, 2nd edition: record B holds time, place,
validity, pressure altitude and then satellite altitude. What the header records ALG and ALP say of
the altitudes, and that a recorder without a pressure sensor writes zeros, is from memory.
"""

from __future__ import annotations

import math
import re
from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path
from typing import Final

from areaplan.errors import InputError
from areaplan.sources._files import MAX_ROWS
from areaplan.sources._text import shown
from areaplan.sources.recorded_flight import RecordedFlight, Row, as_flight

_DAY: Final = re.compile(r"H[FOP]DTE(?:DATE)?:? ?(\d{2})(\d{2})(\d{2})")
_FIX: Final = re.compile(
    r"B(\d{2})(\d{2})(\d{2})(\d{2})(\d{5})([NS])(\d{3})(\d{5})([EW])([AV])"
    r"(-\d{4}|\d{5})(-\d{4}|\d{5})"
)
_ALTITUDE_WORDS: Final = re.compile(r"H[FOP](ALG|ALP)[A-Z]*:? ?([A-Z]{3})")
_HALF_A_DAY: Final = timedelta(hours=12)
_MEAN_SEA_LEVEL: Final = "GEO"
_STANDARD: Final = "ISA"


def read_igc(path: Path, name: str) -> RecordedFlight:
    """Read an IGC file.

    Points that the recorder itself marks as no three-dimensional fix are rejected. Satellite
    altitudes count only where the file says that they refer to the geoid: the ellipsoid, to which
    many recorders refer them, may lie 100 m from mean sea level.

    Raises
    ------
    InputError
        No date, or fewer than two usable points.
    """
    text = path.read_bytes().decode("latin-1")
    lines = text.splitlines()
    said = {match[1]: match[2] for line in lines if (match := _ALTITUDE_WORDS.match(line))}
    has_geoid = said.get("ALG") == _MEAN_SEA_LEVEL
    is_standard = said.get("ALP", _STANDARD) == _STANDARD
    day: date | None = None
    before: datetime | None = None
    rows: list[Row] = []
    rejected: list[str] = []
    for number, line in enumerate(lines, start=1):
        if (match := _DAY.match(line)) is not None:
            if day is None:  # a second one repeats the first; midnight is told by the times
                day = _day(match, name, number)
            continue
        if not line.startswith("B"):
            continue
        if len(rows) + len(rejected) >= MAX_ROWS:
            raise InputError.single(
                name,
                f"line {number}",
                found=f"more than {MAX_ROWS} points",
                expected="one flight",
                fix="cut the recording into flights",
            )
        row = _row(line, number, day, before)
        if isinstance(row, str):
            rejected.append(f"line {number}: {row}")
            continue
        before = row.time
        rows.append(row)
    if day is None:
        raise InputError.single(
            name,
            "",
            found="no date record",
            expected="a record HFDTE with day, month and year before the points",
            fix="give the whole file as the recorder wrote it",
        )
    notes = []
    if not any(row.pressure_altitude_m for row in rows) or not is_standard:
        notes.append("pressure altitudes: none that refer to 1013.25 hPa")
        rows = [_without(row, has_pressure=False, has_gnss=has_geoid) for row in rows]
    elif not has_geoid:
        rows = [_without(row, has_pressure=True, has_gnss=False) for row in rows]
    if not has_geoid:
        notes.append(
            "satellite altitudes: not used, the file does not say that they are above mean sea "
            "level (the ellipsoid may lie 100 m from it)"
        )
    return as_flight(rows, rejected, notes, path=path, name=name, form="IGC")


def _day(match: re.Match[str], name: str, number: int) -> date:
    """Day of a date record; two-digit years are of this century, as satellite receivers are."""
    try:
        return date(2000 + int(match[3]), int(match[2]), int(match[1]))
    except ValueError:
        raise InputError.single(
            name,
            f"line {number}",
            found=shown(match[0]),
            expected="a date as day, month, year, such as HFDTE160701",
            fix="give the whole file as the recorder wrote it",
        ) from None


def _row(line: str, number: int, day: date | None, before: datetime | None) -> Row | str:
    """One point, or why it is rejected."""
    match = _FIX.match(line)
    if match is None:
        return f"{shown(line)} is no record B"
    if day is None:
        return "it stands before the date"
    if match[10] != "A":
        return "the recorder marks it as no three-dimensional fix"
    lat = _degrees(match[4], match[5], match[6])
    lon = _degrees(match[7], match[8], match[9])
    if not (abs(lat) <= 90.0 and abs(lon) <= 180.0):  # NaN too: 60 minutes or more
        return f"{shown(line)} names no place on the globe"
    try:
        clock = time(int(match[1]), int(match[2]), int(match[3]), tzinfo=UTC)
    except ValueError:
        return f"{shown(line)} holds no time of day"
    moment = datetime.combine(day, clock)
    while before is not None and before - moment > _HALF_A_DAY:
        moment += timedelta(days=1)  # past midnight
    return Row(f"line {number}", moment, lat, lon, float(match[12]), float(match[11]), 0)


def _degrees(whole: str, thousandths_of_minutes: str, side: str) -> float:
    minutes = int(thousandths_of_minutes) / 1000.0
    if minutes >= 60.0:
        return math.nan
    return (int(whole) + minutes / 60.0) * (-1.0 if side in "SW" else 1.0)


def _without(row: Row, *, has_pressure: bool, has_gnss: bool) -> Row:
    return Row(
        row.place,
        row.time,
        row.lat,
        row.lon,
        row.gnss_amsl_m if has_gnss else math.nan,
        row.pressure_altitude_m if has_pressure else math.nan,
        row.segment,
    )
