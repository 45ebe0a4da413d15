"""Where the sun stands, and when day, civil twilight and night begin and end.

The sun's position comes from `astral` (the NOAA solar calculator's equations, after Meeus,
*Astronomical Algorithms*); the events of a day are found here, on that position, so that polar days
and nights are seen rather than guessed. Against the NREL algorithm (Reda and Andreas, 2004) the
position is within 0.01 degrees, rise and set within half a minute, at sea-level refraction over a
flat horizon: hills, and the dip of the horizon seen from above, are not in it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import datetime, timedelta
from enum import StrEnum
from typing import Final

from attrs import field, frozen, validators

# Centre of the disc when its upper edge shows: 34' of refraction and 16' of semi-diameter (US
# Naval Observatory, "Rise, Set, and Twilight Definitions"; from memory).
HORIZON_DEG: Final = -50.0 / 60.0
# Centre of the disc at the ends of civil twilight (ICAO Annex 2, definition of night; 14 CFR 1.1
# points to the Air Almanac, which uses the same).
CIVIL_TWILIGHT_DEG: Final = -6.0
# A convention of areaplan, from no published source: a sun higher than this is above the view
# ahead, and one this far off the nose is beside it.
LOW_SUN_DEG: Final = 30.0
GLARE_HALF_DEG: Final = 20.0
_STEP: Final = timedelta(minutes=5)  # a rise and a set within one step of each other go unseen
_PRECISION: Final = timedelta(seconds=1)


class Light(StrEnum):
    """What the law and the almanac call the light at a time."""

    DAY = "day"
    CIVIL_TWILIGHT = "civil twilight"
    NIGHT = "night"


class SunEvent(StrEnum):
    """What the sun does at a time."""

    DAWN = "morning civil twilight begins"
    SUNRISE = "sunrise"
    SUNSET = "sunset"
    DUSK = "evening civil twilight ends"


_EVENTS: Final = (
    (CIVIL_TWILIGHT_DEG, SunEvent.DAWN, SunEvent.DUSK),
    (HORIZON_DEG, SunEvent.SUNRISE, SunEvent.SUNSET),
)


@frozen
class Place:
    """Where the sun is watched from: degrees on WGS 84, north and east positive."""

    lat: float = field(validator=[validators.ge(-90.0), validators.le(90.0)])
    lon: float = field(validator=[validators.ge(-180.0), validators.le(180.0)])


@frozen
class Sun:
    """The sun at a place and time.

    Attributes
    ----------
    time : datetime
        With the offset from UTC in which the times of `events` are told too.
    azimuth_deg_true : float
        Direction of the sun, degrees true, in [0, 360).
    elevation_deg : float
        Apparent height of its centre above a flat horizon, refraction counted, degrees.
    light : Light
        Whether it is day, civil twilight or night.
    events : tuple of (SunEvent, datetime)
        Of the calendar day of `time` in its own offset, in order of time. An event that does not
        happen on that day is missing.
    next_sunset, night_begins : datetime or None
        The first sunset, and the first end of evening civil twilight, within 24 hours after `time`;
        None where there is none.
    """

    time: datetime
    azimuth_deg_true: float
    elevation_deg: float
    light: Light
    events: tuple[tuple[SunEvent, datetime], ...]
    next_sunset: datetime | None
    night_begins: datetime | None

    @property
    def headings_to_avoid_deg_true(self) -> tuple[float, float] | None:
        """From and to, clockwise, the headings that look into a low sun; None where it is not low.

        `GLARE_HALF_DEG` either side of the azimuth while the sun is up and below `LOW_SUN_DEG`.
        """
        if not HORIZON_DEG <= self.elevation_deg < LOW_SUN_DEG:
            return None
        azimuth = self.azimuth_deg_true
        return (azimuth - GLARE_HALF_DEG) % 360.0, (azimuth + GLARE_HALF_DEG) % 360.0


def sun_position(place: Place, time: datetime, *, is_refracted: bool = True) -> tuple[float, float]:
    """Azimuth in degrees true and height of the sun's centre above the horizon in degrees.

    Parameters
    ----------
    place : Place
    time : datetime
        With an offset from UTC.
    is_refracted : bool
        Whether the height is the apparent one, refraction at sea level counted.

    Raises
    ------
    ValueError
        The time carries no offset from UTC.

    References
    ----------
    NOAA Global Monitoring Laboratory, "Solar Calculation Details"; J. Meeus, *Astronomical
    Algorithms*, 2nd ed., ch. 25.
    """
    _require_offset(time)
    from astral import Observer
    from astral.sun import azimuth, elevation

    watcher = Observer(place.lat, place.lon, 0.0)
    height_deg = elevation(watcher, time, with_refraction=is_refracted)
    return float(azimuth(watcher, time)) % 360.0, float(height_deg)


def sun_at(place: Place, time: datetime) -> Sun:
    """Where the sun stands at a time, and the events of that day.

    Parameters
    ----------
    place : Place
    time : datetime
        With an offset from UTC; events are told in the same offset, even where clocks change on
        that day.

    Raises
    ------
    ValueError
        The time carries no offset from UTC.
    """
    azimuth_deg, elevation_deg = sun_position(place, time)
    midnight = time.replace(hour=0, minute=0, second=0, microsecond=0)
    events = tuple(_crossings(place, midnight, midnight + timedelta(days=1)))
    coming = list(_crossings(place, time, time + timedelta(days=1)))
    return Sun(
        time=time,
        azimuth_deg_true=azimuth_deg,
        elevation_deg=elevation_deg,
        light=_light(sun_position(place, time, is_refracted=False)[1]),
        events=events,
        next_sunset=next((when for event, when in coming if event is SunEvent.SUNSET), None),
        night_begins=next((when for event, when in coming if event is SunEvent.DUSK), None),
    )


def _light(true_height_deg: float) -> Light:
    if true_height_deg >= HORIZON_DEG:
        return Light.DAY
    return Light.CIVIL_TWILIGHT if true_height_deg >= CIVIL_TWILIGHT_DEG else Light.NIGHT


def _crossings(place: Place, start: datetime, end: datetime) -> Iterator[tuple[SunEvent, datetime]]:
    """Every event from `start` up to `end`, in order of time."""

    def height_deg(when: datetime) -> float:
        return sun_position(place, when, is_refracted=False)[1]

    before, before_deg = start, height_deg(start)
    while before < end:
        after = min(before + _STEP, end)
        after_deg = height_deg(after)
        found = []
        for level_deg, rising, setting in _EVENTS:
            if (before_deg < level_deg) != (after_deg < level_deg):
                event = rising if after_deg > before_deg else setting
                found.append((_when(height_deg, level_deg, before, after), event))
        yield from ((event, when) for when, event in sorted(found))
        before, before_deg = after, after_deg


def _when(
    height_deg: Callable[[datetime], float], level_deg: float, before: datetime, after: datetime
) -> datetime:
    """The crossing between two times by halving, to the second."""
    is_below = height_deg(before) < level_deg
    while after - before > _PRECISION:
        middle = before + (after - before) / 2
        if (height_deg(middle) < level_deg) is is_below:
            before = middle
        else:
            after = middle
    # Whole seconds, the earlier one: the end of the day is never told late by it.
    return before.replace(microsecond=0)


def _require_offset(time: datetime) -> None:
    if time.utcoffset() is None:
        raise ValueError(f"time {time.isoformat()} has no offset from UTC")
