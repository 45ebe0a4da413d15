"""Winds that change with height: losses, ways out and gradient, against sampling and flight."""

import math

import numpy as np
import pytest
from attrs import evolve
from hypothesis import given, settings
from hypothesis import strategies as st

from areaplan.engine.flight import glide_ratio_in_shear, glide_speeds, loss_per_metre
from areaplan.engine.moves import AHEAD_HALF_DEG, MOVES, move_losses, sector_moves
from areaplan.engine.turns import TurnModel
from areaplan.engine.ways import HEADING_STEP_DEG, HEADINGS, ways_out
from areaplan.engine.wind import wind_vectors, winds_between

winds = st.tuples(st.floats(0.0, 18.0), st.floats(0.0, 359.9))
G = 9.80665


def _mixed(rows, share):
    """The wind at a share of the way along a profile with rows evenly apart: speed and source."""
    vectors = wind_vectors(*np.array(rows).T)
    at = share * (len(rows) - 1)
    i = min(int(at), len(rows) - 2)
    east, north = (1.0 - (at - i)) * vectors[i] + (at - i) * vectors[i + 1]
    return math.hypot(east, north), math.degrees(math.atan2(-east, -north)) % 360.0


@given(
    st.lists(winds, min_size=2, max_size=4),
    st.floats(0.0, 1.0),
    st.floats(0.0, 1.0),
    st.floats(4.0, 20.0),
)
@settings(deadline=None, max_examples=300)
def test_no_wind_between_loses_more(rows, share, speed_share, ratio):
    """What the docstring of move_losses proves, at any mixture and any airspeed of the range."""
    speeds, sources = zip(*rows, strict=True)
    bound = move_losses((28.0, 36.0), ratio, speeds, sources).per_metre
    met = move_losses(28.0 + 8.0 * speed_share, ratio, *_mixed(rows, share)).per_metre
    assert np.all(met <= bound * (1.0 + 1e-12))


def test_one_wind_given_as_a_set_is_the_same_to_the_bit():
    one = move_losses((30.0, 33.0), 8.0, 7.2, 210.0).per_metre
    several = move_losses((30.0, 33.0), 8.0, [7.2, 7.2], [210.0, 210.0]).per_metre
    np.testing.assert_array_equal(one, several)
    bearings = np.array([move.bearing_deg_true for move in MOVES])
    lone = [loss_per_metre(bearings, tas, 8.0, 7.2, 210.0) for tas in (30.0, 33.0)]
    np.testing.assert_array_equal(one, np.max(lone, axis=0))


def test_a_gale_aloft_leaves_no_headway_into_it():
    losses = move_losses(30.0, 8.0, [5.0, 40.0], [0.0, 0.0]).per_metre
    north = [move.bearing_deg_true for move in MOVES].index(0.0)
    assert np.isinf(losses[north])


@given(st.lists(winds, min_size=1, max_size=4), st.floats(0.2, 3.0))
@settings(deadline=None, max_examples=100)
def test_winds_between_rows(rows, step_mps):
    speed, source = winds_between(rows, step_mps)
    found = wind_vectors(speed, source)
    assert np.all(np.hypot(*np.diff(found, axis=0).T) <= step_mps + 1e-9)
    for row in rows:
        assert row in list(zip(speed.tolist(), source.tolist(), strict=True))
    for share in (0.0, 0.3, 0.77, 1.0):
        if len(rows) > 1:
            here = wind_vectors(*_mixed(rows, share))
            assert np.hypot(*(found - here).T).min() <= step_mps / 2.0 + 1e-9


# ------------------------------------------------------------------ the cost of the change itself


@given(st.floats(4.0, 20.0), st.floats(25.0, 45.0), st.floats(0.0, 0.05), st.floats(0.0, 360.0))
@settings(deadline=None, max_examples=60)
def test_glide_ratio_in_shear_against_the_equations_of_motion(ratio, tas, shear, off_deg):
    """A glide at constant airspeed, integrated in still-axis coordinates: never steeper.

    The wind along the flight path falls off by shear cos(off) for each metre of height lost.
    """
    bound = glide_ratio_in_shear(ratio, tas, shear)
    along = shear * math.cos(math.radians(off_deg))
    drag = G / math.sqrt(1.0 + ratio**2)  # drag over mass in the steady glide
    # Newton along the path, airspeed held: the wind's own acceleration is along * sink rate.
    slope = math.asin(1.0 / math.sqrt(1.0 + ratio**2))
    for _ in range(200):
        needed = drag + along * tas * math.sin(slope) * math.cos(slope)
        slope = math.asin(min(1.0, needed / G))
    assert 1.0 / math.tan(slope) >= bound * (1.0 - 1e-9)


def test_glide_ratio_in_shear_edges():
    assert glide_ratio_in_shear(9.0, 35.0, 0.0) == 9.0
    assert glide_ratio_in_shear(9.0, 35.0, 0.3) == 0.0
    # 10 kt in 1,000 ft at 65 kt: 0.0169 /s x 33.4 / 9.81 = 5.75 % steeper (DERIVED).
    assert glide_ratio_in_shear(9.0, 33.44, 5.144 / 304.8) == pytest.approx(8.48, abs=0.01)
    with pytest.raises(ValueError, match="shear"):
        glide_ratio_in_shear(9.0, 35.0, -0.1)


# ------------------------------------------------------------------ ways flown through the change


def _flown(model, wind_at, track_deg, first_deg, is_right, tas, manoeuvre):
    """Reaction and turn in small steps through a wind that changes as the aircraft sinks.

    Returns the places (metres east, north) and the height lost, which costs what the model says.
    """
    along = float(glide_speeds(tas, model.glide_ratio)[0])
    one = evolve(model, tas_mps=tas, manoeuvre_tas_mps=manoeuvre, winds_aloft=()).at_speeds(1)
    _, _, reaction_loss = one.straight(np.zeros(1), 0.0)
    lost, place, places = 0.0, np.zeros(2), [np.zeros(2)]

    def heading(track, speed, wind):
        cross = wind[0] * math.cos(math.radians(track)) - wind[1] * math.sin(math.radians(track))
        return track - math.degrees(math.asin(cross / speed))

    def unit(bearing):
        return np.array([math.sin(math.radians(bearing)), math.cos(math.radians(bearing))])

    at = heading(track_deg, manoeuvre, wind_at(0.0))
    steps, step_s = 40, model.reaction_time_s / 40.0
    for _ in range(steps):
        lost += float(reaction_loss[0]) / steps
        place = place + (manoeuvre * unit(at) + wind_at(lost)) * step_s
        places.append(place)
    load = 1.0 / math.cos(math.radians(model.bank_deg))
    slope = math.atan(load / model.glide_ratio)
    turn_along = float(one.turn_tas_mps[0]) * math.cos(slope)
    rate = float(one.turn_rad_per_s[0])
    per_rad = float(one.turn_loss_m(np.array([math.degrees(1.0)]))[0])
    step_s, turned, side = 0.05, 0.0, 1.0 if is_right else -1.0
    while turned < 2.2 * math.pi:
        left = side * (heading(first_deg, along, wind_at(lost)) - at) % 360.0
        if turned and (left < 0.5 * math.degrees(rate * step_s) or left > 359.0):
            break
        turned += rate * step_s
        lost += per_rad * rate * step_s
        middle = at + side * math.degrees(rate * step_s) / 2.0
        at += side * math.degrees(rate * step_s)
        place = place + (turn_along * unit(middle) + wind_at(lost)) * step_s
        places.append(place)
    return np.array(places), lost, math.degrees(turned)


@given(st.lists(winds, min_size=2, max_size=3), st.floats(100.0, 1500.0), st.data())
@settings(deadline=None, max_examples=25)
def test_ways_flown_through_changing_winds_end_in_their_boxes(rows, layer_m, data):
    vectors = wind_vectors(*np.array(rows).T)
    shear = float(np.hypot(*np.diff(vectors, axis=0).T).max()) / layer_m
    model = TurnModel(30.0, (32.0, 35.0), 7.2, 4.0, (35.0, 42.0), *rows[0], tuple(rows[1:]), shear)
    ways = ways_out(model)
    heights = layer_m * np.arange(len(rows))
    is_new = np.concatenate([[False], np.diff(ways.heading) < -HEADINGS // 2])
    rise = np.cumsum(is_new)
    turns = (30.0 * ways.sector - HEADING_STEP_DEG * ways.heading + 180.0) % 360.0 - 180.0
    # Ways with a stretch, and slight turns of either sign, are flown elsewhere.
    plain = np.flatnonzero((rise < 2) & (np.abs(turns) >= 60.0))
    for _ in range(10):
        way = int(plain[data.draw(st.integers(0, len(plain) - 1))])
        top = data.draw(st.sampled_from([0.3, 0.7, 1.0])) * heights[-1]
        turn = turns[way]
        is_right = bool((turn > 0.0) == (rise[way] == 0))
        share = data.draw(st.floats(0.0, 1.0))
        off_deg = data.draw(st.floats(-0.5, 0.5)) * HEADING_STEP_DEG
        moves = sector_moves(int(ways.sector[way]), AHEAD_HALF_DEG)
        first_deg = MOVES[data.draw(st.sampled_from(moves))].bearing_deg_true

        def wind_at(lost, top=top):
            return np.array([np.interp(top - lost, heights, axis) for axis in vectors.T])

        places, lost, turned = _flown(
            model, wind_at, ways.heading[way] * HEADING_STEP_DEG + off_deg, first_deg,
            is_right, 32.0 + 3.0 * share, 35.0 + 7.0 * share,
        )  # fmt: skip
        slack_m = 3.0  # of the steps flown
        west, east, south, north = ways.end_m[way]
        assert west - slack_m <= places[-1, 0] <= east + slack_m
        assert south - slack_m <= places[-1, 1] <= north + slack_m
        west, east, south, north = ways.path_m[ways.path[way]]
        assert west - slack_m <= places[:, 0].min()
        assert places[:, 0].max() <= east + slack_m
        assert south - slack_m <= places[:, 1].min()
        assert places[:, 1].max() <= north + slack_m
        assert lost <= ways.loss_m[way] + 1.0
        assert turned < 2.2 * 180.0


def test_more_winds_never_help():
    calm = TurnModel(30.0, (32.0, 35.0), 7.2, 4.0, 40.0, 6.0, 200.0)
    one, more = (
        ways_out(calm),
        ways_out(evolve(calm, winds_aloft=((14.0, 250.0),), shear_per_s=0.01)),
    )
    np.testing.assert_array_equal(one.heading, more.heading)
    assert np.all(more.loss_m > one.loss_m)
    for name in ("end_m", "path_m"):
        smaller, larger = getattr(one, name), getattr(more, name)
        assert np.all(larger[:, [0, 2]] < smaller[:, [0, 2]])
        assert np.all(larger[:, [1, 3]] > smaller[:, [1, 3]])


def test_a_gale_aloft_leaves_no_way_out():
    model = TurnModel(30.0, 33.0, 7.2, 4.0, 40.0, 6.0, 200.0, ((33.0, 250.0),), 0.01)
    assert not model.has_headway
    with pytest.raises(ValueError, match="wind of 33 m/s"):
        ways_out(model)
    with pytest.raises(ValueError, match="winds_aloft"):
        evolve(model, winds_aloft=((-1.0, 0.0),))
