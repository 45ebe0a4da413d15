"""The text files that carry obstacle tables: fixed width, published CSV, plain CSV."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Final

from attrs import frozen

from areaplan.errors import InputError
from areaplan.sources._files import MAX_ROWS, require_file, sha256_of
from areaplan.sources._obstacle_rows import (
    NAVD88_FIRST_DAY,
    PLAIN_COLUMNS,
    RowError,
    dat_day,
    dat_name,
    dat_obstacle,
    plain_obstacle,
    published_csv_obstacle,
)
from areaplan.sources._text import MAX_NAME_CHARS, clean_name, one_line, shown
from areaplan.sources.layers import Obstacle

_CURRENCY: Final = re.compile(r"\s*CURRENCY DATE = (\d{2})/(\d{2})/(\d{2})\s*")
_RULE: Final = re.compile(r"-{20,}\s*")
_HEADER_LINES: Final = 10
# The header that published comma-separated files carry.
PUBLISHED_COLUMNS: Final = (
    "OAS",
    "VERIFIED STATUS",
    "COUNTRY",
    "STATE",
    "CITY",
    "LATDEC",
    "LONDEC",
    "DMSLAT",
    "DMSLON",
    "TYPE",
    "QUANTITY",
    "AGL",
    "AMSL",
    "LIGHTING",
    "ACCURACY",
    "MARKING",
    "FAA STUDY",
    "ACTION",
    "JDATE",
)
_TOPS: Final = ("top_agl_ft", "top_agl_m", "top_amsl_ft", "top_amsl_m")


@frozen(eq=False)
class ObstacleTable:
    """What one file of obstacles gave.

    Attributes
    ----------
    rows : tuple of Obstacle
    rejected : tuple of str
        Name or line of each row that could not be used, and why.
    dismantled : int
        Rows that say their obstacle is gone.
    sha256 : str
    effective : date or None
        Currency date of the file.
    notes : tuple of str
    """

    rows: tuple[Obstacle, ...]
    rejected: tuple[str, ...]
    sha256: str
    dismantled: int = 0
    effective: date | None = None
    notes: tuple[str, ...] = ()

    @property
    def rows_read(self) -> int:
        """Rows in the file, whatever became of them."""
        return len(self.rows) + len(self.rejected) + self.dismantled


def read_dat(path: Path, name: str) -> ObstacleTable:
    """Read the fixed-width form of the government obstacle file.

    Raises
    ------
    InputError
        Not a file of this form.
    """
    text = _text_of(path, name, "latin-1")
    lines = [line.rstrip("\r\x1a") for line in text.split("\n")]
    rules = [i for i, line in enumerate(lines[:_HEADER_LINES]) if _RULE.fullmatch(line)]
    if not rules and not dat_name(lines[0]):
        raise InputError.single(
            name,
            "line 1",
            found=shown(lines[0]),
            expected="the header or a row of the fixed-width obstacle file",
            fix="give the published .DAT file, or a .csv file with a header of column names",
        )
    first = rules[0] + 1 if rules else 0
    effective = next(
        (day for line in lines[:first] if (day := _currency_date(line, name)) is not None), None
    )
    rows: list[Obstacle] = []
    rejected: list[str] = []
    dismantled = before_navd88 = 0
    for number, line in enumerate(lines[first:], start=first + 1):
        if not line.strip():
            continue
        try:
            row = dat_obstacle(line)
        except RowError as fault:
            rejected.append(_rejected(dat_name(line), number, fault))
            continue
        if row is None:
            dismantled += 1
            continue
        rows.append(row)
        day = dat_day(line)
        before_navd88 += day is None or day < NAVD88_FIRST_DAY
    notes = [] if effective else [f"{name}: it states no currency date"]
    if not text.endswith(("\n", "\x1a")):
        notes.append(f"{name}: its last line has no end: the file may be cut short")
    if before_navd88:
        notes.append(
            f"{name}: heights of {before_navd88} rows, last changed before {NAVD88_FIRST_DAY} "
            "or on an unknown day, refer to NGVD29, others to NAVD88"
        )
    return ObstacleTable(
        tuple(rows), tuple(rejected), sha256_of([path]), dismantled, effective, tuple(notes)
    )


def read_csv(path: Path, name: str) -> ObstacleTable:
    """Read the published comma-separated form, or the plain table, by its header.

    The plain table has the columns name, lat, lon (degrees, WGS 84), kind, top_agl_ft or
    top_agl_m, top_amsl_ft or top_amsl_m, horizontal_accuracy_ft or _m, vertical_accuracy_ft or
    _m; of these lat, lon and one height are needed.

    Raises
    ------
    InputError
        The header is of neither form, or the file is not comma-separated text.
    """
    text = _text_of(path, name, "utf-8-sig")
    stream = csv.reader(io.StringIO(text, newline=""), strict=True)
    header = [cell.strip() for cell in next(_rows(stream, name), (0, []))[1]]
    if header[:1] == ["OAS"]:
        missing = [column for column in PUBLISHED_COLUMNS if column not in header]
        notes: list[str] = []
    else:
        header = [cell.lower() for cell in header]
        missing = [column for column in ("lat", "lon") if column not in header]
        missing += [] if set(_TOPS) & set(header) else ["top_agl_ft"]
        unused = [shown(cell) for cell in header if cell not in PLAIN_COLUMNS]
        notes = [f"{name}: columns not used: {', '.join(unused)}"] if unused else []
    if missing or len(set(header)) != len(header):
        raise InputError.single(
            name,
            "line 1",
            found=f"no column {', '.join(missing)}" if missing else "two columns of one name",
            expected=f"a header with columns among {', '.join(PLAIN_COLUMNS)}",
            fix="write the header as documented: heights carry their unit in the column's name",
        )
    rows: list[Obstacle] = []
    rejected: list[str] = []
    dismantled = cut_names = 0
    for line, cells in _rows(stream, name):
        named = dict(zip(header, cells, strict=False))
        full_name = named.get("OAS") or named.get("name") or ""
        label = clean_name(full_name)
        cut_names += len(full_name) > MAX_NAME_CHARS
        try:
            row = _csv_obstacle(header, cells, line)
        except RowError as fault:
            rejected.append(_rejected(label, line, fault))
            continue
        if row is None:
            dismantled += 1
        else:
            rows.append(row)
    if cut_names:
        notes.append(f"{name}: {cut_names} names are cut to {MAX_NAME_CHARS} characters")
    return ObstacleTable(
        tuple(rows), tuple(rejected), sha256_of([path]), dismantled, None, tuple(notes)
    )


def _csv_obstacle(header: list[str], cells: list[str], line: int) -> Obstacle | None:
    if len(cells) != len(header):
        raise RowError(f"{len(cells)} cells under {len(header)} column names")
    row = dict(zip(header, cells, strict=True))
    if header[0] == "OAS":
        return published_csv_obstacle(row)
    return plain_obstacle(row, row["lat"], row["lon"], f"obstacle in line {line}")


def _rows(stream: Iterator[list[str]], name: str) -> Iterator[tuple[int, list[str]]]:
    """Line number and cells of each row that is not blank."""
    while True:
        try:
            cells = next(stream)
        except StopIteration:
            return
        except csv.Error as error:
            raise InputError.single(
                name,
                f"line {stream.line_num}",  # type: ignore[attr-defined]
                found=one_line(error),
                expected="comma-separated text",
                fix="save the table again as CSV",
            ) from error
        if any(cell.strip() for cell in cells):
            yield stream.line_num, cells  # type: ignore[attr-defined]


def _rejected(row_name: str, line: int, fault: RowError) -> str:
    where = f"{row_name} (line {line})" if row_name else f"line {line}"
    return f"{where}: {fault}"


def _currency_date(line: str, name: str) -> date | None:
    match = _CURRENCY.fullmatch(line)
    if not match:
        return None
    try:
        return date(2000 + int(match[3]), int(match[1]), int(match[2]))
    except ValueError:
        raise InputError.single(
            name,
            "line 1",
            found=shown(line),
            expected="a currency date as MM/DD/YY",
            fix="get the file again from its publisher",
        ) from None


def _text_of(path: Path, name: str, encoding: str) -> str:
    require_file(path, name)
    raw = path.read_bytes()
    if raw.count(b"\n") > MAX_ROWS:
        raise InputError.single(
            name,
            "",
            found=f"more than {MAX_ROWS:,} lines",
            expected=f"at most {MAX_ROWS:,}",
            fix="clip the table to the country around the practice area",
        )
    try:
        return raw.decode(encoding)
    except UnicodeDecodeError:
        return raw.decode("latin-1")  # as the published tables are
