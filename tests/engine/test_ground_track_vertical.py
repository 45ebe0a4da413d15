"""Steep turns, stalls, chandelles, lazy eights and steep spirals: heights, ends and drift."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from areaplan.engine import vertical_figures as vertical
from areaplan.engine.air_phases import fly_phases
from areaplan.engine.constant_radius import SteadyFlight, least_radius_m
from areaplan.engine.flight import gliding_turn_loss, turn_radius, turn_time
from areaplan.engine.ground_track import Side
from areaplan.engine.steep_spiral import steep_spiral
from areaplan.units import FOOT_M, KNOT_MPS, Wind

CALM = Wind(0.0, 0.0)
BREEZE = Wind(240.0, 20.0 * KNOT_MPS)
HEIGHTS = vertical.Heights(60.0, 210.0)
SPEEDS = vertical.Speeds(55.0, 28.0)
ONE_FOOT_M = FOOT_M
MICRODEGREE = 1e-6


def angles_between(one_deg, other_deg):
    return np.abs((one_deg - other_deg + 180.0) % 360.0 - 180.0)


def figures(wind, side=Side.RIGHT):
    return {
        "steep turns": vertical.steep_turns(50.0, vertical.Entry(130.0, wind), 45.0, side, HEIGHTS),
        "stall": vertical.stall(
            SPEEDS, vertical.Entry(130.0, wind), KNOT_MPS, 8.0, HEIGHTS, bank_deg=20.0
        ),
        "chandelle": vertical.chandelle(SPEEDS, vertical.Entry(130.0, wind), 30.0, side, 210.0),
        "lazy eight": vertical.lazy_eight(SPEEDS, vertical.Entry(130.0, wind), 30.0, side, HEIGHTS),
    }


@pytest.mark.parametrize("name", figures(CALM))
def test_wind_carries_the_whole_figure_off(name):
    """In the air nothing changes: sample by sample the same flight, moved by wind times time."""
    calm, windy = figures(CALM)[name], figures(BREEZE)[name]
    seconds = windy.track.time_s
    assert seconds == pytest.approx(calm.track.time_s)
    to = math.radians(60.0)
    drift = BREEZE.speed_mps * np.array([math.sin(to), math.cos(to)])
    assert windy.track.east_m == pytest.approx(calm.track.east_m + drift[0] * seconds, abs=1e-6)
    assert windy.track.north_m == pytest.approx(calm.track.north_m + drift[1] * seconds, abs=1e-6)
    expected = drift * windy.track.duration_s
    assert (windy.drift_east_m, windy.drift_north_m) == pytest.approx(tuple(expected))
    assert (calm.drift_east_m, calm.drift_north_m) == (0.0, 0.0)


@pytest.mark.parametrize("name", figures(CALM))
def test_heights_are_the_declared_ones(name):
    figure = figures(BREEZE)[name]
    above = figure.track.above_entry_m
    assert above[0] == 0.0
    assert (np.abs(np.diff(above)) < 40.0).all()
    assert -figure.height_used_m - 1e-9 <= above.min()
    assert above.max() <= figure.height_gained_m + 1e-9
    if name != "steep turns":
        assert above.max() == pytest.approx(210.0)
    if name == "stall":
        assert above[-1] == pytest.approx(-60.0)
    assert figure.height_gained_m == 210.0
    assert figure.height_used_m == (0.0 if name == "chandelle" else 60.0)


@pytest.mark.parametrize("side", Side)
def test_steep_turns_are_two_level_circles(side):
    """In calm air, to either side: radius and time of FAA-H-8083-25's level turn."""
    track = vertical.steep_turns(
        50.0, vertical.Entry(0.0, CALM), 45.0, side, HEIGHTS, turns=2
    ).track
    radius = float(turn_radius(50.0, 45.0))
    for sign in (-1.0, 1.0):
        chosen = track.bank_deg == 45.0 * sign
        distance = np.hypot(track.east_m[chosen] - sign * radius, track.north_m[chosen])
        assert distance == pytest.approx(radius)
    assert track.bank_deg[0] == 45.0 * side.sign
    assert track.duration_s == pytest.approx(2.0 * float(turn_time(50.0, 45.0)))
    assert (track.east_m[-1], track.north_m[-1]) == pytest.approx((0.0, 0.0), abs=1e-6)


def test_stall_in_a_straight_line():
    """One knot a second from 60 to 45 kt, 8 s back: 15 s and 8 s at mean speeds of 52.5 kt."""
    speeds = vertical.Speeds(60.0 * KNOT_MPS, 45.0 * KNOT_MPS)
    figure = vertical.stall(speeds, vertical.Entry(90.0, CALM), KNOT_MPS, 8.0, HEIGHTS)
    assert figure.track.duration_s == pytest.approx(23.0)
    assert figure.track.east_m[-1] == pytest.approx(23.0 * 52.5 * KNOT_MPS)
    assert np.abs(figure.track.north_m).max() == pytest.approx(0.0, abs=1e-9)
    assert figure.track.groundspeed_mps.min() == pytest.approx(45.0 * KNOT_MPS)
    assert figure.track.greatest_bank_deg == 0.0


@pytest.mark.parametrize("side", Side)
def test_chandelle_ends_on_the_reciprocal_wings_level_and_slow(side):
    figure = vertical.chandelle(SPEEDS, vertical.Entry(130.0, CALM), 30.0, side, 210.0)
    track = figure.track
    assert angles_between(track.heading_deg_true[-1], 310.0) < MICRODEGREE
    assert track.bank_deg[-1] == pytest.approx(0.0, abs=1e-9)
    assert track.groundspeed_mps[-1] == pytest.approx(28.0)
    turned = angles_between(track.heading_deg_true, 130.0)
    first_half = turned <= 90.0 - 1e-6
    assert track.bank_deg[first_half] == pytest.approx(30.0 * side.sign)
    assert (np.diff(track.above_entry_m) >= -1e-9).all()
    assert (np.diff(track.groundspeed_mps) <= 1e-9).all()
    # AFH: the pitch is held in the second half: no jump of the climb where the halves meet.
    quarter = np.interp(90.0, turned, track.above_entry_m)
    assert quarter == pytest.approx(70.0)


@pytest.mark.parametrize("side", Side)
def test_lazy_eight_is_highest_slowest_steepest_half_way(side):
    track = vertical.lazy_eight(SPEEDS, vertical.Entry(130.0, CALM), 30.0, side, HEIGHTS).track
    middle = track.time_s.size // 2
    for half, sign in ((slice(0, middle), side.sign), (slice(middle, None), -side.sign)):
        part = track.above_entry_m[half]
        turned = angles_between(track.heading_deg_true[half], track.heading_deg_true[half][0])
        top = int(part.argmax())
        assert part[top] == pytest.approx(210.0)
        assert turned[top] == pytest.approx(90.0)
        assert track.groundspeed_mps[half][top] == pytest.approx(28.0)
        assert track.bank_deg[half][top] == pytest.approx(30.0 * sign)
        assert np.abs(track.bank_deg[half]).max() == pytest.approx(30.0)
        assert (part[0], part[-1]) == pytest.approx((0.0, 0.0), abs=1e-9)
        assert track.groundspeed_mps[half][[0, -1]] == pytest.approx(55.0)
        assert turned[-1] == pytest.approx(180.0)
    assert angles_between(track.heading_deg_true[-1], 130.0) < MICRODEGREE


@given(
    st.floats(30.0, 45.0),
    st.floats(0.0, 0.5),
    st.floats(0.0, 359.0),
    st.floats(25.0, 60.0),
    st.sampled_from(Side),
)
@settings(deadline=None, max_examples=50)
def test_steep_spiral(tas, share, wind_from, limit_deg, side):
    """Round its point at the bank asked for; what it loses summed up again in small steps."""
    flight = SteadyFlight(tas, Wind(wind_from, share * tas))
    radius = float(least_radius_m(tas, share * tas, limit_deg))
    figure = steep_spiral(flight, 9.0, radius, side, 3.0, step_m=2.0)
    track = figure.track
    assert np.hypot(track.east_m, track.north_m) == pytest.approx(radius)
    assert track.greatest_bank_deg == pytest.approx(limit_deg)
    load = 1.0 / np.cos(np.radians(track.bank_deg))
    sink = tas / 9.0 * np.maximum(load**1.5, (1.0 + load**2) / 2.0)
    expected = np.trapezoid(sink, track.time_s)
    assert figure.height_used_m == pytest.approx(expected, rel=1e-3)
    assert track.above_entry_m[-1] == -figure.height_used_m
    assert (np.diff(track.above_entry_m) < 0.0).all()
    assert figure.height_gained_m == 0.0


def test_steep_spiral_in_calm_air_by_hand():
    """70 kt, ratio 9, 45 degrees: 23.07 s a turn; sink 4.00 m/s times 2^0.75 (1.682): 155.2 m."""
    flight = SteadyFlight(70.0 * KNOT_MPS, CALM)
    radius = float(least_radius_m(flight.tas_mps, 0.0, 45.0))
    figure = steep_spiral(flight, 9.0, radius, Side.LEFT, 1.0)
    assert figure.track.duration_s == pytest.approx(23.07, abs=0.01)
    assert figure.height_used_m == pytest.approx(155.2, abs=ONE_FOOT_M)
    # The same sink as at the kept lift coefficient, where the faster aircraft turns for longer.
    at_kept_lift = float(gliding_turn_loss(flight.tas_mps, 9.0, 45.0, 360.0))
    assert figure.height_used_m == pytest.approx(at_kept_lift / 2.0**0.25, rel=1e-6)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: vertical.Speeds(30.0, 31.0), "least airspeed in m/s 31"),
        (lambda: vertical.Speeds(30.0, 0.0), "least_mps"),
        (lambda: vertical.Speeds(math.nan, 20.0), "entry_mps"),
        (lambda: vertical.Heights(-1.0, 0.0), "used_m"),
        (lambda: vertical.Heights(1.0, math.nan), "gained_m"),
        (
            lambda: vertical.steep_turns(50.0, vertical.Entry(0.0, CALM), 90.0, Side.LEFT, HEIGHTS),
            "bank in degrees 90",
        ),
        (
            lambda: vertical.steep_turns(
                50.0, vertical.Entry(0.0, CALM), 45.0, Side.LEFT, HEIGHTS, turns=0
            ),
            "0 phases",
        ),
        (
            lambda: vertical.steep_turns(0.0, vertical.Entry(0.0, CALM), 45.0, Side.LEFT, HEIGHTS),
            "airspeed in m/s",
        ),
        (
            lambda: vertical.chandelle(SPEEDS, vertical.Entry(0.0, CALM), 0.0, Side.LEFT, 100.0),
            "bank in degrees 0",
        ),
        (
            lambda: vertical.lazy_eight(
                SPEEDS, vertical.Entry(0.0, CALM, step_m=0.0), 30.0, Side.LEFT, HEIGHTS
            ),
            "step 0 m",
        ),
        (
            lambda: vertical.stall(SPEEDS, vertical.Entry(0.0, CALM), 0.0, 8.0, HEIGHTS),
            "slowing in m/s2 0",
        ),
        (
            lambda: vertical.stall(SPEEDS, vertical.Entry(0.0, CALM), 0.5, -1.0, HEIGHTS),
            "recovery in s -1",
        ),
        (
            lambda: vertical.stall(
                vertical.Speeds(30.0, 30.0), vertical.Entry(0.0, CALM), 0.5, 8.0, HEIGHTS
            ),
            "below the entry",
        ),
        (
            lambda: steep_spiral(SteadyFlight(36.0, CALM), 0.0, 200.0, Side.LEFT),
            "glide ratio 0",
        ),
        (lambda: fly_phases([], CALM, 40.0), "0 phases"),
    ],
)
def test_refused(call, words):
    with pytest.raises(ValueError, match=words):
        call()
