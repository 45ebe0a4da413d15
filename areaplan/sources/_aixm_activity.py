"""AIXM AirspaceActivation to words for people and, where every word is understood, to times."""

from __future__ import annotations

import re
from datetime import date, timedelta
from typing import Final
from xml.etree.ElementTree import Element

from attrs import frozen

from areaplan.sources._aixm_xml import is_nil, text_at
from areaplan.sources.activity import ANY_DAY, WEEKDAYS, ActiveTime

_ZONE: Final = re.compile(r"UTC(?:([+-])(\d{1,2})(?::([0-5]\d))?)?")
_CLOCK: Final = re.compile(r"([01]\d|2[0-4]):([0-5]\d)")
_DAY_MONTH: Final = re.compile(r"(\d\d)-(\d\d)")
# Any status but these may hide times of its own; INACTIVE without times proves nothing.
_STATUSES: Final = frozenset({"ACTIVE", "AVBL_FOR_ACTIVATION", "IN_USE", "INTERMITTENT"})
# Properties of a Timesheet that are read; any other that is filled makes it unreadable.
_READ: Final = frozenset(
    {
        "timeReference",
        "startDate",
        "endDate",
        "day",
        "startTime",
        "endTime",
        "daylightSavingAdjust",
        "excluded",
    }
)
# Properties of an AirspaceActivation without a bearing on when it is active.
_HARMLESS: Final = frozenset({"timeInterval", "activity", "status", "user", "aircraft", "levels"})


@frozen
class Activity:
    """Hours in words ("" where none are published), and as times where all could be read."""

    words: str
    times: tuple[ActiveTime, ...] | None


def activity_of(airspace_slice: Element) -> Activity:
    """Read all activations of an airspace.

    A sheet, status, note or event that is not wholly understood makes the times None: the volume
    then counts as active all the time.
    """
    activations = airspace_slice.findall("activation/AirspaceActivation")
    words: list[str] = []
    times: list[ActiveTime] = []
    stated = [one for one in airspace_slice.findall("activation") if not is_nil(one)]
    is_clear = len(activations) == len(stated) > 0 and not _has_note_on_times(airspace_slice)
    for activation in activations:
        status = text_at(activation, "status").upper()
        sheets = activation.findall("timeInterval/Timesheet")
        odd = [c for c in activation if c.tag not in _HARMLESS and not is_nil(c)]
        is_whole = len(sheets) == len(activation.findall("timeInterval")) > 0
        is_clear &= status in _STATUSES and is_whole and not odd
        what = " ".join(filter(None, (status, text_at(activation, "activity"))))
        said = [_words(sheet) for sheet in sheets]
        words.append(f"{what}: {'; '.join(said)}" if said else what)
        for sheet in sheets:
            read = _time(sheet)
            is_clear &= read is not None
            times += [read] if read else []
    return Activity(" / ".join(filter(None, words)), tuple(times) if is_clear else None)


def _has_note_on_times(airspace_slice: Element) -> bool:
    """Whether a free remark may change the hours: one on activation, or on no property at all."""
    return any(
        text_at(note, "propertyName").lower() in ("", "activation", "timeinterval")
        for note in airspace_slice.findall("annotation/Note")
    )


def _words(sheet: Element) -> str:
    parts = [
        f"{child.tag} {child.text.strip()}" for child in sheet if child.text and child.text.strip()
    ]
    start, end = text_at(sheet, "startTime"), text_at(sheet, "endTime")
    if start and end:
        rest = [p for p in parts if not p.startswith(("startTime ", "endTime ", "day "))]
        season = f" ({', '.join(rest)})" if rest else ""
        return f"{text_at(sheet, 'day') or 'day not given'} {start}-{end}{season}"
    return ", ".join(parts)


def _time(sheet: Element) -> ActiveTime | None:
    filled = {child.tag for child in sheet if not is_nil(child)}
    zone = _ZONE.fullmatch(text_at(sheet, "timeReference").upper())
    start = _clock(text_at(sheet, "startTime"))
    end = _clock(text_at(sheet, "endTime"))
    day = text_at(sheet, "day").upper()
    summer = text_at(sheet, "daylightSavingAdjust").upper()
    if (
        filled - _READ
        or zone is None
        or start is None
        or end is None
        or day not in (ANY_DAY, *WEEKDAYS)
        or text_at(sheet, "excluded").upper() not in ("", "NO")
        or summer not in ("", "YES", "NO")
    ):
        return None
    offset = timedelta(hours=int(zone[2] or 0), minutes=int(zone[3] or 0))
    if offset > timedelta(hours=14):
        return None
    season = _season(text_at(sheet, "startDate"), text_at(sheet, "endDate"))
    if season is None:
        return None
    return ActiveTime(
        utc_offset=-offset if zone[1] == "-" else offset,
        weekday=day,
        start=start,
        end=end,
        first=season[0],
        last=season[1],
        shifts_in_summer=summer != "NO",
    )


def _clock(text: str) -> timedelta | None:
    match = _CLOCK.fullmatch(text)
    if match is None or (match[1] == "24" and match[2] != "00"):
        return None
    return timedelta(hours=int(match[1]), minutes=int(match[2]))


def _season(first: str, last: str) -> tuple[tuple[int, int] | None, tuple[int, int] | None] | None:
    """Month and day of both ends; None where either is not understood."""
    if not first and not last:
        return None, None
    ends = [_DAY_MONTH.fullmatch(first), _DAY_MONTH.fullmatch(last)]
    found: list[tuple[int, int]] = []
    for match in ends:
        if match is None:
            return None
        try:
            leap_day = date(2000, int(match[2]), int(match[1]))
        except ValueError:
            return None
        found.append((leap_day.month, leap_day.day))
    return found[0], found[1]
