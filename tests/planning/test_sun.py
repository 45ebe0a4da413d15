"""The sun against the NREL algorithm and the almanac; polar days, polar nights, odd offsets."""

from datetime import UTC, datetime, timedelta, timezone

import pytest

from areaplan.planning.sun import Light, Place, SunEvent, sun_at, sun_position

# Reda and Andreas, "Solar Position Algorithm for Solar Radiation Applications", NREL/TP-560-34302,
# revised 2008, appendix A.5: Golden, Colorado.
GOLDEN = Place(39.742476, -105.1786)
MOUNTAIN = timezone(timedelta(hours=-7))
NREL_TIME = datetime(2003, 10, 17, 12, 30, 30, tzinfo=MOUNTAIN)
NREL_AZIMUTH_DEG = 194.340241
NREL_APPARENT_ZENITH_DEG = 50.11162
NREL_UNREFRACTED_ELEVATION_DEG = 39.872046
# Rise and set there by NREL SPA, as pvlib's tests cite them, in Mountain Standard Time. They are
# for days of universal time: the set of 2015-08-02 UTC is on the evening of 1 August in Golden
# (another implementation of SPA puts the sun at -0.836 degrees then, and at -1.022 a day later).
NREL_EVENTS = [
    (SunEvent.SUNRISE, datetime(2015, 1, 2, 7, 21, 55, tzinfo=MOUNTAIN)),
    (SunEvent.SUNSET, datetime(2015, 1, 2, 16, 47, 43, tzinfo=MOUNTAIN)),
    (SunEvent.SUNRISE, datetime(2015, 8, 2, 5, 0, 27, tzinfo=MOUNTAIN)),
    (SunEvent.SUNSET, datetime(2015, 8, 1, 19, 13, 58, tzinfo=MOUNTAIN)),
]
POSITION_DEG = 0.05
RISE_AND_SET = timedelta(seconds=60)


def test_position_of_the_published_case():
    azimuth, elevation = sun_position(GOLDEN, NREL_TIME)
    assert azimuth == pytest.approx(NREL_AZIMUTH_DEG, abs=POSITION_DEG)
    assert 90.0 - elevation == pytest.approx(NREL_APPARENT_ZENITH_DEG, abs=POSITION_DEG)
    _, bare = sun_position(GOLDEN, NREL_TIME, is_refracted=False)
    assert bare == pytest.approx(NREL_UNREFRACTED_ELEVATION_DEG, abs=POSITION_DEG)


@pytest.mark.parametrize(("event", "published"), NREL_EVENTS)
def test_rise_and_set_of_the_published_days(event, published):
    found = dict(sun_at(GOLDEN, published.replace(hour=12)).events)
    assert abs(found[event] - published) <= RISE_AND_SET


def test_civil_twilight_ends_with_the_sun_six_degrees_down():
    """ICAO Annex 2, night: the centre of the disc 6 degrees below the horizon."""
    sun = sun_at(GOLDEN, NREL_TIME)
    assert [event for event, _ in sun.events] == list(SunEvent)
    times = dict(sun.events)
    for event in (SunEvent.DAWN, SunEvent.DUSK):
        _, height = sun_position(GOLDEN, times[event], is_refracted=False)
        assert height == pytest.approx(-6.0, abs=0.01)
    assert sun.night_begins == times[SunEvent.DUSK]
    assert sun.next_sunset == times[SunEvent.SUNSET]


@pytest.mark.parametrize(
    ("minutes_after_sunset", "light"),
    [(-5, Light.DAY), (5, Light.CIVIL_TWILIGHT), (60, Light.NIGHT)],
)
def test_the_light_changes_at_sunset_and_at_the_end_of_twilight(minutes_after_sunset, light):
    sunset = sun_at(GOLDEN, NREL_TIME).next_sunset
    assert sun_at(GOLDEN, sunset + timedelta(minutes=minutes_after_sunset)).light is light


def test_another_offset_tells_the_same_moments():
    """A change of clocks is only another offset: nothing is guessed from the calendar."""
    here = sun_at(GOLDEN, NREL_TIME)
    summer = sun_at(GOLDEN, NREL_TIME.astimezone(timezone(timedelta(hours=-6))))
    assert here.events == summer.events
    assert summer.events[0][1].utcoffset() == timedelta(hours=-6)
    assert here.azimuth_deg_true == pytest.approx(summer.azimuth_deg_true, abs=1e-9)


def test_after_dark_the_next_night_is_tomorrows():
    late = sun_at(GOLDEN, NREL_TIME.replace(hour=22))
    assert late.light is Light.NIGHT
    assert late.night_begins.date() == NREL_TIME.date() + timedelta(days=1)


@pytest.mark.parametrize(
    ("lat", "month", "light", "events"),
    [
        (75.0, 6, Light.DAY, set()),
        (75.0, 12, Light.NIGHT, set()),
        # Polar night with a civil twilight at noon, and a midsummer night with no end of twilight.
        (70.0, 12, Light.CIVIL_TWILIGHT, {SunEvent.DAWN, SunEvent.DUSK}),
        (63.0, 6, Light.DAY, {SunEvent.SUNRISE, SunEvent.SUNSET}),
    ],
)
def test_what_does_not_happen_is_not_told(lat, month, light, events):
    noon = datetime(2026, month, 21, 12, tzinfo=UTC)
    sun = sun_at(Place(lat, 0.0), noon)
    assert sun.light is light
    assert {event for event, _ in sun.events} == events
    assert (sun.next_sunset is None) == (SunEvent.SUNSET not in events)
    assert (sun.night_begins is None) == (SunEvent.DUSK not in events)


def test_headings_into_a_low_sun():
    low = sun_at(GOLDEN, NREL_TIME.replace(hour=16, minute=30))
    first, last = low.headings_to_avoid_deg_true
    assert (last - first) % 360.0 == pytest.approx(40.0)
    assert (low.azimuth_deg_true - first) % 360.0 == pytest.approx(20.0)
    assert sun_at(GOLDEN, NREL_TIME).headings_to_avoid_deg_true is None  # 40 degrees high
    assert sun_at(GOLDEN, NREL_TIME.replace(hour=23)).headings_to_avoid_deg_true is None


def test_the_noon_sun_of_either_hemisphere():
    """At the equinox near noon the sun stands due south of London's parallel, north of Cape's."""
    noon = datetime(2026, 3, 20, 12, 7, tzinfo=UTC)
    assert sun_position(Place(51.5, 0.0), noon)[0] == pytest.approx(180.0, abs=1.0)
    south = sun_position(Place(-34.0, 0.0), noon)[0]
    assert min(south, 360.0 - south) < 1.0


def test_a_time_without_an_offset_is_refused():
    with pytest.raises(ValueError, match="no offset"):
        sun_at(GOLDEN, datetime(2026, 1, 1, 12))
