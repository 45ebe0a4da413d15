"""Turns in wind, pivotal heights and crab against published figures and SciPy's own functions."""

import csv
import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.special import ellipeinc

from areaplan.engine import ground_figures as figures
from areaplan.engine.constant_radius import SteadyFlight, circle_bank_deg, least_radius_m
from areaplan.engine.ground_legs import Leg, fly_legs
from areaplan.engine.ground_track import Side
from areaplan.engine.pylon_eights import pivotal_height_m
from areaplan.engine.quadrature import interval_integrals
from areaplan.units import FOOT_M, KNOT_MPS, MPH_MPS, Wind

AUTHORITIES = Path(__file__).parent.parent / "authorities"
ONE_FOOT_M = FOOT_M


def _rows(name):
    lines = (AUTHORITIES / name).read_text(encoding="utf-8").splitlines()
    return list(csv.DictReader(line for line in lines if not line.startswith("#")))


@pytest.mark.parametrize("row", _rows("pivotal_heights.csv"), ids=lambda r: " ".join(r.values()))
def test_pivotal_heights(row):
    """Facts 9 to 11: in calm air, where airspeed and groundspeed are one."""
    speed = float(row["groundspeed"]) * {"kt": KNOT_MPS, "mph": MPH_MPS}[row["unit"]]
    feet = pivotal_height_m(speed, speed) / FOOT_M
    assert feet == pytest.approx(float(row["height_ft"]), abs=float(row["tolerance_ft"]))


@pytest.mark.parametrize(
    ("wind_kt", "radius_ft", "upwind_deg", "crosswind_deg", "crab_deg"),
    [(20.0, 1071.0, 22.0, 33.1, 12.84), (10.0, 885.0, 32.6, None, 6.38)],
)
def test_turn_about_a_point(wind_kt, radius_ft, upwind_deg, crosswind_deg, crab_deg):
    """Fact 64 (DERIVED, not an authority): 90 kt, 45 degrees at most; a foot, a tenth."""
    radius = float(least_radius_m(90.0 * KNOT_MPS, wind_kt * KNOT_MPS, 45.0))
    assert radius == pytest.approx(radius_ft * FOOT_M, abs=ONE_FOOT_M)
    flight = SteadyFlight(90.0 * KNOT_MPS, Wind(0.0, wind_kt * KNOT_MPS))
    track = figures.turns_around_point(flight, radius, Side.RIGHT, 1.0, step_m=2.0)
    assert track.greatest_bank_deg == pytest.approx(45.0, abs=1e-9)
    assert track.track_deg_true[track.greatest_bank_index] == pytest.approx(180.0)
    assert track.bank_deg.min() == pytest.approx(upwind_deg, abs=0.1)
    crab = (track.heading_deg_true - track.track_deg_true + 180.0) % 360.0 - 180.0
    assert np.abs(crab).max() == pytest.approx(crab_deg, abs=0.01)
    if crosswind_deg:
        beam = np.argmin(np.abs(track.track_deg_true - 270.0))
        assert track.bank_deg[beam] == pytest.approx(crosswind_deg, abs=0.1)


@pytest.mark.parametrize(
    "row",
    [row for row in _rows("wind_triangles.csv") if row["given"] == "track"],
    ids=lambda row: row["direction"],
)
def test_straights_carry_the_published_crab(row):
    """Facts 28 to 31: a straight leg holds heading and groundspeed of the worked example."""
    flight = SteadyFlight(
        float(row["tas"]) * KNOT_MPS,
        Wind(float(row["wind_from"]), float(row["wind_speed"]) * KNOT_MPS),
    )
    track = fly_legs(flight, 0j, float(row["direction"]), [Leg(5000.0)])
    assert np.ptp(track.heading_deg_true) == 0.0
    off = (track.heading_deg_true[0] - float(row["answer"]) + 180.0) % 360.0 - 180.0
    assert abs(off) <= float(row["tolerance_deg"])
    assert np.hypot(track.east_m[-1], track.north_m[-1]) == pytest.approx(5000.0)
    if row["groundspeed"]:
        knots = 5000.0 / track.duration_s / KNOT_MPS
        assert knots == pytest.approx(float(row["groundspeed"]), abs=float(row["tolerance_kt"]))


@given(st.floats(25.0, 80.0), st.floats(0.0, 0.9), st.floats(10.0, 700.0), st.floats(200.0, 3000.0))
@settings(deadline=None, max_examples=100)
def test_time_round_an_arc_is_an_elliptic_integral(tas, share, angle_deg, radius):
    """R (E(a | k^2) - k sin a) / (V (1 - k^2)), with SciPy's incomplete integral, second kind."""
    flight = SteadyFlight(tas, Wind(0.0, share * tas))
    track = fly_legs(flight, 0j, 180.0, [Leg.arc(radius, angle_deg)])
    angle = math.radians(angle_deg)
    expected = radius * (ellipeinc(angle, share**2) - share * math.sin(angle))
    assert track.duration_s == pytest.approx(expected / (tas * (1.0 - share**2)), rel=1e-5)


@given(st.floats(25.0, 80.0), st.floats(0.0, 0.95), st.floats(15.0, 60.0))
@settings(deadline=None, max_examples=100)
def test_bank_is_that_of_the_turning_air_velocity(tas, share, limit_deg):
    """tan(bank) = V (dh/dt) / g by finite differences of the heading, and never above the limit."""
    radius = float(least_radius_m(tas, share * tas, limit_deg))
    flight = SteadyFlight(tas, Wind(90.0, share * tas))
    track_deg = np.linspace(1.0, 359.0, 80)
    heading, groundspeed = flight.along(track_deg)
    half_deg = 1e-3
    before, after = (flight.along(track_deg + sign * half_deg)[0] for sign in (-1.0, 1.0))
    turned = np.radians((after - before + 180.0) % 360.0 - 180.0)
    seconds = radius * np.radians(2.0 * half_deg) / groundspeed
    expected = np.degrees(np.arctan(tas * turned / seconds / 9.80665))
    bank = circle_bank_deg(track_deg, heading, groundspeed, 1.0 / radius)
    assert bank == pytest.approx(expected, abs=1e-3)
    assert bank.max() <= limit_deg + 1e-9
    downwind = circle_bank_deg(270.0, *flight.along(270.0), 1.0 / radius)
    assert downwind == pytest.approx(limit_deg)


def test_five_points_are_exact_to_the_ninth_power():
    """Abramowitz and Stegun 25.4.29: and not to the tenth."""
    begin, end = np.array([-1.0, 0.5]), np.array([2.0, 0.75])
    for power in range(10):
        expected = (end ** (power + 1) - begin ** (power + 1)) / (power + 1)
        found = interval_integrals(lambda x, n=power: x**n, begin, end)
        assert found == pytest.approx(expected, rel=1e-12)
    tenth = interval_integrals(lambda x: x**10, begin, end)[0]
    assert abs(tenth - (2.0**11 + 1.0) / 11.0) > 1e-3


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: least_radius_m(30.0, 30.0, 45.0), "wind over airspeed 1"),
        (lambda: least_radius_m(30.0, 5.0, 90.0), "bank in degrees 90"),
        (lambda: SteadyFlight(30.0, Wind(0.0, 30.0)), "below the airspeed 30"),
        (lambda: SteadyFlight(0.0, Wind(0.0, 0.0)), "tas_mps"),
        (lambda: SteadyFlight(math.nan, Wind(0.0, 0.0)), "tas_mps"),
        (lambda: pivotal_height_m(-1.0, 30.0), "airspeed in m/s -1"),
        (lambda: circle_bank_deg(0.0, 0.0, -1.0, 0.0), "groundspeed in m/s -1"),
    ],
)
def test_refused(call, words):
    with pytest.raises(ValueError, match=words):
        call()


def test_unknown_stays_unknown():
    assert np.isnan(least_radius_m([np.nan, 40.0], 5.0, 45.0)).tolist() == [True, False]
