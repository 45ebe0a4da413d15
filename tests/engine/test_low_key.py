"""The low key, flown: downwind, turn, base, turn, final, in small steps and in the wind."""

import math

import numpy as np
import pytest
from attrs import evolve
from hypothesis import given, settings
from hypothesis import strategies as st

from areaplan.engine.flight import gliding_turn_loss
from areaplan.engine.low_key import low_key
from areaplan.engine.turns import TurnModel
from areaplan.units import FOOT_M, KNOT_MPS

G = 9.80665
THRESHOLD_M = 15.24
STEP_S = 0.05

models = st.builds(
    TurnModel,
    bank_deg=st.floats(15.0, 45.0),
    tas_mps=st.tuples(st.floats(28.0, 32.0), st.floats(32.0, 36.0)),
    glide_ratio=st.floats(5.0, 15.0),
    reaction_time_s=st.just(4.0),
    manoeuvre_tas_mps=st.just(40.0),
    wind_speed_mps=st.floats(0.0, 15.0),
    wind_from_deg_true=st.floats(0.0, 359.9),
)


class Approach:
    """An aircraft in the frame of the landing: x ahead along its track, y to its right.

    Forces balanced here once more; headings in radians from the landing track, right positive.
    """

    def __init__(self, model, landing_deg, tas):
        slope = math.atan(1.0 / model.glide_ratio)
        load = 1.0 / math.cos(math.radians(model.bank_deg))
        steep = math.atan(load / model.glide_ratio)
        self.speed, self.sink = tas * math.cos(slope), tas * math.sin(slope)
        turn = tas * math.sqrt(load * math.cos(steep) / math.cos(slope))
        self.turn_speed, self.turn_sink = turn * math.cos(steep), turn * math.sin(steep)
        self.rate = G * math.tan(math.radians(model.bank_deg)) / turn
        off = math.radians(model.wind_from_deg_true - landing_deg)
        self.wind = -model.wind_speed_mps * np.array([math.cos(off), math.sin(off)])

    def heading(self, track):
        across = -self.wind[0] * math.sin(track) + self.wind[1] * math.cos(track)
        return track - math.asin(across / self.speed)

    def straight(self, track, length_m):
        """Displacement and height lost along a track held."""
        along = self.wind[0] * math.cos(track) + self.wind[1] * math.sin(track)
        across = -self.wind[0] * math.sin(track) + self.wind[1] * math.cos(track)
        ground = math.sqrt(self.speed**2 - across**2) + along
        way = length_m * np.array([math.cos(track), math.sin(track)])
        return way, self.sink * length_m / ground

    def turn(self, begin, end, side):
        """Displacements on the way round a turn between two headings, and height lost."""
        angle = (side * (end - begin)) % (2.0 * math.pi)
        steps = max(2, math.ceil(angle / self.rate / STEP_S))
        middles = begin + side * angle * (np.arange(steps) + 0.5) / steps
        air = self.turn_speed * np.stack([np.cos(middles), np.sin(middles)], axis=1)
        step_s = angle / self.rate / steps
        return np.cumsum((air + self.wind) * step_s, axis=0), self.turn_sink * angle / self.rate


def _fly(model, landing_deg, side, final_m, key, tas):
    """Places and heights (above the touchdown) from the key to the touchdown."""
    air = Approach(model, landing_deg, tas)
    base_track = -side * math.pi / 2.0
    begin, base, end = air.heading(math.pi), air.heading(base_track), air.heading(0.0)
    first, first_loss = air.turn(begin, base, side)
    last, last_loss = air.turn(base, end, side)
    turned = first[-1] + last[-1]
    base_m = key.lateral_m - abs(turned[1])
    assert base_m >= -1e-2  # the key lies out far enough for every turn
    back_m = max(0.0, final_m + turned[0])
    final = back_m - turned[0]
    down, down_loss = air.straight(math.pi, back_m)
    leg, leg_loss = air.straight(base_track, max(base_m, 0.0))
    _, final_loss = air.straight(0.0, final)
    start = np.array([0.0, side * key.lateral_m])
    places = [start[np.newaxis], (start + down)[np.newaxis], start + down + first]
    places += [(places[-1][-1] + leg)[np.newaxis]]
    places += [places[-1][-1] + last]
    assert places[-1][-1] == pytest.approx([-final, 0.0], abs=1.0)  # lined up, far enough out
    lost = down_loss + first_loss + leg_loss + last_loss
    return np.concatenate(places), lost, final, final_loss


@given(models, st.integers(0, 35), st.sampled_from([-1, 1]), st.floats(100.0, 800.0), st.data())
@settings(deadline=None, max_examples=300)
def test_flown_from_the_key_the_landing_is_reached(model, direction, side, final_m, data):
    landing_deg = 10.0 * direction
    key = low_key(model, landing_deg, side, final_m=final_m, threshold_m=THRESHOLD_M)
    if math.isinf(key.height_m):
        return
    low, high = model.tas_mps
    tas = low + data.draw(st.floats(0.0, 1.0)) * (high - low)
    places, lost, final, final_loss = _fly(model, landing_deg, side, final_m, key, tas)
    assert final >= final_m - 1e-6
    at_touchdown = key.height_m - lost - final_loss
    assert at_touchdown >= THRESHOLD_M - 1e-6
    # Begun no higher than needed, the final is entered no lower than the key says.
    assert THRESHOLD_M + final_loss >= key.final_height_m - 1e-6
    (back, front), (left, right) = key.along_m, key.across_m
    assert np.all((places[:, 0] >= back - 1.0) & (places[:, 0] <= front + 1.0))
    assert np.all((places[:, 1] >= left - 1.0) & (places[:, 1] <= right + 1.0))


def test_in_calm_the_closed_form():
    """One airspeed, 30 degrees: two radii out; half a circle, the final twice and a bit lower."""
    model = TurnModel(30.0, 65.0 * KNOT_MPS, 9.0, 4.0, 40.0, 0.0, 0.0)
    key = low_key(model, 120.0, 1, final_m=200.0, threshold_m=THRESHOLD_M)
    radius = model.at_speeds(1).turn_radius_m[0]
    assert key.lateral_m == pytest.approx(2.0 * radius)
    turn = gliding_turn_loss(65.0 * KNOT_MPS, 9.0, 30.0, 180.0)
    assert turn / FOOT_M == pytest.approx(302.0, abs=1.0)  # facts 66
    assert key.height_m == pytest.approx(THRESHOLD_M + turn + 2.0 * 200.0 / 9.0)
    assert key.final_height_m == pytest.approx(THRESHOLD_M + 200.0 / 9.0)
    mirrored = low_key(model, 120.0, -1, final_m=200.0, threshold_m=THRESHOLD_M)
    assert mirrored.height_m == pytest.approx(key.height_m)
    assert mirrored.across_m == pytest.approx((-key.across_m[1], -key.across_m[0]))


@given(models, st.integers(0, 35), st.sampled_from([-1, 1]))
@settings(deadline=None, max_examples=60)
def test_more_never_lowers_the_key(model, direction, side):
    """A longer final, a wider range of airspeeds and more winds ask for no less."""

    def height(one, final_m=200.0):
        return low_key(one, 10.0 * direction, side, final_m=final_m, threshold_m=5.0).height_m

    least = height(evolve(model, tas_mps=model.tas_mps[1]))
    assert height(model) >= least - 1e-9
    assert height(model, 300.0) >= height(model) - 1e-9
    aloft = evolve(model, winds_aloft=((12.0, 40.0),), shear_per_s=0.02)
    assert height(aloft) >= height(model)


def test_refused():
    model = TurnModel(30.0, 33.0, 9.0, 4.0, 40.0, 0.0, 0.0)
    for changed in ({"side": 0}, {"final_m": 0.0}, {"threshold_m": -1.0}):
        given_here = {"side": 1, "final_m": 200.0, "threshold_m": 15.0} | changed
        with pytest.raises(ValueError, match="side"):
            low_key(model, 0.0, **given_here)
    gale = evolve(model, wind_speed_mps=35.0)
    assert math.isinf(low_key(gale, 0.0, 1, final_m=200.0, threshold_m=15.0).height_m)
