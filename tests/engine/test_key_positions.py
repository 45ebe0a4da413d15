"""Key positions, flown: from any point near them, on any track of their sector.

The flyer (tests/oracles/approach_flyer.py) tries every leg; one of its ways has to end at the
touchdown no lower than asked, over ground that the key has had looked at.
"""

import math

import numpy as np
import pytest
from attrs import evolve
from hypothesis import given, settings
from hypothesis import strategies as st

from areaplan.engine.approaches import approaches
from areaplan.engine.flight import gliding_turn_loss
from areaplan.engine.key_positions import key_positions
from areaplan.engine.turns import TurnModel
from areaplan.units import FOOT_M, KNOT_MPS
from tests.oracles.approach_flyer import ApproachFlyer, ahead

THRESHOLD_M = 15.24
ROUND_M = 0.05  # the flyer's turns are summed up in steps

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


def keys_for(model, landing_deg, final_m=200.0, around_m=35.0):
    return key_positions(
        model, landing_deg, final_m=final_m, threshold_m=THRESHOLD_M, around_m=around_m
    )


def is_inside(places, edges):
    west, east, south, north = edges + np.array([-1.0, 1.0, -1.0, 1.0])
    x, y = places.T
    return bool(np.all((x >= west) & (x <= east) & (y >= south) & (y <= north)))


def lands(flyer, keys, number, place, track_deg, height_m):
    """Whether some way from a place and track at a height keeps all that a key promises."""
    for way in flyer.ways(
        place, track_deg, keys.landing_deg_true, int(keys.side[number]), keys.final_m
    ):
        before = height_m - way.lost[: way.last_turn]
        assert way.final_m >= keys.final_m - 1e-6
        if (
            height_m - way.loss >= THRESHOLD_M - ROUND_M
            and np.all(before >= keys.before_height_m[number] - ROUND_M)
            and height_m - way.lost[-1] >= keys.final_height_m - ROUND_M
            and is_inside(way.places[: way.last_turn], keys.before_m[number])
            and is_inside(way.places[way.last_turn :], keys.turn_m[number])
            and is_inside(-np.outer([way.final_m, keys.final_m], ahead(keys.landing_deg_true)),
                          keys.turn_m[number])
        ):  # fmt: skip
            return True
    return False


@given(models, st.integers(0, 35), st.floats(100.0, 800.0), st.integers(0, 2**32 - 1))
@settings(deadline=None, max_examples=25)
def test_flown_from_any_key_the_landing_is_reached(model, direction, final_m, seed):
    keys = keys_for(model, 10.0 * direction, final_m)
    assert keys.sector.size > 50
    rng = np.random.default_rng(seed)
    for number in rng.integers(keys.sector.size, size=12):
        tas = rng.uniform(*model.tas_mps)
        flyer = ApproachFlyer(
            tas=tas, ratio=model.glide_ratio, bank_deg=model.bank_deg,
            wind_mps=model.wind_speed_mps, wind_from_deg=model.wind_from_deg_true,
        )  # fmt: skip
        off_m = 35.0 * math.sqrt(rng.uniform()) * ahead(rng.uniform(0.0, 360.0))
        track_deg = 30.0 * keys.sector[number] + rng.choice([-33.0, 33.0, rng.uniform(-33, 33)])
        place = keys.place_m[number] + off_m
        assert lands(flyer, keys, number, place, track_deg, keys.height_m[number])


def test_the_flyer_fails_where_it_should():
    """From two thirds of the height few landings are reached, or the test above proves nothing."""
    model = TurnModel(30.0, 33.4, 7.2, 4.0, 46.0, 7.2, 210.0)
    keys = keys_for(model, 180.0)
    flyer = ApproachFlyer(tas=33.4, ratio=7.2, bank_deg=30.0, wind_mps=7.2, wind_from_deg=210.0)
    rng = np.random.default_rng(0)
    numbers = rng.integers(keys.sector.size, size=100)
    assert sum(
        lands(
            flyer, keys, n, keys.place_m[n], 30.0 * keys.sector[n] + rng.uniform(-33, 33),
            keys.height_m[n] * 2.0 / 3.0,
        )
        for n in numbers
    ) < 20  # fmt: skip


# ------------------------------------------------------------------ properties

CALM = TurnModel(30.0, 65.0 * KNOT_MPS, 9.0, 4.0, 40.0, 0.0, 0.0)


def lowest(keys, sector):
    return keys.height_m[keys.sector == sector].min()


def test_in_calm_beside_the_closed_form():
    """One airspeed, 30 degrees of bank, a final of 200 m: never below what any approach costs.

    From the downwind track a half circle, 302 ft (facts 66; FAA-H-8083-3C's turn by the balance of
    forces), and the final twice; from base a quarter; straight in the final alone. All with 50 ft
    over the touchdown. And not more than so much above: the cone and the places cost that.
    """
    keys = keys_for(CALM, 0.0, around_m=0.0)
    half = gliding_turn_loss(65.0 * KNOT_MPS, 9.0, 30.0, 180.0)
    assert half / FOOT_M == pytest.approx(302.0, abs=1.0)
    final = THRESHOLD_M + 200.0 / 9.0
    radius = CALM.at_speeds(1).turn_radius_m[0]
    for sector, least in ((6, half + final), (3, half / 2.0 + final), (0, final)):
        assert least <= lowest(keys, sector) <= least + 4.0 * radius / 9.0
    assert lowest(keys, 9) == pytest.approx(lowest(keys, 3))
    assert keys.final_height_m == pytest.approx(final)


@given(models, st.integers(0, 35), st.integers(1, 11))
@settings(deadline=None, max_examples=10)
def test_turning_everything_by_thirty_degrees_turns_the_ways(model, direction, steps):
    """Every place, track and side, turned; but for ways that are only just not to be flown."""
    wind_from_deg = (model.wind_from_deg_true + 30.0 * steps) % 360.0
    one = approaches(model, 10.0 * direction, 35.0)
    other = approaches(
        evolve(model, wind_from_deg_true=wind_from_deg),
        (10.0 * direction + 30.0 * steps) % 360.0,
        35.0,
    )
    by = np.exp(-1j * np.radians(30.0 * steps))
    np.testing.assert_allclose(other.place_m, one.place_m * by, atol=1e-6)
    turned = np.roll(one.loss_m, 5 * steps, axis=1)
    is_same = np.isclose(other.loss_m, turned, rtol=0.0, atol=1e-6)
    assert np.isfinite(turned).mean() > 0.3
    assert is_same.mean() > 0.999


@given(st.floats(0.0, 12.0), st.floats(0.5, 3.0))
@settings(deadline=None, max_examples=8)
def test_more_wind_against_asks_for_more(wind_mps, more_mps):
    """On the final, and all the way in from a place."""
    one = evolve(CALM, wind_speed_mps=wind_mps)
    other = evolve(CALM, wind_speed_mps=wind_mps + more_mps)
    short, long = keys_for(one, 0.0), keys_for(other, 0.0)
    assert long.final_height_m > short.final_height_m
    flyer = ApproachFlyer(
        tas=65.0 * KNOT_MPS, ratio=9.0, bank_deg=30.0, wind_mps=wind_mps, wind_from_deg=0.0
    )
    assert short.final_height_m == pytest.approx(THRESHOLD_M + 200.0 * flyer.loss_per_metre(0.0))
    # From one place straight behind, by the same way: the whole of it costs more.
    place, track = np.array([40.0, -1500.0]), 0.0
    costs = []
    for wind in (wind_mps, wind_mps + more_mps):
        flyer = ApproachFlyer(
            tas=65.0 * KNOT_MPS, ratio=9.0, bank_deg=30.0, wind_mps=wind, wind_from_deg=0.0
        )
        costs.append(min(way.loss for way in flyer.ways(place, track, 0.0, 1, 200.0)))
    assert costs[1] > costs[0]


@given(models, st.integers(0, 35))
@settings(deadline=None, max_examples=5)
def test_more_to_reckon_with_never_lowers_a_way(model, direction):
    """A wider range of airspeeds, places farther off, more winds and shear: the same lattice."""

    def losses(one, around_m=30.0):
        found = approaches(one, 10.0 * direction, around_m)
        return found.place_m, found.loss_m

    strongest = evolve(model, wind_speed_mps=14.0)
    aloft = evolve(strongest, winds_aloft=((9.0, 40.0),))
    sheared = evolve(aloft, shear_per_s=0.01)
    single = evolve(model, tas_mps=model.tas_mps[1])
    for less, more in (
        (losses(single), losses(model)),
        (losses(model), losses(model, 45.0)),
        (losses(strongest), losses(aloft)),
        (losses(aloft), losses(sheared)),
    ):
        np.testing.assert_allclose(less[0], more[0], rtol=1e-9, atol=1e-6)
        assert np.all(more[1] >= less[1] - 1e-6)


def test_refused():
    for changed in ({"final_m": 0.0}, {"threshold_m": -1.0}, {"around_m": -1.0}):
        asked = {"final_m": 200.0, "threshold_m": 15.0, "around_m": 30.0} | changed
        with pytest.raises(ValueError, match="final"):
            key_positions(CALM, 0.0, **asked)
    with pytest.raises(ValueError, match="places"):
        approaches(CALM, 0.0, -1.0)
    gale = evolve(CALM, wind_speed_mps=35.0)
    assert keys_for(gale, 0.0).sector.size == 0
