"""AIXM activations to hours: words for people, and times only where every word is understood."""

from datetime import UTC, datetime, timedelta, timezone

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from areaplan.sources.activity import (
    CLEAR_AFTER,
    CLEAR_BEFORE,
    WEEKDAYS,
    ActiveTime,
    is_clearly_inactive,
)
from tests.sources.aixm_writing import (
    activation,
    airspace,
    component,
    element,
    limits,
    read,
    sheet,
    square,
)  # fmt: skip

HOUR = timedelta(hours=1)


def row_of(tmp_path, *activations):
    zone = airspace(component(limits() + square()), *activations)
    return read(tmp_path, zone).rows[0]


def at(day, hour, minute=0, zone=UTC):
    return datetime(2026, 11, day, hour, minute, tzinfo=zone)


def test_published_weekly_hours_are_read_as_words_and_times(tmp_path):
    row = row_of(tmp_path, activation(sheet("MON"), sheet("WED", zone="UTC-4")))
    assert row.active == (
        ActiveTime(timedelta(0), "MON", 7 * HOUR, 17 * HOUR),
        ActiveTime(-4 * HOUR, "WED", 7 * HOUR, 17 * HOUR),
    )
    assert "ACTIVE SHOOTING" in row.hours
    assert "MON 07:00-17:00" in row.hours
    assert "UTC-4" in row.hours


@pytest.mark.parametrize(
    ("moment", "is_inactive"),
    [
        # 25 November 2026 is a Wednesday; active 07:00 to 17:00 UTC.
        (at(25, 12), False), (at(25, 7), False), (at(25, 17), False),
        (at(25, 5, 0), False), (at(25, 4, 59), True),  # two hours after must be clear
        (at(25, 18, 0), False), (at(25, 18, 1), True),  # and one hour before
        (at(24, 12), True), (at(26, 12), True),
        (at(25, 14, zone=timezone(-5 * HOUR)), True),  # 19:00 UTC
        (at(25, 12, zone=timezone(-5 * HOUR)), False),  # 17:00 UTC
    ],
)  # fmt: skip
def test_a_moment_is_clear_only_with_its_margins(tmp_path, moment, is_inactive):
    row = row_of(tmp_path, activation(sheet("WED")))
    assert is_clearly_inactive(row.active, moment) is is_inactive


@pytest.mark.parametrize(
    ("times", "moment", "is_inactive"),
    [
        ({"day": "ANY", "start": "00:00", "end": "00:00"}, at(25, 12), False),
        ({"day": "ANY", "start": "00:00", "end": "24:00"}, at(25, 12), False),
        # Over midnight: Wednesday 22:00 to Thursday 04:00.
        ({"start": "22:00", "end": "04:00"}, at(26, 3), False),
        ({"start": "22:00", "end": "04:00"}, at(25, 3), True),
        # Season 1 October to 31 July, over the new year (day-month, facts.md 4.3).
        ({"startDate": "01-10", "endDate": "31-07"}, at(25, 12), False),
        ({"startDate": "01-12", "endDate": "31-07"}, at(25, 12), True),
        ({"startDate": "01-03", "endDate": "31-10"}, at(25, 12), True),
        # With summer time both readings count: 07:00-17:00 is then 06:00-18:00.
        ({"daylightSavingAdjust": "YES"}, at(25, 18, 30), False),
        ({"daylightSavingAdjust": "YES"}, at(25, 19, 1), True),
        ({"daylightSavingAdjust": ""}, at(25, 18, 30), False),
    ],
)
def test_days_seasons_and_summer_time(tmp_path, times, moment, is_inactive):
    row = row_of(tmp_path, activation(sheet(**times)))
    assert row.active is not None
    assert is_clearly_inactive(row.active, moment) is is_inactive


@pytest.mark.parametrize(
    "given",
    [
        activation(sheet(day="HOL")), activation(sheet(day="WORK_DAY")),
        activation(sheet(day="")), activation(sheet(zone="")), activation(sheet(zone="LOCAL")),
        activation(sheet(zone="UTC+99")), activation(sheet(start="7")),
        activation(sheet(end="25:00")), activation(sheet(end="24:30")),
        activation(sheet(end="", endEvent="SS")), activation(sheet(startEvent="SR")),
        activation(sheet(excluded="YES")), activation(sheet(dayTil="FRI")),
        activation(sheet(startDate="1 MAR", endDate="31-10")),
        activation(sheet(startDate="01-03")), activation(sheet(startDate="31-02", endDate="01-03")),
        activation(sheet(daylightSavingAdjust="MAYBE")), activation(sheet(), status="OTHER:X"),
        activation(sheet(), status=""), activation(), activation(status="INACTIVE"),
        activation(sheet(), more=element("annotation", "by notice")),
        activation(sheet()) + activation(sheet(day="SDLST")),
        activation(sheet()) + '<aixm:activation xlink:href="#elsewhere"/>',
        activation(sheet(), '<aixm:timeInterval xlink:href="#elsewhere"/>'),
        "", activation(sheet()) + "<aixm:annotation><aixm:Note>"
        + element("propertyName", "activation") + "</aixm:Note></aixm:annotation>",
        activation(sheet()) + "<aixm:annotation><aixm:Note/></aixm:annotation>",
    ],
)  # fmt: skip
def test_whatever_is_not_wholly_understood_counts_as_active_all_the_time(tmp_path, given):
    row = row_of(tmp_path, given)
    assert row.active is None
    assert not is_clearly_inactive(row.active, at(22, 12))


def test_nothing_is_inactive_without_a_planned_time_or_without_times():
    one = ActiveTime(timedelta(0), "MON", 7 * HOUR, 17 * HOUR)
    assert not is_clearly_inactive((one,), None)
    assert not is_clearly_inactive((one,), datetime(2026, 11, 25, 12))
    assert not is_clearly_inactive((), at(25, 12))
    assert is_clearly_inactive((one,), at(25, 12))


MINUTES = st.integers(0, 24 * 60 - 1).map(lambda m: timedelta(minutes=m))


@settings(deadline=None, max_examples=150)
@given(
    st.sampled_from(("ANY", *WEEKDAYS)),
    MINUTES,
    MINUTES,
    st.integers(-12, 14).map(lambda h: timedelta(hours=h)),
    st.integers(0, 60 * 24 * 14),
)
def test_against_a_count_of_minutes(day, start, end, offset, minute):
    """Slow twin: every minute of the span asked by its own clock."""
    planned = at(18, 0) + timedelta(minutes=minute)
    zone = timezone(offset)

    def is_active(moment):
        local = moment.astimezone(zone)
        clock = timedelta(hours=local.hour, minutes=local.minute)
        today = day in ("ANY", WEEKDAYS[local.weekday()])
        yesterday = day in ("ANY", WEEKDAYS[(local.weekday() - 1) % 7])
        if start < end:
            return today and start <= clock <= end
        return (today and clock >= start) or (yesterday and clock <= end)

    span = range(-int(CLEAR_BEFORE / timedelta(minutes=1)),
                 int(CLEAR_AFTER / timedelta(minutes=1)) + 1)  # fmt: skip
    slow = not any(is_active(planned + timedelta(minutes=m)) for m in span)
    assert is_clearly_inactive((ActiveTime(offset, day, start, end),), planned) is slow
