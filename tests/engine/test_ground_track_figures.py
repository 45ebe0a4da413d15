"""What the figures look like over the ground: entries, distances, symmetry, joints."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import LineString, Point, box

from areaplan.engine import ground_figures as figures
from areaplan.engine.constant_radius import SteadyFlight, least_radius_m
from areaplan.engine.ground_legs import STEP_DEG, Leg, fly_legs
from areaplan.engine.ground_track import GroundTrack, Side
from areaplan.engine.pylon_eights import eights_on_pylons
from areaplan.units import Wind
from tests.engine.figure_cases import FIGURES, Conditions, conditions

MICROMETRE_M = 1e-6
MICRODEGREE = 1e-6
G = 9.80665
CIRCLES = ("point", "s-turns", "course", "course joined diagonally", "road", "around pylons")
CASE = Conditions(46.3, 0.22, 200.0, 110.0, 600.0, Side.LEFT)


def angles_between(one_deg, other_deg):
    return np.abs((one_deg - other_deg + 180.0) % 360.0 - 180.0)


def unit(bearing_deg):
    return np.array([math.sin(math.radians(bearing_deg)), math.cos(math.radians(bearing_deg))])


def places(track):
    return np.stack([track.east_m, track.north_m], axis=1)


@pytest.mark.parametrize("name", FIGURES)
@given(case=conditions(greatest_share=0.8), by_deg=st.floats(-360.0, 360.0))
@settings(deadline=None, max_examples=25)
def test_turning_wind_and_reference_turns_the_figure(name, case, by_deg):
    track, other = FIGURES[name](case), FIGURES[name](case.turned(by_deg))
    east, north = unit(90.0 + by_deg), unit(by_deg)
    expected = track.east_m[:, np.newaxis] * east + track.north_m[:, np.newaxis] * north
    assert places(other) == pytest.approx(expected, abs=1e-5)
    assert other.bank_deg == pytest.approx(track.bank_deg, abs=1e-6)
    assert other.time_s == pytest.approx(track.time_s, abs=1e-6)
    turned = angles_between(other.heading_deg_true, track.heading_deg_true + by_deg)
    assert turned.max() < MICRODEGREE


@pytest.mark.parametrize("name", FIGURES)
@given(case=conditions(greatest_share=0.8))
@settings(deadline=None, max_examples=25)
def test_the_mirrored_figure_is_the_figure_mirrored(name, case):
    track, other = FIGURES[name](case), FIGURES[name](case.mirrored())
    assert other.east_m == pytest.approx(-track.east_m, abs=1e-5)
    assert other.north_m == pytest.approx(track.north_m, abs=1e-5)
    assert other.bank_deg == pytest.approx(-track.bank_deg, abs=1e-6)
    assert other.above_entry_m == pytest.approx(track.above_entry_m, abs=1e-6)


@pytest.mark.parametrize("name", FIGURES)
@given(case=conditions(greatest_share=0.8))
@settings(deadline=None, max_examples=25)
def test_path_and_heading_are_continuous(name, case):
    """No jump anywhere; time stands still only where the place does, and the bank alone changes."""
    track = FIGURES[name](case)
    seconds = np.diff(track.time_s)
    metres = np.hypot(np.diff(track.east_m), np.diff(track.north_m))
    quickest = np.maximum(track.groundspeed_mps[:-1], track.groundspeed_mps[1:])
    assert (metres <= quickest * seconds * (1.0 + 1e-9) + MICROMETRE_M).all()
    assert (seconds >= 0.0).all()
    turned = angles_between(track.heading_deg_true[1:], track.heading_deg_true[:-1])
    assert turned[seconds == 0.0].max(initial=0.0) < MICRODEGREE
    # Heading over track turns at most 1 + W / V times as fast, downwind.
    assert turned.max() <= STEP_DEG * (1.0 + case.wind_share) + MICRODEGREE
    assert track.time_s[0] == 0.0
    assert (track.heading_deg_true >= 0.0).all()
    assert (track.heading_deg_true < 360.0).all()


@pytest.mark.parametrize("name", CIRCLES)
@given(case=conditions(greatest_share=0.8))
@settings(deadline=None, max_examples=25)
def test_entered_with_the_wind_behind(name, case):
    track = FIGURES[name](case)
    off = float(angles_between(track.track_deg_true[0], case.flight.downwind_deg_true))
    greatest = {
        "point": MICRODEGREE,
        "s-turns": 90.0,
        "course": 45.0 + MICRODEGREE,
        "course joined diagonally": 90.0 + MICRODEGREE,
        "road": 135.0,
        # Straights lean from the pair's square by the angle whose cosine is 2 / 2.5, 36.9 degrees.
        "around pylons": 90.0 + 37.0,
    }[name]
    assert off <= greatest


@pytest.mark.parametrize("name", CIRCLES)
@given(case=conditions(greatest_share=0.8), limit_deg=st.floats(20.0, 60.0))
@settings(deadline=None, max_examples=25)
def test_the_least_radius_keeps_the_bank(name, case, limit_deg):
    """No figure is steeper, and one that passes downwind in a turn is exactly as steep."""
    radius = float(least_radius_m(case.tas, case.wind_share * case.tas, limit_deg))
    case = Conditions(case.tas, case.wind_share, case.wind_from, case.line, radius, case.side)
    track = FIGURES[name](case)
    assert track.greatest_bank_deg <= limit_deg + MICRODEGREE
    is_downwind = angles_between(track.track_deg_true, case.flight.downwind_deg_true) < MICRODEGREE
    if name in ("point", "road"):
        assert is_downwind.any()
    if is_downwind.any() and track.bank_deg[is_downwind].any():
        assert track.greatest_bank_deg == pytest.approx(limit_deg, abs=MICRODEGREE)


@given(case=conditions(greatest_share=0.8))
@settings(deadline=None, max_examples=25)
def test_steepest_and_fastest_downwind_shallowest_upwind(case):
    """AFH: the bank is steepest where the groundspeed is highest."""
    track = FIGURES["point"](case)
    assert track.groundspeed_mps.max() == pytest.approx(case.tas * (1.0 + case.wind_share))
    assert track.groundspeed_mps[track.greatest_bank_index] == track.groundspeed_mps.max()
    slowest = track.groundspeed_mps.argmin()
    assert abs(track.bank_deg[slowest]) == pytest.approx(np.abs(track.bank_deg).min(), rel=0.02)


def test_no_wind_is_a_plain_circle():
    """Bank, crab and time those of a level turn: FAA-H-8083-25, radius of turn."""
    track = figures.turns_around_point(SteadyFlight(50.0, Wind(0.0, 0.0)), 400.0, Side.LEFT)
    assert np.hypot(track.east_m, track.north_m) == pytest.approx(400.0)
    assert -track.bank_deg == pytest.approx(math.degrees(math.atan(2500.0 / (G * 400.0))))
    assert track.heading_deg_true == pytest.approx(track.track_deg_true)
    assert track.duration_s == pytest.approx(2.0 * 2.0 * math.pi * 400.0 / 50.0)
    assert track.reach_m == pytest.approx(400.0)


@pytest.mark.parametrize("side", Side)
def test_the_point_stays_at_the_radius_on_its_side(side):
    track = figures.turns_around_point(CASE.flight, 500.0, side, 2.5)
    assert np.hypot(track.east_m, track.north_m) == pytest.approx(500.0)
    to_point = np.degrees(np.arctan2(-track.east_m, -track.north_m))
    square = track.track_deg_true + 90.0 * side.sign
    assert angles_between(to_point, square).max() < MICRODEGREE
    turned = np.degrees(np.abs(np.diff(np.unwrap(np.radians(track.track_deg_true)))).sum())
    assert turned == pytest.approx(900.0)


@pytest.mark.parametrize("side", Side)
def test_s_turns_are_half_circles_across_the_line(side):
    """Square to the line at every crossing, alternately downwind and upwind, on it all along."""
    track = figures.s_turns(CASE.flight, 110.0, 600.0, side, 4)
    along, across = places(track) @ unit(110.0), places(track) @ unit(20.0)
    assert track.track_deg_true[0] == pytest.approx(20.0)
    for i in range(4):
        centre = (along[0] + 1200.0 * side.sign * (i + 0.5)) * unit(110.0)
        inside = (np.abs(along - centre @ unit(110.0)) < 599.9).nonzero()[0]
        distance = np.hypot(*(places(track)[inside] - centre).T)
        assert distance == pytest.approx(600.0)
        assert (across[inside] > 0.0).all() == (i % 2 == 0)
    on_line = np.abs(across) < MICROMETRE_M
    assert np.abs(along[on_line]).max() == pytest.approx(2400.0)
    assert along[0] == pytest.approx(-2400.0 * side.sign)
    square = angles_between(track.track_deg_true[on_line], 20.0) % 180.0
    assert np.minimum(square, 180.0 - square).max() < MICRODEGREE


@pytest.mark.parametrize("side", Side)
@pytest.mark.parametrize("entry", figures.CourseEntry)
def test_course_keeps_its_distance(side, entry):
    """With corners as wide as the distance, the rectangle's buffer is the course (by shapely)."""
    flight = SteadyFlight(46.3, Wind(180.0, 10.0))
    track = figures.rectangular_course(
        flight, 90.0, 1600.0, 1200.0, 700.0, 700.0, side, entry=entry, step_m=10.0
    )
    path = places(track)
    edge = box(-800.0, -600.0, 800.0, 600.0).exterior
    distance = np.array([edge.distance(Point(*place)) for place in path])
    first = 0
    if entry is figures.CourseEntry.DIAGONAL:
        assert angles_between(track.track_deg_true[0], 45.0 * side.sign) < MICRODEGREE
        first = int(np.flatnonzero(np.diff(track.time_s) == 0.0)[1]) + 1  # run, turn, then the leg
        assert (np.diff(distance[:first]) <= 0.0).all()
        assert path[first] == pytest.approx([-1500.0 * side.sign, 0.0], abs=MICROMETRE_M)
    assert distance[first:] == pytest.approx(700.0, abs=1e-3)
    assert angles_between(track.track_deg_true[first], 0.0) < MICRODEGREE
    assert path[-1] == pytest.approx(path[first], abs=MICROMETRE_M)
    length = 2.0 * (1600.0 + 1200.0) + 2.0 * math.pi * 700.0
    assert LineString(path[first:]).length == pytest.approx(length, rel=1e-3)
    assert set(np.sign(track.bank_deg[first:])) == {0.0, side.sign}
    # AFH: steepest from downwind on to base, shallowest from upwind on to crosswind.
    middles = [(45.0 + 90.0 * i) * side.sign for i in range(4)]
    banks = np.abs(track.bank_deg[first:])
    corner = [
        banks[(banks > 0.0) & (angles_between(track.track_deg_true[first:], middle) < 44.9)]
        for middle in middles
    ]
    means = [bank.mean() for bank in corner]
    assert means[0] == pytest.approx(means[3], rel=1e-3)  # on to the downwind leg, and off it
    assert means[1] == pytest.approx(means[2], rel=1e-3)
    assert means[0] > 1.5 * means[1]
    assert corner[0].argmax() == 0
    assert corner[2].argmin() == 0


def test_course_inside_the_rectangle():
    track = figures.rectangular_course(
        CASE.flight, 0.0, 3000.0, 2400.0, -200.0, 500.0, Side.LEFT, circuits=2
    )
    assert box(-1000.0, -1300.0, 1000.0, 1300.0).exterior.distance(
        Point(track.east_m[0], track.north_m[0])
    ) == pytest.approx(0.0, abs=MICROMETRE_M)
    assert np.abs(track.east_m).max() == pytest.approx(1000.0)
    assert np.abs(track.north_m).max() == pytest.approx(1300.0)


@pytest.mark.parametrize("side", Side)
def test_road_eights_begin_towards_the_lee(side):
    """AFH: over the road, across the wind, first turn downwind; the circles touch over the road."""
    track = figures.eights_along_road(CASE.flight, 110.0, 600.0, side)
    across = places(track) @ unit(20.0)
    assert angles_between(track.track_deg_true[0] + 90.0 * side.sign, 20.0) < MICRODEGREE
    half = track.time_s.size // 2
    assert across[1:half].min() > -MICROMETRE_M
    assert across[half + 1 :].max() < MICROMETRE_M
    for chosen, sign in ((slice(0, half), 1.0), (slice(half, None), -1.0)):
        distance = np.hypot(*(places(track)[chosen] - sign * 600.0 * unit(20.0)).T)
        assert distance == pytest.approx(600.0)
    along_wind = figures.eights_along_road(CASE.flight, 15.0, 600.0, side)
    assert along_wind.track_deg_true[0] == pytest.approx(15.0)


@pytest.mark.parametrize("side", Side)
@pytest.mark.parametrize("pair_deg", [110.0, 290.0])
def test_eights_around_pylons_touch_both_circles(side, pair_deg):
    track = figures.eights_around_pylons(CASE.flight, pair_deg, 1500.0, 600.0, side)
    pylons = np.array([750.0 * unit(110.0), -750.0 * unit(110.0)])
    distance = np.array([np.hypot(*(places(track) - pylon).T) for pylon in pylons])
    assert distance.min() == pytest.approx(600.0)
    banked = track.bank_deg != 0.0
    nearest = distance.argmin(axis=0)
    assert distance.min(axis=0)[banked] == pytest.approx(600.0)
    # The first pylon is on the side of the first turn, and both are turned round.
    first = nearest[banked][0]
    assert np.sign(track.bank_deg[banked]).tolist() == [
        side.sign if pylon == first else -side.sign for pylon in nearest[banked]
    ]
    assert angles_between(track.track_deg_true[0], CASE.flight.downwind_deg_true) < 90.0
    assert places(track)[0] == pytest.approx([0.0, 0.0])
    assert places(track)[-1] == pytest.approx([0.0, 0.0], abs=1e-6)


@given(case=conditions(greatest_share=0.6), straight_s=st.floats(3.0, 5.0))
@settings(deadline=None, max_examples=60)
def test_the_wing_stays_on_the_pylon(case, straight_s):
    """From places alone: abeam, the bank points at it, height airspeed times groundspeed / g."""
    separation = 3.0 * case.radius
    eight = eights_on_pylons(case.flight, case.line, separation, straight_s, case.side, 2)
    track = eight.track
    ends = 0.5 * separation * np.array([unit(case.line), -unit(case.line)])
    banked = track.bank_deg != 0.0
    heading = np.radians(track.heading_deg_true)
    height = eight.entry_above_pylons_m + track.above_entry_m
    found = []
    for pylon in ends:
        east, north = (pylon - places(track)).T
        ahead = east * np.sin(heading) + north * np.cos(heading)
        right = east * np.cos(heading) - north * np.sin(heading)
        pointed = np.degrees(np.arctan2(height, np.abs(right))) * np.sign(right)
        found.append((np.abs(ahead) < 1e-5) & (np.abs(pointed - track.bank_deg) < 1e-5))
    assert (found[0] | found[1])[banked].all()
    drift = np.radians(track.heading_deg_true - track.track_deg_true)
    along = track.groundspeed_mps * np.cos(drift)
    assert height == pytest.approx(case.tas * along / G, rel=1e-9)
    assert (height.min(), height.max()) == pytest.approx(
        (eight.lowest_above_pylons_m, eight.highest_above_pylons_m)
    )
    vertical = np.abs(np.diff(height)) / np.maximum(np.diff(track.time_s), 1e-9)
    assert vertical.max() == pytest.approx(eight.greatest_vertical_mps, rel=0.05)
    assert eight.straights_s[0] == pytest.approx(straight_s)
    first_turn = int(np.flatnonzero(banked)[0])
    assert np.sign(track.bank_deg[first_turn]) == case.side.sign
    assert track.time_s[first_turn] == pytest.approx(straight_s)
    assert places(track)[-1] == pytest.approx(places(track)[0], abs=1e-5)


def test_eights_on_pylons_lead_downwind_between_them():
    """AFH: diagonally crosswind to a point downwind of the first pylon, then into the wind."""
    for side in Side:
        eight = eights_on_pylons(CASE.flight, CASE.line, 850.0, 4.0, side)
        track = eight.track
        assert angles_between(track.track_deg_true[0], CASE.flight.downwind_deg_true) < 90.0
        downwind = unit(CASE.flight.downwind_deg_true)
        first_turn = int(np.flatnonzero(track.bank_deg)[0])
        assert places(track)[first_turn] @ downwind > 0.0
        assert eight.straights_s == pytest.approx((4.0, 4.0))
        ends = np.flatnonzero(np.diff(track.time_s) == 0.0) + 1
        assert track.greatest_bank_index in (*ends, *(ends - 1), track.time_s.size - 1)
        assert 30.0 <= track.greatest_bank_deg <= 40.0


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda f: figures.turns_around_point(f, 0.0, Side.LEFT), "length_m"),
        (lambda f: figures.turns_around_point(f, 500.0, Side.LEFT, 0.0), "length_m"),
        (lambda f: figures.turns_around_point(f, 500.0, Side.LEFT, step_m=0.0), "step 0 m"),
        (lambda f: figures.s_turns(f, 0.0, 500.0, Side.LEFT, 0), "0 legs"),
        (lambda f: figures.s_turns(f, math.nan, 500.0, Side.LEFT), "finite start"),
        (lambda f: figures.eights_along_road(f, 0.0, 500.0, Side.LEFT, 0), "0 legs"),
        (
            lambda f: figures.rectangular_course(f, 0.0, 900.0, 900.0, 0.0, 460.0, Side.LEFT),
            "corners of 460 m",
        ),
        (
            lambda f: figures.rectangular_course(
                f, 0.0, 900.0, 900.0, 0.0, 100.0, Side.LEFT, circuits=0
            ),
            "0 circuits",
        ),
        (
            lambda f: figures.eights_around_pylons(f, 0.0, 999.0, 500.0, Side.LEFT),
            "pylons 999 m apart",
        ),
        (lambda f: eights_on_pylons(f, 0.0, 100.0, 5.0, Side.LEFT), "ends before the pylon"),
        (lambda f: eights_on_pylons(f, 0.0, 900.0, 0.0, Side.LEFT), "straight for 0 s"),
        (lambda f: fly_legs(f, 0j, 0.0, []), "0 legs"),
        (lambda f: fly_legs(f, complex(math.nan), 0.0, [Leg(1.0)]), "finite start"),
    ],
)
def test_refused(call, words):
    with pytest.raises(ValueError, match=words):
        call(CASE.flight)


def test_a_track_has_one_shape():
    good = np.zeros(3)
    assert GroundTrack(*[good] * 8).duration_s == 0.0
    with pytest.raises(ValueError, match="one shape"):
        GroundTrack(*[good] * 7, np.zeros(2))
    with pytest.raises(ValueError, match="at least 1"):
        GroundTrack(*[np.zeros(0)] * 8)


def test_pylons_just_touching_circles_have_no_straight():
    track = figures.eights_around_pylons(CASE.flight, 110.0, 1200.0, 600.0, Side.LEFT)
    assert track.bank_deg.all()
