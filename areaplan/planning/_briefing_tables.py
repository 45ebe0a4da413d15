"""The `[briefing]` table of a project file: what the school itself writes into the briefing."""

from __future__ import annotations

import re
from typing import Final

from areaplan.fault_words import describe
from areaplan.planning.briefing_words import Aerodrome, BriefingWords, Frequency
from areaplan.toml_quantities import read_parsed
from areaplan.toml_tables import Table
from areaplan.units import feet_up, parse_altitude_amsl

# Megahertz with a point and up to three decimals, the form in which frequencies are published.
_MEGAHERTZ: Final = re.compile(r"[0-9]{1,4}\.[0-9]{1,3}")
_AERODROME: Final = '{ name = "...", lat = 41.2, lon = -100.1, elevation = "1,020 ft AMSL" }'


def read_briefing(whole: Table) -> BriefingWords | None:
    """Read the table; None where the project has none.

    Every key is optional: what is not given becomes a line to fill in by hand.

    Parameters
    ----------
    whole : Table
        The project file. Faults are noted in it.
    """
    if not whole.has("briefing"):
        return None
    table = whole.section("briefing", required=False)
    words = BriefingWords(
        revision=table.text("revision", "the revision of the briefing", "3", default=""),
        author=table.text("author", "who wrote it", "...", default=""),
        approver=table.text("approver", "who approves it", "...", default=""),
        review_by=table.day("review_by"),
        aerodrome=_aerodrome(table),
        frequencies=tuple(_frequency(row) for row in table.tables("frequencies")),
        landmarks=_lines(table, "landmarks", is_once=False),
        emergency=_lines(table, "emergency"),
        lost_communication=_lines(table, "lost_communication"),
    )
    table.has("section")  # `section_line` reads it: it belongs to the drawing, not to the words
    table.refuse_unknown()
    return words


def _aerodrome(table: Table) -> Aerodrome | None:
    if not table.has("aerodrome"):
        return None
    row = table.inner("aerodrome", _AERODROME)
    if row is None:
        return None
    elevation_ft = None
    if row.has("elevation"):
        elevation_m = read_parsed(row, "elevation", parse_altitude_amsl, "1,020 ft AMSL")
        elevation_ft = None if elevation_m is None else feet_up(elevation_m)
    found = Aerodrome(
        name=row.text("name", "the name of the aerodrome", "..."),
        lat=row.number("lat", -85.0, 85.0, "degrees of latitude, WGS 84", "41.2"),
        lon=row.number("lon", -180.0, 180.0, "degrees of longitude, WGS 84", "-100.1"),
        elevation_amsl_ft=elevation_ft,
    )
    row.refuse_unknown()
    return found


def _frequency(row: Table) -> Frequency:
    found = Frequency(
        station=row.text("station", "the station as addressed on the air", "..."),
        frequency=row.text("frequency", "a frequency in MHz", "122.750"),
        use=row.text("use", "what it is for", "calls in the practice area"),
        airspace=row.text("airspace", "the published name of a volume", "...", default=""),
    )
    if found.frequency and not _MEGAHERTZ.fullmatch(found.frequency):
        expected = 'megahertz with a decimal point, such as "122.750"'
        row.note("frequency", describe(found.frequency), expected, 'write frequency = "122.750"')
    row.refuse_unknown()
    return found


def _lines(table: Table, key: str, *, is_once: bool = True) -> tuple[str, ...]:
    """Texts in order; landmarks may come twice, a line of instructions may not."""
    if not table.has(key):
        return ()
    if is_once:
        return table.texts(key, "a list of texts", '["..."]')
    return table.passages(key)
