"""Published times of activity that a machine can read, and whether a moment lies clear of them."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC, date, datetime, time, timedelta, timezone
from typing import Final

from attrs import frozen

WEEKDAYS: Final = ("MON", "TUE", "WED", "THU", "FRI", "SAT", "SUN")
ANY_DAY: Final = "ANY"
# Nothing may be active from an hour before the planned time to two hours after it: clocks and
# lessons drift, and controllers open early and close late (our own caution, no published figure).
CLEAR_BEFORE: Final = timedelta(hours=1)
CLEAR_AFTER: Final = timedelta(hours=2)
_ONE_DAY: Final = timedelta(days=1)
_SUMMER_SHIFT: Final = timedelta(hours=1)


@frozen
class ActiveTime:
    """One sheet of published times at which a volume is, or may be, active.

    Attributes
    ----------
    utc_offset : timedelta
        Of the clock in which the times are given.
    weekday : str
        "ANY" or one of `WEEKDAYS`.
    start, end : timedelta
        Since midnight; an end at or before the start lies on the next day.
    first, last : tuple of int or None
        Month and day of the yearly season, both included; None for the whole year. A season whose
        last day comes before its first runs over the new year.
    shifts_in_summer : bool
        The times move by an hour with summer time: both readings then count as active.
    """

    utc_offset: timedelta
    weekday: str
    start: timedelta
    end: timedelta
    first: tuple[int, int] | None = None
    last: tuple[int, int] | None = None
    shifts_in_summer: bool = False

    def meets(self, begin: datetime, end: datetime) -> bool:
        """Whether it is active at any moment of a span, its ends included."""
        zone = timezone(self.utc_offset)
        slack = _SUMMER_SHIFT if self.shifts_in_summer else timedelta(0)
        length = self.end - self.start
        if length <= timedelta(0):
            length += _ONE_DAY
        day = begin.astimezone(zone).date() - 2 * _ONE_DAY
        while day <= end.astimezone(zone).date() + _ONE_DAY:
            if self._is_day(day):
                opens = datetime.combine(day, time(), zone) + self.start
                if opens - slack <= end and begin <= opens + length + slack:
                    return True
            day += _ONE_DAY
        return False

    def _is_day(self, day: date) -> bool:
        if self.weekday not in (ANY_DAY, WEEKDAYS[day.weekday()]):
            return False
        if self.first is None or self.last is None:
            return True
        place = (day.month, day.day)
        if self.first <= self.last:
            return self.first <= place <= self.last
        return place >= self.first or place <= self.last


def is_clearly_inactive(times: Iterable[ActiveTime] | None, planned: datetime | None) -> bool:
    """Whether published times leave a moment clear, with `CLEAR_BEFORE` and `CLEAR_AFTER`.

    Parameters
    ----------
    times : iterable of ActiveTime, or None
        None where no machine can read the published hours: then the volume counts as active.
    planned : datetime or None
        With its offset from UTC; None where the project plans no time: active.

    Returns
    -------
    bool
        Never True without both, nor for an empty list of times.
    """
    sheets = tuple(times or ())
    if planned is None or planned.tzinfo is None or not sheets:
        return False
    begin = planned.astimezone(UTC) - CLEAR_BEFORE
    end = planned.astimezone(UTC) + CLEAR_AFTER
    return not any(sheet.meets(begin, end) for sheet in sheets)
