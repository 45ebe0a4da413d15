"""The turn model and the boxes of the ways out, against turns flown apart from them."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from areaplan.engine.flight import gliding_turn_loss, kinetic_height
from areaplan.engine.moves import AHEAD_HALF_DEG, MOVES, sector_moves
from areaplan.engine.turns import TurnModel
from areaplan.engine.ways import (
    HEADING_STEP_DEG,
    HEADINGS,
    STRETCHES_CIRCLES,
    TURN_BACK_DEG,
    WIDEST_TURN_DEG,
    ways_out,
)
from tests.oracles.flyer import Flyer

NOTHING = np.zeros((1, 1), np.float32)

models = st.builds(
    TurnModel,
    bank_deg=st.floats(10.0, 60.0),
    tas_mps=st.tuples(st.floats(28.0, 32.0), st.floats(32.0, 36.0)),
    glide_ratio=st.floats(5.0, 20.0),
    reaction_time_s=st.floats(0.0, 8.0),
    manoeuvre_tas_mps=st.tuples(st.floats(28.0, 35.0), st.floats(35.0, 60.0)),
    wind_speed_mps=st.floats(0.0, 22.0),
    wind_from_deg_true=st.floats(0.0, 359.9),
)


def _flyer(model, share):
    """An aircraft at a share of the way from the lowest to the highest airspeeds."""
    low, high = model.tas_mps
    slow, fast = model.manoeuvre_tas_mps
    return Flyer(
        NOTHING, NOTHING, 25.0,
        tas=low + share * (high - low),
        ratio=model.glide_ratio,
        bank=model.bank_deg,
        seconds=model.reaction_time_s,
        manoeuvre=slow + share * (fast - slow),
        wind=(model.wind_speed_mps, model.wind_from_deg_true),
    )  # fmt: skip


def _straight(flyer, track_deg, stretch):
    """Heading when the turn begins, displacement and height lost, on open ground."""
    flyer.is_clear = lambda _places, _heights: True
    seconds = stretch * 2.0 * math.pi / flyer.rate
    return flyer.after_reaction(np.zeros(2), 0.0, track_deg, seconds)


@given(models, st.data())
@settings(deadline=None, max_examples=40)
def test_turns_end_in_their_boxes(model, data):
    """Any track of a step, any airspeed of the range, any move ahead: in the box, at less loss."""
    ways = ways_out(model)
    for _ in range(25):
        way = data.draw(st.integers(0, len(ways.heading) - 1))
        share = data.draw(st.floats(0.0, 1.0))
        off_deg = data.draw(st.floats(-0.5, 0.5)) * HEADING_STEP_DEG
        flyer = _flyer(model, share)
        stretch = _stretch_of(ways, way)
        track = ways.heading[way] * HEADING_STEP_DEG + off_deg
        heading, start, height = _straight(flyer, track, stretch)
        moves = sector_moves(int(ways.sector[way]), AHEAD_HALF_DEG)
        bearing = MOVES[data.draw(st.sampled_from(moves))].bearing_deg_true
        onto = flyer.heading(bearing, flyer.along)
        turn = _turn_meant(ways, way)
        angle = turn + (onto - heading - turn + 180.0) % 360.0 - 180.0
        shares = np.linspace(0.0, 1.0, 60)
        places = start + flyer.arc(heading, angle, shares) if angle else start[np.newaxis]
        west, east, south, north = ways.end_m[way]
        assert west <= places[-1, 0] <= east
        assert south <= places[-1, 1] <= north
        west, east, south, north = ways.path_m[ways.path[way]]
        assert west <= min(0.0, places[:, 0].min())
        assert max(0.0, places[:, 0].max()) <= east
        assert south <= min(0.0, places[:, 1].min())
        assert max(0.0, places[:, 1].max()) <= north
        lost = flyer.turn_sink * math.radians(abs(angle)) / flyer.rate - height
        assert lost <= ways.loss_m[way] + 1e-9


def _stretch_of(ways, way):
    """Ways come stretch after stretch; those without one are the first half and more."""
    is_new = np.concatenate([[False], np.diff(ways.heading) < -HEADINGS // 2])
    # Within a stretch the headings rise once for the short and once for the long way round.
    return STRETCHES_CIRCLES[int(is_new[: way + 1].sum()) // 2]


def _turn_meant(ways, way):
    """Signed turn from heading to sector: the short way in the first rise, else the long one."""
    is_new = np.concatenate([[False], np.diff(ways.heading) < -HEADINGS // 2])
    short = (30.0 * ways.sector[way] - HEADING_STEP_DEG * ways.heading[way] + 180.0) % 360.0 - 180.0
    if int(is_new[: way + 1].sum()) % 2 == 0:
        return short
    return short - 360.0 if short > 0.0 else short + 360.0


@given(models)
@settings(deadline=None, max_examples=20)
def test_every_heading_has_every_sector(model):
    ways = ways_out(model)
    for heading in range(HEADINGS):
        assert set(ways.sector[ways.heading == heading]) == set(range(12))
    turns = [_turn_meant(ways, way) for way in range(len(ways.heading))]
    assert max(map(abs, turns)) == WIDEST_TURN_DEG
    stretched = [t for way, t in enumerate(turns) if _stretch_of(ways, way) > 0.0]
    assert min(map(abs, stretched)) >= TURN_BACK_DEG[0]
    assert max(map(abs, stretched)) <= TURN_BACK_DEG[1]
    assert len(stretched) > len(turns) // 4


def test_turn_without_wind_is_a_circle():
    """Closed form: a half circle to the right from north ends two radii east, heading south."""
    turn = TurnModel(30.0, 33.4, 9.0, 0.0, 40.0, 0.0, 0.0).at_speeds(3)
    assert turn.turn_radius_m.shape == (1,)  # one speed given, one sample made
    half = turn.turned(np.zeros((1, 1)), np.array([[180.0, -180.0, 360.0, 90.0]]))[0]
    radius = turn.turn_radius_m[0]
    assert half == pytest.approx([2 * radius, -2 * radius, 0.0, radius * (1 + 1j)], abs=1e-9)


def test_wind_carries_the_turn():
    turn = TurnModel(30.0, 33.4, 9.0, 0.0, 40.0, 10.0, 270.0).at_speeds(1)
    circle = turn.turned(np.zeros((1, 1)), np.array([[360.0]]))[0, 0]
    assert circle == pytest.approx(10.0 * 2.0 * math.pi / turn.turn_rad_per_s[0])


def test_slow_flight_pays_for_its_speed():
    """At 25 m/s the turn's speed has to be gained: its kinetic height less the flight's own."""
    slow = TurnModel(30.0, 33.4, 9.0, 0.0, 25.0, 0.0, 0.0).at_speeds(1)
    _, _, loss = slow.straight(np.array([0.0]), 0.0)
    gained = kinetic_height(slow.turn_tas_mps[0]) - kinetic_height(25.0)
    assert loss[0] == pytest.approx(gained)
    assert gained > 30.0
    quick = TurnModel(30.0, 33.4, 9.0, 4.0, 60.0, 0.0, 0.0).at_speeds(1)
    _, _, loss = quick.straight(np.array([0.0]), 0.0)
    assert loss[0] == pytest.approx(4.0 * quick.sink_mps[0])  # never less than the glide's sink


def test_turn_loss_is_the_published_one():
    turn = TurnModel(45.0, 33.4, 9.0, 4.0, 40.0, 0.0, 0.0).at_speeds(1)
    assert turn.turn_loss_m(np.array([180.0])) == pytest.approx(
        gliding_turn_loss(33.4, 9.0, 45.0, 180.0)
    )


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"bank_deg": 0.0}, "bank_deg"),
        ({"bank_deg": 61.0}, "bank_deg"),
        ({"tas_mps": (0.0, 30.0)}, "tas_mps"),
        ({"manoeuvre_tas_mps": -1.0}, "manoeuvre_tas_mps"),
        ({"glide_ratio": 0.0}, "glide_ratio"),
        ({"reaction_time_s": -1.0}, "reaction_time_s"),
        ({"wind_speed_mps": -1.0}, "wind_speed_mps"),
        ({"tas_mps": math.nan}, "tas_mps"),
    ],
)
def test_refused(changed, words):
    good = {
        "bank_deg": 30.0, "tas_mps": 33.0, "glide_ratio": 9.0, "reaction_time_s": 4.0,
        "manoeuvre_tas_mps": 40.0, "wind_speed_mps": 5.0, "wind_from_deg_true": 0.0,
    }  # fmt: skip
    with pytest.raises(ValueError, match=words):
        TurnModel(**(good | changed))


def test_no_ways_in_a_gale():
    model = TurnModel(30.0, (30.0, 33.0), 9.0, 4.0, 40.0, 29.9, 0.0)
    assert not model.has_headway
    with pytest.raises(ValueError, match=r"wind of 29\.9 m/s"):
        ways_out(model)
