"""Recorded flights held against a plan: times, margins, uncertainty, gaps, what is not judged."""

from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from attrs import evolve
from hypothesis import given, settings
from hypothesis import strategies as st

from areaplan.atmosphere import SEA_LEVEL_PRESSURE_PA
from areaplan.errors import InputError
from areaplan.planning.evaluation import evaluate
from areaplan.planning.flight_altitudes import AltitudeCheck
from areaplan.planning.flight_course import altitudes_flown, flight_course
from areaplan.planning.flight_review import review_flight
from areaplan.planning.flight_spells import SpellKind, lowest_apart, runs
from areaplan.planning.flown import flown_scene
from areaplan.planning.plan import UNKNOWN_FT, Verdict
from areaplan.planning.point import answer_point
from areaplan.planning.project_file import read_project
from areaplan.render.flight_figure import profile_svg
from areaplan.render.flight_json import flight_as_json
from areaplan.render.flight_text import flight_text
from areaplan.sources.recorded_flight import RecordedFlight
from areaplan.units import FOOT_M, INHG_PA
from tests.planning.builder import FRAME, plain_country

BEGINS = datetime(2026, 11, 25, 15, 0, tzinfo=UTC)
SPEED_MPS = 40.0
HALF_M = 1000.0  # of the area, a square
LEGAL_FLOOR_FT = 1500  # 500 ft over ground at 1,000 ft


@pytest.fixture(scope="module")
def scene(tmp_path_factory):
    country = plain_country(tmp_path_factory.mktemp("flight"))
    return flown_scene(evaluate(read_project(country.project())))


def recorded(x_m, y_m, altitude_ft, *, step_s=1.0, pressure=True, time_s=None, segment=None):
    """A flight along places in metres; altitudes in feet, as pressure or satellite ones."""
    x_m, y_m = np.asarray(x_m, dtype=float), np.asarray(y_m, dtype=float)
    lon, lat = FRAME.to_lonlat(x_m, y_m)
    height = np.broadcast_to(np.asarray(altitude_ft, dtype=float) * FOOT_M, x_m.shape).copy()
    none = np.full(x_m.shape, np.nan)
    return RecordedFlight(
        name="lesson.igc",
        form="IGC",
        begins=BEGINS,
        time_s=np.arange(x_m.size) * step_s if time_s is None else np.asarray(time_s, dtype=float),
        lat=np.asarray(lat),
        lon=np.asarray(lon),
        gnss_amsl_m=none if pressure else height,
        pressure_altitude_m=height if pressure else none,
        segment=np.zeros(x_m.shape, np.int32) if segment is None else np.asarray(segment),
        is_doubtful=np.zeros(x_m.shape, dtype=bool),
        sha256="0" * 64,
        rows_read=x_m.size,
        rows_rejected=0,
    )


def crossing(altitude_ft, **more):
    """Eastward through the middle of the area, from 2 km before it to 2 km behind."""
    x_m = np.arange(-3 * HALF_M, 3 * HALF_M + 1.0, SPEED_MPS)
    return recorded(x_m, np.zeros(x_m.shape), altitude_ft, **more)


def review(scene, flight, uncertainty_ft=50.0, setting_pa=SEA_LEVEL_PRESSURE_PA):
    return review_flight(scene, flight, setting_pa, uncertainty_ft * FOOT_M)


def test_a_level_crossing_is_timed_and_measured(scene):
    found = review(scene, crossing(2000))
    assert found.verdict is Verdict.MET
    one_piece_s = scene.plan.grid.cell_m / SPEED_MPS
    assert found.seconds.in_area == pytest.approx(2 * HALF_M / SPEED_MPS, abs=2 * one_piece_s)
    assert found.seconds.met == found.seconds.in_area
    assert found.seconds.recorded == pytest.approx(6 * HALF_M / SPEED_MPS)
    (row,) = found.by_rule
    assert row.limit.rule.startswith("us-91.119-c")
    assert row.margin_ft == 2000 - LEGAL_FLOOR_FT
    assert row.seconds_beyond == 0.0
    assert {one.height_agl_ft for one in found.lowest} == {1000}
    assert found.lowest[0].track_deg_true == pytest.approx(90.0, abs=0.1)
    assert found.spells == ()
    assert "enforcement" in found.notes[0]


def test_low_flight_breaks_the_floor_unless_the_uncertainty_covers_it(scene):
    low = crossing(LEGAL_FLOOR_FT - 100)
    certain = review(scene, low)
    assert certain.verdict is Verdict.NOT_MET
    spell = next(one for one in certain.spells if one.kind is SpellKind.NOT_LEGAL)
    assert spell.worst_margin_ft == -100
    assert spell.is_certain
    assert spell.lasts_s == pytest.approx(certain.seconds.in_area)
    assert certain.by_rule[0].seconds_beyond == pytest.approx(certain.seconds.not_legal)
    doubtful = review(scene, low, uncertainty_ft=100.0)
    assert doubtful.verdict is Verdict.UNKNOWN
    assert not next(s for s in doubtful.spells if s.kind is SpellKind.NOT_LEGAL).is_certain
    assert doubtful.seconds.within_uncertainty == pytest.approx(doubtful.seconds.in_area)
    near = review(scene, crossing(LEGAL_FLOOR_FT + 30))
    assert near.verdict is Verdict.UNKNOWN
    assert near.seconds.within_uncertainty == pytest.approx(near.seconds.in_area)
    assert near.seconds.met == near.seconds.in_area


def test_a_dip_is_told_where_and_when_it_was(scene):
    x_m = np.arange(-3 * HALF_M, 3 * HALF_M + 1.0, SPEED_MPS)
    altitude = 2200.0 - 900.0 * np.exp(-(((x_m - 300.0) / 150.0) ** 2))
    found = review(scene, recorded(x_m, np.zeros(x_m.shape), altitude))
    spell = next(one for one in found.spells if one.kind is SpellKind.NOT_LEGAL)
    x, _ = FRAME.to_local(spell.worst.lon, spell.worst.lat)
    assert x == pytest.approx(300.0, abs=SPEED_MPS)
    assert spell.worst.time_s == pytest.approx((300.0 + 3 * HALF_M) / SPEED_MPS, abs=1.0)
    assert spell.worst_margin_ft == pytest.approx(1300 - LEGAL_FLOOR_FT, abs=25)
    assert spell.binder.limit.rule.startswith("us-91.119-c")
    assert found.lowest[0].height_agl_ft == spell.worst.height_agl_ft


def test_pieces_are_judged_as_the_point_verb_judges_their_place(scene):
    x_m = np.arange(-900.0, 900.0, 37.0)
    altitude = 1200.0 + 25.0 * np.arange(x_m.size)
    found = review(scene, recorded(x_m, x_m * 0.3, altitude))
    for index in range(0, len(found.flown.course), 5):
        course = found.flown.course
        lon, lat = FRAME.to_lonlat(course.x_m[index], course.y_m[index])
        feet = int(np.floor(course.altitude_amsl_m[index] / FOOT_M + 1e-6))
        answer = answer_point(scene.plan, float(lat), float(lon), feet)
        is_legal = any(
            band.floor_amsl_ft <= feet
            and (band.ceiling_amsl_ft is None or feet <= band.ceiling_amsl_ft)
            for band in answer.bands
        )
        assert (found.margins.legal_margin_ft[index] >= 0) == is_legal


def test_nothing_outside_the_area_is_judged(scene):
    x_m = np.arange(1500.0, 2500.0, SPEED_MPS)
    found = review(scene, recorded(x_m, x_m * 0.0, 1100))
    assert found.verdict is Verdict.UNKNOWN
    assert found.seconds.in_area == 0.0
    assert found.by_rule == found.spells == found.lowest == ()
    assert found.least_glide is None


def test_taxiing_is_not_flying_but_slow_and_high_is(scene):
    x_m = np.arange(-200.0, 200.0, 5.0)
    assert review(scene, recorded(x_m, x_m * 0.0, 1005)).seconds.in_area == 0.0
    assert review(scene, recorded(x_m, x_m * 0.0, 2000)).seconds.in_area > 0.0


def test_a_gap_inside_the_area_leaves_the_verdict_unknown(scene):
    whole = crossing(2000)
    kept = (whole.time_s < 70.0) | (whole.time_s > 95.0)
    x_m = np.arange(-3 * HALF_M, 3 * HALF_M + 1.0, SPEED_MPS)[kept]
    broken = recorded(x_m, x_m * 0.0, 2000, time_s=whole.time_s[kept])
    found = review(scene, broken)
    assert found.flown.gaps_s == ((69.0, 96.0),)
    assert found.seconds.gaps == pytest.approx(27.0)
    (spell,) = found.spells
    assert spell.kind is SpellKind.NOT_RECORDED
    assert (spell.begin_s, spell.end_s) == (69.0, 96.0)
    assert found.verdict is Verdict.UNKNOWN
    assert any("Gaps" in note for note in found.notes)


def test_doubtful_fixes_are_unknown_and_never_clear(scene):
    flight = crossing(2000)
    flight.is_doubtful[70:73] = True
    found = review(scene, flight)
    assert found.verdict is Verdict.UNKNOWN
    (spell,) = found.spells
    assert spell.kind is SpellKind.UNKNOWN
    assert spell.lasts_s == pytest.approx(2.0, abs=0.1)
    assert found.seconds.unknown == pytest.approx(2.0, abs=0.1)


def test_a_missing_altitude_is_unknown(scene):
    altitude = np.full(151, 2000.0)
    altitude[70] = np.nan
    found = review(scene, crossing(altitude))
    assert found.verdict is Verdict.UNKNOWN
    assert {one.kind for one in found.spells} == {SpellKind.UNKNOWN}
    assert found.spells[0].worst.altitude_amsl_ft is None


def test_another_day_is_said(scene):
    flight = crossing(2000)
    later = evolve(flight, begins=BEGINS + timedelta(days=3))
    assert any("2026-11-28" in note for note in review(scene, later).notes)


@pytest.mark.parametrize(
    ("inches", "feet"),
    [
        # U.S. Standard Atmosphere, 1976: 29.921 inHg at sea level, 28.856 at 1,000 ft, 27.821 at
        # 2,000 ft (as the handbooks of the FAA print them). An altimeter set to the pressure of
        # the standard atmosphere at a height shows that much less than pressure altitude.
        (29.921, 0.0),
        (28.856, -1000.0),
        (27.821, -2000.0),
        # FAA-H-8083-25 (PHAK): 30.10 takes 165 ft off the pressure altitude, 29.70 adds 205 ft.
        (30.10, 165.0),
        (29.70, -205.0),
    ],
)
def test_the_altimeter_setting_is_applied_to_pressure_altitudes(inches, feet):
    altitude_m, words = altitudes_flown(crossing(3000), inches * INHG_PA)
    assert altitude_m / FOOT_M == pytest.approx(3000.0 + feet, abs=1.0)
    assert "hPa" in words


def test_pressure_and_satellite_altitudes_are_kept_apart():
    satellite = crossing(2500, pressure=False)
    altitude_m, words = altitudes_flown(satellite, 95_000.0)
    assert altitude_m / FOOT_M == pytest.approx(2500.0)  # no setting is applied to it
    assert "satellite" in words
    with pytest.raises(InputError, match="--altimeter"):
        altitudes_flown(crossing(2500), None)
    with pytest.raises(InputError, match="no altitude"):
        altitudes_flown(crossing(np.nan), None)


def test_points_too_far_apart_in_time_are_no_flight():
    with pytest.raises(InputError, match="at least every"):
        flight_course(crossing(2000, step_s=60.0), np.zeros(151), FRAME, 50.0)


def both_kinds(pressure_ft, satellite_ft):
    """The crossing with both altitudes: the setting is right where they are equal."""
    satellite = crossing(satellite_ft, pressure=False)
    return evolve(crossing(pressure_ft), gnss_amsl_m=satellite.gnss_amsl_m)


# FAA-H-8083-25 (PHAK): 30.10 inHg takes 165 ft off the pressure altitude for that elevation, so an
# altimeter shows that much more than pressure altitude.
PHAK_PA, PHAK_FT = 30.10 * INHG_PA, 165


def test_a_right_setting_agrees_with_the_satellites(scene):
    found = review(scene, both_kinds(2000 - PHAK_FT, 2000), setting_pa=PHAK_PA)
    assert found.verdict is Verdict.MET
    assert abs(found.altitude_check.difference_ft) <= 1
    assert found.altitude_check.contradiction == found.altitude_check.note == ""
    assert "contradict" not in flight_text(found)
    assert flight_as_json(found)["contradiction"] is None


@pytest.mark.parametrize(
    "satellite_ft",
    [
        2000 - 400,  # set too high, and yet high enough
        LEGAL_FLOOR_FT - 200,  # set too high, and a rule broken
        2000 + 400,  # set too low
    ],
)
def test_a_setting_that_the_satellites_contradict_never_meets(scene, satellite_ft):
    flight = both_kinds(2000, satellite_ft)
    without = evolve(flight, gnss_amsl_m=flight.gnss_amsl_m * np.nan)
    assert review(scene, without).verdict is Verdict.MET  # nothing else shows it
    found = review(scene, flight)
    assert found.verdict is Verdict.UNKNOWN
    differ_ft = 2000 - satellite_ft
    assert found.altitude_check.difference_ft == differ_ft
    first = (
        f"The altimeter setting and the satellite altitudes differ by {abs(differ_ft)} ft: one of "
        "them is wrong."
    )
    text = flight_text(found)
    assert text.startswith(first)
    assert "contradict each other" in " ".join(text.split())
    assert next(iter(flight_as_json(found).items())) == ("contradiction", first)
    assert first in profile_svg(found)
    way = "higher" if differ_ft > 0 else "lower"
    assert any(f"{abs(differ_ft)} ft {way}" in note for note in found.notes)


def test_a_low_setting_does_not_prove_that_a_rule_was_broken(scene):
    found = review(scene, both_kinds(LEGAL_FLOOR_FT - 200, 2000))
    assert found.verdict is Verdict.UNKNOWN
    spell = next(one for one in found.spells if one.kind is SpellKind.NOT_LEGAL)
    assert spell.worst_margin_ft == -200
    assert not spell.is_certain
    assert "-200 ft, not certain" in " ".join(flight_text(found).split())


def test_a_rule_broken_by_both_altitudes_was_broken(scene):
    found = review(scene, both_kinds(LEGAL_FLOOR_FT - 100, LEGAL_FLOOR_FT - 300))
    assert found.verdict is Verdict.NOT_MET
    assert found.altitude_check.difference_ft == 200
    assert next(one for one in found.spells if one.kind is SpellKind.NOT_LEGAL).is_certain
    assert "whichever of the two altitudes" in " ".join(flight_text(found).split())


def test_a_difference_within_the_uncertainty_contradicts_nothing(scene):
    flight = both_kinds(2000, 1950)
    assert review(scene, flight, uncertainty_ft=50.0).verdict is Verdict.MET
    assert review(scene, flight, uncertainty_ft=49.0).verdict is Verdict.UNKNOWN


def test_wild_satellite_altitudes_and_the_way_there_do_not_contradict(scene):
    satellite = np.full(151, 2000.0)
    satellite[60:80] = 9000.0
    satellite[70] = np.nan
    assert review(scene, both_kinds(2000, satellite)).verdict is Verdict.MET
    satellite[:50] = satellite[-50:] = 4000.0  # most of the flight, all outside the area
    assert review(scene, both_kinds(2000, satellite)).verdict is Verdict.MET
    satellite[50:101] = 2000.0 - 51.0
    assert review(scene, both_kinds(2000, satellite)).altitude_check.difference_ft == 51


def test_one_kind_of_altitude_is_not_compared(scene):
    pressure = review(scene, crossing(2000))
    assert pressure.verdict is Verdict.MET
    assert pressure.altitude_check.difference_ft is None
    assert pressure.altitude_check.contradiction == ""
    assert any("not compared" in note for note in pressure.notes)
    for setting_pa in (None, PHAK_PA):
        satellite = review(scene, crossing(2000, pressure=False), setting_pa=setting_pa)
        assert satellite.verdict is Verdict.MET
        assert satellite.altitude_check == AltitudeCheck()
    unset = review(scene, both_kinds(1000, 2000), setting_pa=None)
    assert unset.verdict is Verdict.MET
    assert "no altimeter setting" in unset.altitude_check.note


@settings(deadline=None, max_examples=40)
@given(
    st.lists(
        st.tuples(st.floats(0.5, 60.0), st.floats(-300, 300), st.floats(-300, 300)), min_size=2
    )
)
def test_pieces_and_gaps_fill_the_recording(steps):
    time_s = np.cumsum([0.0, *(step for step, _, _ in steps)])
    x_m = np.cumsum([0.0, *(east for _, east, _ in steps)])
    y_m = np.cumsum([0.0, *(north for _, _, north in steps)])
    flight = recorded(x_m, y_m, 2000, time_s=time_s)
    if not (np.diff(time_s) <= 20.0).any():
        return
    found = flight_course(flight, flight.pressure_altitude_m, FRAME, 50.0)
    gaps = sum(end - begin for begin, end in found.gaps_s)
    assert found.lasts_s.sum() + gaps == pytest.approx(time_s[-1])
    assert (np.diff(found.time_s) > 0.0).all()
    # No piece is longer than half a cell: nothing is flown over unseen.
    assert (found.lasts_s * found.groundspeed_mps <= 25.0 + 1e-6).all()


def test_runs_join_what_is_near_and_part_what_is_not():
    time_s, lasts_s = np.arange(30.0), np.ones(30)
    is_in = np.zeros(30, dtype=bool)
    is_in[[2, 3, 8, 20]] = True  # 4 s apart, then 11 s
    assert [run.tolist() for run in runs(is_in, time_s, lasts_s)] == [[2, 3, 8], [20]]
    assert runs(is_in & False, time_s, lasts_s) == ()


def test_low_points_are_a_minute_apart():
    time_s = np.arange(0.0, 300.0, 10.0)
    height = np.full(30, 900, dtype=np.int32)
    height[[3, 4, 20]] = 500, 510, 600
    found = lowest_apart(height, time_s, 3)
    assert found[:2] == (3, 20)
    assert all(abs(time_s[a] - time_s[b]) >= 60.0 for a in found for b in found if a != b)


def test_unknown_margins_never_count_as_met(scene):
    x_m = np.arange(-300.0, 300.0, SPEED_MPS)
    altitude = np.full(x_m.shape, np.nan)
    altitude[0] = 2000.0  # the piece that it begins has no end, so it is not known either
    found = review(scene, recorded(x_m, x_m * 0.0, altitude))
    assert (found.margins.legal_margin_ft == UNKNOWN_FT).all()
    assert found.seconds.met == 0.0
    assert found.verdict is Verdict.UNKNOWN
