"""A wind climatology: how often the wind blows from where, and how strong.

The file is CSV in UTF-8 with the heading ``direction_deg_true,speed_kt,frequency`` and one row for
each class of wind. Lines that begin with # are remarks.

- direction_deg_true: middle of the direction class that it blows from, 0 to 360 degrees true;
  empty for calm.
- speed_kt: *upper* end of the speed class, knots: a limit has to hold for all of the class.
- frequency: share of the time. All rows together make 1, or 100 where they are per cent, to half
  a per cent: printed tables are rounded.
"""

from __future__ import annotations

import csv
import math
from collections.abc import Iterable
from pathlib import Path
from typing import Final

from attrs import frozen

from areaplan.errors import Fault, InputError
from areaplan.sources._files import raise_faults, require_file, sha256_of
from areaplan.sources._text import shown

COLUMNS: Final = ("direction_deg_true", "speed_kt", "frequency")
ROUNDING_SHARE: Final = 0.005
_LARGEST_BYTES: Final = 5_000_000
_FASTEST_KT: Final = 200.0
_FULL_CIRCLE_DEG: Final = 360.0
_HEADING: Final = ",".join(COLUMNS)


@frozen
class WindClass:
    """One row: a wind and its share of the time.

    Attributes
    ----------
    from_deg_true : float
        Middle of the class, degrees true in [0, 360); 0 for calm.
    speed_kt : float
        Upper end of the class, knots; 0 is calm.
    share : float
        0 to 1. The shares of a climatology sum to at most 1.
    """

    from_deg_true: float
    speed_kt: float
    share: float


@frozen
class WindClimatology:
    """The winds of a year.

    Attributes
    ----------
    path : str
        As read.
    sha256 : str
        Of the file's bytes.
    classes : tuple of WindClass
        In the order of the file. Their shares sum to 1, or to what the file lists where that is
        less: what is not listed is not known to be anything.
    """

    path: str
    sha256: str
    classes: tuple[WindClass, ...]


def read_climatology(path: Path) -> WindClimatology:
    """Read and check a climatology; see the module for its form.

    Raises
    ------
    InputError
        Unreadable, another heading, rows that are no winds, a wind twice, or frequencies that sum
        neither to 1 nor to 100; with every fault, by line.
    """
    name = str(path)
    require_file(path, name, _LARGEST_BYTES)
    try:
        lines = path.read_text(encoding="utf-8-sig").splitlines()
    except UnicodeDecodeError as error:
        raise InputError.single(
            name, "", found="not UTF-8", expected="CSV in UTF-8", fix="save the table as UTF-8"
        ) from error
    rows = [
        (number, [cell.strip() for cell in row])
        for number, line in enumerate(lines, 1)
        if line.strip() and not line.lstrip().startswith("#")
        for row in csv.reader([line])
    ]
    if not rows or tuple(rows[0][1]) != COLUMNS:
        number, cells = rows[0] if rows else (1, [])
        raise InputError.single(
            name,
            f"line {number}",
            found=shown(",".join(cells)) if rows else "no heading",
            expected=f"the heading {_HEADING}",
            fix="write that heading as the first line, and the columns in its order",
        )
    classes = _classes(name, rows[1:])
    return WindClimatology(name, sha256_of([path]), _as_shares(name, classes))


def _classes(name: str, rows: Iterable[tuple[int, list[str]]]) -> list[WindClass]:
    faults: list[Fault] = []
    line_of: dict[tuple[float, float], int] = {}
    classes = []
    for number, cells in rows:
        try:
            one = _class(cells)
            wind = (one.from_deg_true, one.speed_kt)
            if line_of.setdefault(wind, number) != number:
                raise ValueError(f"the wind of line {line_of[wind]} again")
        except ValueError as error:
            expected = "a direction of 0 to 360, a speed of 0 to 200 and a frequency of at least 0"
            fix = 'such as "210,15,0.034"; a calm has no direction: ",0,0.12"'
            faults.append(Fault(name, f"line {number}", str(error), expected, fix))
            continue
        classes.append(one)
    raise_faults(faults)
    return classes


def _class(cells: list[str]) -> WindClass:
    """Read one row; ValueError says what was found."""
    if len(cells) != len(COLUMNS):
        raise ValueError(f"{len(cells)} values")
    speed_kt = _number(cells[1], "speed", _FASTEST_KT)
    share = _number(cells[2], "frequency", math.inf)
    if speed_kt == 0.0 and not cells[0]:
        return WindClass(0.0, 0.0, share)
    from_deg = _number(cells[0], "direction", _FULL_CIRCLE_DEG)
    return WindClass(from_deg % _FULL_CIRCLE_DEG if speed_kt else 0.0, speed_kt, share)


def _number(text: str, what: str, most: float) -> float:
    try:
        value = float(text)
    except ValueError:
        raise ValueError(f"{what} {shown(text)}") from None
    if not (math.isfinite(value) and 0.0 <= value <= most):
        raise ValueError(f"{what} {shown(text)}")
    return value


def _as_shares(name: str, classes: list[WindClass]) -> tuple[WindClass, ...]:
    total = math.fsum(one.share for one in classes)
    for whole in (1.0, 100.0):
        if abs(total - whole) <= ROUNDING_SHARE * whole:
            # More than the whole is scaled down; less is left, for nobody knows what is missing.
            scale = max(total, whole)
            return tuple(
                WindClass(one.from_deg_true, one.speed_kt, one.share / scale) for one in classes
            )
    raise InputError.single(
        name,
        "frequency",
        found=f"the frequencies sum to {total:g}",
        expected="1, or 100 where they are per cent",
        fix="add the classes that are missing, calm among them, or correct the frequencies",
    )
