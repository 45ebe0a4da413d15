"""Rows of the two published forms of the government obstacle file, and of the plain table.

Each reader of a row returns an `Obstacle`, None for a dismantled one, or raises `RowError` with
the reason why the row cannot be used.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import date, timedelta
from typing import Final

from areaplan.sources._columns import number_of
from areaplan.sources._text import clean_name, clean_text, shown
from areaplan.sources.layers import Obstacle
from areaplan.sources.obstacle_accuracy import Accuracy, accuracy_of_codes, accuracy_of_metres
from areaplan.units import FOOT_M

DAT_CHARS: Final = 127  # the last column that carries anything; published rows have 128
# Add and change as seen in published rows; "D" (dismantle) is from memory.
_ACTIONS: Final = {"A": False, "C": False, "D": True, "": False}
MAX_TOP_AGL_FT: Final = 3300.0
AMSL_RANGE_FT: Final = (-1500.0, 33_000.0)  # from below the Dead Sea shore to above Everest
_INTEGER: Final = re.compile(r"[+-]?[0-9]+")
_DECIMAL: Final = re.compile(r"[0-9]+(\.[0-9]*)?")
_DMS: Final = re.compile(r"(\d{1,3}) +(\d{1,2}) +(\d{1,2}(?:\.\d*)?) *([NSEW])")
# Half a second of arc: the decimal and the sexagesimal position of one row must agree.
_POSITION_AGREES_DEG: Final = 0.5 / 3600.0
NAVD88_FIRST_DAY: Final = date(
    2001, 3, 12
)  # "the 71st day of 2001" (Digital Obstacle File read-me)

PLAIN_COLUMNS: Final = (
    "name",
    "lat",
    "lon",
    "kind",
    "top_agl_ft",
    "top_agl_m",
    "top_amsl_ft",
    "top_amsl_m",
    "horizontal_accuracy_ft",
    "horizontal_accuracy_m",
    "vertical_accuracy_ft",
    "vertical_accuracy_m",
)


class RowError(Exception):
    """A row that cannot be used, with the reason in words."""


def dat_name(line: str) -> str:
    """Obstacle number of a fixed-width row, "" where it has none."""
    return line[:9] if re.fullmatch(r"[0-9A-Z]{2}-\d{6}", line[:9]) else ""


def dat_obstacle(line: str) -> Obstacle | None:
    """Row of the fixed-width form, by the columns of its published description.

    Raises
    ------
    RowError
        Too short, or a column does not hold what it should.
    """
    if len(line) < DAT_CHARS:
        raise RowError(f"cut short at {len(line)} of {DAT_CHARS} characters")
    name = dat_name(line)
    if not name:
        raise RowError(f"no obstacle number in columns 1-9 ({shown(line[:9])})")
    if _is_dismantled(line[118:119]):
        return None
    lat = _degrees(line[35:37], line[38:40], line[41:46], line[46:47], "NS", 90.0)
    lon = _degrees(line[48:51], line[52:54], line[55:60], line[60:61], "EW", 180.0)
    return _published(
        name=name,
        kind=line[62:80],
        lat=lat,
        lon=lon,
        agl=line[83:88],
        amsl=line[89:94],
        accuracy=(line[97:98], line[99:100]),
        verified=line[10:11],
    )


def dat_day(line: str) -> date | None:
    """Day of the last change of a fixed-width row (YYYYDDD), None where it states none."""
    match = re.fullmatch(r"(\d{4})(\d{3})", line[120:127])
    if not match or not 1 <= int(match[2]) <= 366 or int(match[1]) < 1900:
        return None
    return date(int(match[1]), 1, 1) + timedelta(days=int(match[2]) - 1)


def published_csv_obstacle(row: Mapping[str, str]) -> Obstacle | None:
    """Row of the published comma-separated form; keys are its column names, values unstripped.

    Raises
    ------
    RowError
        A column does not hold what it should.
    """
    name = clean_name(row["OAS"])
    if not name:
        raise RowError("no obstacle number in OAS")
    if _is_dismantled(row["ACTION"]):
        return None
    lat = _plain_degrees(row["LATDEC"].strip(), "LATDEC", 90.0)
    lon = _plain_degrees(row["LONDEC"].strip(), "LONDEC", 180.0)
    for value, key, hemispheres, limit in (
        (lat, "DMSLAT", "NS", 90.0),
        (lon, "DMSLON", "EW", 180.0),
    ):
        match = _DMS.fullmatch(row[key].strip())
        if not match:
            raise RowError(f"{key} {shown(row[key])} is not a position")
        again = _degrees(match[1], match[2], match[3], match[4], hemispheres, limit)
        if abs(again - value) > _POSITION_AGREES_DEG:
            raise RowError(f"its two positions disagree ({value:.6f} and {again:.6f})")
    code = row["ACCURACY"].strip()
    return _published(
        name=name,
        kind=row["TYPE"],
        lat=lat,
        lon=lon,
        agl=row["AGL"],
        amsl=row["AMSL"],
        accuracy=(code[:1], code[1:]),
        verified=row["VERIFIED STATUS"],
    )


def plain_obstacle(row: Mapping[str, object], lat: object, lon: object, word: str) -> Obstacle:
    """Row of the plain table or of a vector file; keys are among `PLAIN_COLUMNS`.

    Parameters
    ----------
    row : mapping
        Values by column, blank or None where there is none.
    lat, lon : object
        Position in degrees.
    word : str
        Name of a row that has none.

    Raises
    ------
    RowError
        A value does not make sense, or no height is stated.
    """
    latitude = _plain_degrees(lat, "lat", 90.0)
    longitude = _plain_degrees(lon, "lon", 180.0)
    agl_m = _length_m(row, "top_agl", 0.0, MAX_TOP_AGL_FT)
    amsl_m = _length_m(row, "top_amsl", *AMSL_RANGE_FT)
    if agl_m is None and amsl_m is None:
        raise RowError("no height: neither top_agl_ft, top_agl_m, top_amsl_ft nor top_amsl_m")
    accuracy = accuracy_of_metres(
        _length_m(row, "horizontal_accuracy", 0.0, 1e6),
        _length_m(row, "vertical_accuracy", 0.0, 1e5),
    )
    return _obstacle(
        clean_name(row.get("name")) or word,
        clean_text(row.get("kind"), 40),
        (latitude, longitude),
        (agl_m, amsl_m),
        accuracy,
        None,
    )


def _published(
    *,
    name: str,
    kind: str,
    lat: float,
    lon: float,
    agl: str,
    amsl: str,
    accuracy: tuple[str, str],
    verified: str,
) -> Obstacle:
    try:
        meant = accuracy_of_codes(*accuracy)
    except KeyError as error:
        raise RowError(f"accuracy code {error} is not in the table") from None
    status = {"O": True, "U": False, "": None}
    if verified.strip() not in status:
        raise RowError(f"verification {shown(verified)} is neither O nor U")
    agl_m = _feet(agl, "AGL", 0.0, MAX_TOP_AGL_FT) * FOOT_M
    amsl_m = _feet(amsl, "AMSL", *AMSL_RANGE_FT) * FOOT_M
    return _obstacle(
        name, clean_text(kind, 40), (lat, lon), (agl_m, amsl_m), meant, status[verified.strip()]
    )


def _obstacle(
    name: str,
    kind: str,
    place: tuple[float, float],
    tops_m: tuple[float | None, float | None],
    accuracy: Accuracy,
    is_verified: bool | None,
) -> Obstacle:
    return Obstacle(
        name=name,
        kind=kind,
        lat=place[0],
        lon=place[1],
        top_agl_m=tops_m[0],
        top_amsl_m=tops_m[1],
        horizontal_accuracy_m=accuracy.horizontal_m,
        vertical_accuracy_m=accuracy.vertical_m,
        accuracy_is_known=accuracy.is_known,
        is_verified=is_verified,
    )


def _is_dismantled(action: str) -> bool:
    if action.strip() not in _ACTIONS:
        raise RowError(f"action {shown(action)} is not A, C or D")
    return _ACTIONS[action.strip()]


def _feet(text: str, what: str, lowest_ft: float, highest_ft: float) -> float:
    digits = text.strip(" ")
    if not _INTEGER.fullmatch(digits):
        raise RowError(f"{what} {shown(text)} is not a whole number of feet")
    value_ft = float(digits)
    if not lowest_ft <= value_ft <= highest_ft:
        raise RowError(f"{what} of {value_ft:.0f} ft is absurd")
    return value_ft


def _degrees(
    degrees: str, minutes: str, seconds: str, hemisphere: str, hemispheres: str, limit: float
) -> float:
    parts = [degrees.strip(" "), minutes.strip(" "), seconds.strip(" ")]
    text = f"{degrees} {minutes} {seconds}{hemisphere}"
    if hemisphere not in tuple(hemispheres) or not all(_DECIMAL.fullmatch(part) for part in parts):
        raise RowError(f"{shown(text)} is not a position")
    whole, minute, second = (float(part) for part in parts)
    value = whole + minute / 60.0 + second / 3600.0
    if minute >= 60.0 or second >= 60.0 or value > limit:
        raise RowError(f"{shown(text)} is not a position")
    return value if hemisphere in "NE" else -value


def _plain_degrees(value: object, what: str, limit: float) -> float:
    number = number_of(value)
    if number is None or abs(number) > limit:
        raise RowError(f"{what} {shown(value)} is not a position in degrees")
    return number


def _length_m(
    row: Mapping[str, object], stem: str, lowest_ft: float, highest_ft: float
) -> float | None:
    stated: list[float] = []
    for key, factor in ((f"{stem}_ft", FOOT_M), (f"{stem}_m", 1.0)):
        value = row.get(key)
        if value is None or (isinstance(value, str) and not value.strip()):
            continue
        number = number_of(value)
        if number is None:
            raise RowError(f"{key} {shown(value)} is not a number")
        if not lowest_ft * FOOT_M <= number * factor <= highest_ft * FOOT_M:
            raise RowError(f"{key} of {number:g} is absurd")
        stated.append(number * factor)
    if len(stated) == 2 and abs(stated[0] - stated[1]) > FOOT_M:
        raise RowError(f"{stem}_ft and {stem}_m disagree")
    return max(stated) if stated else None
