"""The line that a school chooses for its vertical section: `section` under `[briefing]`."""

from __future__ import annotations

from typing import Final, cast

from attrs import frozen

from areaplan.fault_words import describe
from areaplan.toml_tables import Table

_EXAMPLE: Final = "[[41.16, -100.05], [41.23, -99.94]]"
_EXPECTED: Final = "two places, each [latitude, longitude] in degrees WGS 84, such as " + _EXAMPLE
_MOST_LAT: Final = 85.0
_MOST_LON: Final = 180.0


@frozen
class SectionLine:
    """A straight line between two places, (latitude, longitude) in degrees WGS 84 each."""

    begin: tuple[float, float]
    end: tuple[float, float]


def read_section_line(whole: Table) -> SectionLine | None:
    """Read `section` of the `[briefing]` table; None where there is none.

    Whether both ends lie on the grid is known only once the area is read:
    `planning.vertical_section` looks.

    Parameters
    ----------
    whole : Table
        The project file. Faults are noted in it; that of a `[briefing]` that is no table is left to
        the reader of the table.
    """
    if not isinstance(whole.values.get("briefing"), dict):
        return None
    table = whole.section("briefing")
    if not table.has("section"):
        return None
    value = table.values["section"]
    if not isinstance(value, list) or len(value) != 2:
        table.note("section", describe(value), _EXPECTED, f"write section = {_EXAMPLE}")
        return None
    places = [_place(table, f"section[{number}]", one) for number, one in enumerate(value, 1)]
    begin, end = places
    if begin is None or end is None:
        return None
    if begin == end:
        table.note("section", "the same place twice", _EXPECTED, "give the line two ends")
        return None
    return SectionLine(begin, end)


def _place(table: Table, key: str, value: object) -> tuple[float, float] | None:
    if isinstance(value, list) and len(value) == 2 and all(map(_is_number, value)):
        lat, lon = (float(one) for one in cast(list[float], value))
        if abs(lat) <= _MOST_LAT and abs(lon) <= _MOST_LON:
            return lat, lon
    expected = f"[latitude, longitude], at most {_MOST_LAT:g} and {_MOST_LON:g} degrees either way"
    table.note(key, describe(value), expected, "write it such as [41.16, -100.05]")
    return None


def _is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)
