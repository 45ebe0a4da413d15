"""Formulas of flight against published tables and worked examples."""

import csv
import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import root

from areaplan.engine import flight
from areaplan.engine.turns import TurnModel
from areaplan.engine.wind import heading_for_track, track_for_heading
from areaplan.units import FOOT_M, KNOT_MPS, MPH_MPS, NAUTICAL_MILE_M, STATUTE_MILE_M

AUTHORITIES = Path(__file__).parent.parent / "authorities"


def _rows(name):
    lines = (AUTHORITIES / name).read_text(encoding="utf-8").splitlines()
    return list(csv.DictReader(line for line in lines if not line.startswith("#")))


def _angle_between(one_deg, other_deg):
    return abs((one_deg - other_deg + 180.0) % 360.0 - 180.0)


@pytest.mark.parametrize("row", _rows("load_factors.csv"), ids=lambda row: row["bank_deg"])
def test_load_factor_table(row):
    """Facts 1 and 2: FAA load factor chart; the print truncates, by at most 0.013."""
    assert flight.load_factor(float(row["bank_deg"])) == pytest.approx(
        float(row["load_factor"]), abs=0.013
    )


def test_stall_speed_examples():
    """Facts 1, 3 and 4: PHAK text: 50 kt becomes 100 kt at 4 g, 150 at 9; 2.89 g is 1.7 times."""
    assert flight.stall_speed(50.0, 4.0) == 100.0
    assert flight.stall_speed(50.0, 9.0) == 150.0
    assert flight.stall_speed(1.0, 2.89) == pytest.approx(1.70, abs=0.001)
    assert flight.stall_speed(1.0, flight.load_factor(60.0)) == pytest.approx(1.414, abs=0.001)


@pytest.mark.parametrize("row", _rows("level_turns.csv"), ids=lambda row: row["bank_deg"])
def test_level_turns(row):
    """Facts 5, 6 and 7."""
    tas_mps, bank_deg, g = float(row["tas_kt"]) * KNOT_MPS, float(row["bank_deg"]), float(row["g"])
    unit_m = FOOT_M if row["unit"] == "ft" else 1.0
    # The radius goes with 1/g, so a source's own g is allowed for by its quotient.
    radius = flight.turn_radius(tas_mps, bank_deg) * flight.STANDARD_GRAVITY_MPS2 / g / unit_m
    assert radius == pytest.approx(float(row["radius"]), abs=float(row["tolerance"]))
    if row["rate_deg_per_s"]:
        rate = flight.turn_rate(tas_mps, bank_deg)
        assert rate == pytest.approx(float(row["rate_deg_per_s"]), abs=0.1)
        assert flight.turn_time(tas_mps, bank_deg) == pytest.approx(float(row["circle_s"]), abs=1.0)


def test_rate_one_radius():
    """Fact 8: 100 kt at 3 degrees per second, 3,223 ft (study page, VERIFIED)."""
    radius_ft = flight.radius_at_rate(100.0 * KNOT_MPS, 3.0) / FOOT_M
    assert radius_ft == pytest.approx(3223.0, abs=3.0)


@pytest.mark.parametrize("row", _rows("gliding_turns_k7.csv"), ids=lambda row: row["bank_deg"])
def test_gliding_turn_table(row):
    """Facts 12, 13 and 14: every column of the Welch table as recomputed by Hanson."""
    tas, ratio, bank = 46.0 * MPH_MPS, 26.0, float(row["bank_deg"])
    load = flight.load_factor(bank)
    assert load == pytest.approx(float(row["load_factor"]), abs=0.0051)
    assert math.sqrt(load) == pytest.approx(float(row["root"]), abs=0.0051)
    in_turn = tas * math.sqrt(load)
    assert in_turn / MPH_MPS == pytest.approx(float(row["speed_mph"]), abs=0.6)
    _, sink = flight.glide_speeds(tas, ratio)
    assert sink * load**1.5 == pytest.approx(float(row["sink_mps"]), abs=0.06)
    radius_ft = flight.turn_radius(in_turn, bank) / FOOT_M
    assert radius_ft == pytest.approx(float(row["radius_ft"]), abs=1.0)
    assert flight.turn_time(in_turn, bank) == pytest.approx(float(row["time_s"]), abs=0.6)
    descent_ft = flight.gliding_turn_loss(tas, ratio, bank, 360.0) / FOOT_M
    assert descent_ft == pytest.approx(float(row["descent_ft"]), abs=1.0)


def test_turn_at_half_circle():
    """Fact 66 (DERIVED): 65 kt, ratio 9, 180 degrees: 302, 261, 302 ft at 30, 45, 60 of bank."""
    loss_ft = flight.gliding_turn_loss(65.0 * KNOT_MPS, 9.0, [30.0, 45.0, 60.0], 180.0) / FOOT_M
    assert loss_ft == pytest.approx([302.0, 261.0, 302.0], abs=1.0)


@given(st.floats(5.0, 60.0), st.floats(4.0, 40.0), st.floats(15.0, 60.0))
@settings(deadline=None, max_examples=100)
def test_small_slope_errs_on_the_safe_side(bank_deg, ratio, tas_mps):
    """Sink over rate of the turn with its slope not taken as small loses less than the formula."""
    turn = TurnModel(bank_deg, tas_mps, ratio, 0.0, tas_mps, 0.0, 0.0).at_speeds(1)
    steepness = math.atan(float(flight.load_factor(bank_deg)) / ratio)
    per_radian = turn.turn_tas_mps[0] * math.sin(steepness) / turn.turn_rad_per_s[0]
    formula = float(flight.gliding_turn_loss(tas_mps, ratio, bank_deg, math.degrees(1.0)))
    assert per_radian <= formula * (1.0 + 1e-12)
    # Forces along and across the turn's path balance (Newton): lift L = n W cos G here.
    lift_per_weight = math.cos(steepness) * flight.load_factor(bank_deg)
    centripetal = turn.turn_radius_m[0] * turn.turn_rad_per_s[0] ** 2
    across = lift_per_weight * math.sin(math.radians(bank_deg)) * flight.STANDARD_GRAVITY_MPS2
    assert centripetal == pytest.approx(across, rel=1e-9)


def test_least_loss_bank():
    """Fact 15: Lowry, k = 0.116 gives 45.4 degrees; without drag or with it never below 45."""
    assert flight.least_loss_bank(0.116) == pytest.approx(45.4, abs=0.1)
    assert flight.least_loss_bank(0.0) == pytest.approx(45.0, abs=1e-9)


def test_glide_ratio_examples():
    """Fact 16: AFH, 10,000 ft for 1,000 ft: 10. Fact 17: FAA, 5:1 from 500 ft: 2,500 ft."""
    assert flight.glide_distance(1000.0 * FOOT_M, 10.0) == pytest.approx(10_000.0 * FOOT_M)
    assert flight.glide_distance(500.0 * FOOT_M, 5.0) == pytest.approx(2500.0 * FOOT_M)
    # Fact 19: 1.5 NM for each 1,000 ft is a ratio of 9.11.
    ratio = 1.5 * NAUTICAL_MILE_M / (1000.0 * FOOT_M)
    assert ratio == pytest.approx(9.11, abs=0.01)
    assert flight.glide_distance(1000.0 * FOOT_M, ratio) == pytest.approx(1.5 * NAUTICAL_MILE_M)


def test_glide_areas():
    """Fact 18: FAA weight-shift handbook: "approximately 0.8", "3.1", "about 12.5", "almost 80"."""
    radii_m = flight.glide_distance(np.array([0.5, 1.0, 2.0, 5.0]) * STATUTE_MILE_M / 5.0, 5.0)
    square_miles = np.pi * radii_m**2 / STATUTE_MILE_M**2
    assert square_miles == pytest.approx([0.8, 3.1, 12.5, 80.0], rel=0.02)


def test_stopping_distance():
    """Fact 20: AFH-3C p. 18-3: 9 g from 50 mph 9.4 ft, from 100 mph 37.6 ft (print rounds up)."""
    feet = flight.stopping_distance(np.array([50.0, 100.0]) * MPH_MPS, 9.0) / FOOT_M
    assert feet == pytest.approx([9.4, 37.6], rel=0.015)
    assert feet[1] == pytest.approx(4.0 * feet[0])


@pytest.mark.parametrize("row", _rows("wind_triangles.csv"), ids=lambda row: row["direction"])
def test_wind_triangles(row):
    """Facts 28 to 34."""
    solve = heading_for_track if row["given"] == "track" else track_for_heading
    answer, groundspeed = solve(
        float(row["direction"]),
        float(row["tas"]),
        float(row["wind_speed"]),
        float(row["wind_from"]),
    )
    assert _angle_between(answer, float(row["answer"])) <= float(row["tolerance_deg"])
    if row["groundspeed"]:
        tolerance = float(row["tolerance_kt"])
        assert groundspeed == pytest.approx(float(row["groundspeed"]), abs=tolerance)


@given(st.floats(0.0, 359.9), st.floats(10.0, 80.0), st.floats(0.0, 0.99), st.floats(0.0, 359.9))
@settings(deadline=None, max_examples=200)
def test_wind_triangle_closes(track_deg, tas, share, wind_from_deg):
    """Adding the wind to the heading found gives the track back (vector sum, coded apart)."""
    heading, groundspeed = heading_for_track(track_deg, tas, share * tas, wind_from_deg)
    air = tas * np.exp(1j * np.radians(90.0 - heading))
    wind = -share * tas * np.exp(1j * np.radians(90.0 - wind_from_deg))
    ground = groundspeed * np.exp(1j * np.radians(90.0 - track_deg))
    assert air + wind == pytest.approx(ground, abs=1e-9 * tas)
    again, speed = track_for_heading(heading, tas, share * tas, wind_from_deg)
    assert _angle_between(again, track_deg) < 1e-4
    assert speed == pytest.approx(groundspeed)


def test_the_wind_that_a_course_and_crab_tell():
    """Fact 34 (US wartime manual, verified): course 094, TAS 165, GS 146, crab 10 right: 154/34.

    The other way round: the wind for which the engine gives that groundspeed and crab.
    """

    def misses(wind):
        speed, source = np.hypot(*wind), np.degrees(np.arctan2(*wind)) % 360.0
        heading, groundspeed = heading_for_track(94.0, 165.0, speed, source)
        return [groundspeed - 146.0, heading - 104.0]

    found = root(misses, [10.0, -10.0])
    assert found.success
    east, north = found.x
    assert np.degrees(np.arctan2(east, north)) % 360.0 == pytest.approx(154.0, abs=3.0)
    assert np.hypot(east, north) == pytest.approx(34.0, abs=1.0)


def test_no_headway():
    """A wind as fast as the aircraft from ahead, and one too strong from abeam."""
    for wind_from in (0.0, 60.0, 90.0):
        heading, groundspeed = heading_for_track(0.0, 30.0, 60.0, wind_from)
        assert math.isnan(heading)
        assert math.isnan(groundspeed)
        assert flight.loss_per_metre(0.0, 30.0, 9.0, 60.0, wind_from) == math.inf
    assert flight.loss_per_metre(0.0, 30.0, 9.0, 30.0, 0.0) == math.inf
    assert math.isnan(track_for_heading(0.0, 30.0, 30.0, 0.0)[0])
    assert math.isfinite(flight.loss_per_metre(180.0, 30.0, 9.0, 60.0, 0.0))
    assert math.isnan(flight.loss_per_metre(0.0, 30.0, 9.0, math.nan, 0.0))


def test_glide_over_ground():
    """Fact 65 (DERIVED): 65 kt, ratio 9, 20 kt ahead 6.21, behind 11.79."""
    loss = flight.loss_per_metre([0.0, 180.0], 65.0, 9.0, 20.0, 0.0)
    assert 1.0 / loss == pytest.approx([6.21, 11.79], abs=0.02)
    assert 1.0 / flight.loss_per_metre(77.0, 65.0, 9.0, 0.0, 0.0) == pytest.approx(9.0)


@given(
    st.floats(0.0, 359.9),
    st.floats(15.0, 60.0),
    st.floats(1.0, 1.5),
    st.floats(0.0, 1.0),
    st.floats(4.0, 40.0),
    st.floats(0.0, 1.2),
)
@settings(deadline=None, max_examples=300)
def test_ends_of_a_speed_range_bound_it(track, slowest, factor, between, ratio, wind_share):
    """What the docstring of loss_per_metre proves: no speed between two loses more than both."""
    fastest, wind = slowest * factor, slowest * wind_share
    speed = slowest + between * (fastest - slowest)
    ends = flight.loss_per_metre(track, [slowest, fastest], ratio, wind, 0.0)
    inside = flight.loss_per_metre(track, speed, ratio, wind, 0.0)
    assert inside == math.inf == ends.max() or inside <= ends.max() * (1.0 + 1e-12)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: flight.load_factor(90.0), "bank in degrees 90"),
        (lambda: flight.turn_radius(30.0, 0.0), "bank in degrees 0"),
        (lambda: flight.turn_rate(0.0, 30.0), "airspeed in m/s 0"),
        (lambda: flight.stall_speed(-1.0, 1.0), "stall speed in m/s -1"),
        (lambda: flight.glide_distance(1.0, 0.0), "glide ratio 0"),
        (lambda: flight.loss_per_metre(0.0, 30.0, 9.0, -1.0, 0.0), "wind speed in m/s -1"),
        (lambda: flight.least_loss_bank(1.0), "drag quotient 1"),
        (lambda: flight.stopping_distance(10.0, [1.0, 0.0]), "deceleration in g 0"),
        (lambda: flight.kinetic_height(math.inf), "airspeed in m/s inf"),
    ],
)
def test_refused(call, words):
    with pytest.raises(ValueError, match=words):
        call()


def test_unknown_stays_unknown():
    assert np.isnan(flight.load_factor([np.nan, 30.0])).tolist() == [True, False]
