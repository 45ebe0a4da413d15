"""The `[time]` table and the `[[inactive]]` tables of a project file."""

from __future__ import annotations

from datetime import UTC, date, datetime
from typing import Final

from areaplan.fault_words import describe
from areaplan.planning.project import Inactive
from areaplan.toml_tables import Table

_EXPECTED: Final = "a date and time with its offset from UTC, such as 2026-11-25T14:00:00-05:00"
_EXAMPLE: Final = "2026-11-25T14:00:00-05:00"
_YEARS: Final = range(2000, 2200)  # others are slips of the pen
_NEVER: Final = datetime.max.replace(tzinfo=UTC)  # stands in where a fault is noted


def read_planned_time(whole: Table, day: date | None) -> datetime | None:
    """When the flight is planned, None where the project does not say.

    Parameters
    ----------
    whole : Table
    day : date or None
        The project's own `day`, with which the planned time must agree; None where it has none.
    """
    if not whole.has("time"):
        return None
    table = whole.section("time")
    planned = _moment(table, "planned")
    table.refuse_unknown()
    if planned is not None and day is not None and planned.date() != day:
        table.note(
            "planned",
            planned.isoformat(),
            f"a time on the project's day, {day}",
            "make both say the same day, or take day out of [project]",
        )
    return planned


def read_inactive(whole: Table) -> tuple[Inactive, ...]:
    """Every `[[inactive]]` table: a volume, the reason, and from when to when."""
    found = []
    for table in whole.tables("inactive"):
        airspace = table.text("airspace", "the published name of the volume", "R-0001")
        reason = table.text(
            "reason", "how it is known that it is not active", "notice A0012/26 of 2026-11-24"
        )
        begins, ends = _moment(table, "from"), _moment(table, "to")
        table.refuse_unknown()
        if begins is not None and ends is not None and ends <= begins:
            fix = "check both against the publication"
            table.note("to", ends.isoformat(), f"a time after from, {begins.isoformat()}", fix)
        found.append(Inactive(airspace, reason, begins or _NEVER, ends or _NEVER))
    return tuple(found)


def _moment(table: Table, key: str) -> datetime | None:
    value = table.get(key, _EXPECTED, _EXAMPLE)
    if value is None:
        return None
    is_whole = isinstance(value, datetime) and value.tzinfo is not None
    if isinstance(value, datetime) and is_whole and value.year in _YEARS:
        return value
    table.note(key, describe(value), _EXPECTED, f"write {key} = {_EXAMPLE}, without quotes")
    return None
