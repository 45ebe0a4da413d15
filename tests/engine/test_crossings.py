"""Crossings, things that stand alone and pairs, against plain counting."""

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from areaplan.engine.crossings import crossings, pairs_apart, stands_alone
from areaplan.engine.line_network import LineNetwork
from tests.engine.line_scenes import moved, section_grid, split_and_shuffled, wandering
from tests.oracles.straight_runs_twin import arms_of

SEEDS = st.integers(0, 2**32 - 1)


def line(*xy):
    return shapely.LineString(xy)


def found_in(lines, one_within_m=0.0, **limits):
    return crossings(LineNetwork.from_lines(lines), one_within_m=one_within_m, **limits)


def test_a_t_and_an_x():
    road = line((0, 0), (100, 0))
    found = found_in([road, line((30, 0), (30, 50)), line((70, -50), (70, 50))])
    assert found.xy_m.tolist() == [[30, 0], [70, 0]]
    assert found.arms.tolist() == [3, 4]
    assert found.lines.tolist() == [0, 1, 0, 2]
    assert found.first_line.tolist() == [0, 2, 4]


def test_only_crossings_with_enough_arms():
    road = line((0, 0), (100, 0))
    lines = [road, line((30, 0), (30, 50)), line((70, -50), (70, 50))]
    assert found_in(lines, least_arms=4).xy_m.tolist() == [[70, 0]]


def test_two_features_end_to_end_do_not_cross():
    assert len(found_in([line((0, 0), (50, 0)), line((50, 0), (90, 40))])) == 0


def test_a_dual_carriageway_is_crossed_once():
    lines = [line((0, 0), (500, 0)), line((0, 20), (500, 20)), line((200, -90), (200, 110))]
    assert len(found_in(lines)) == 2
    merged = found_in(lines, one_within_m=20.0)
    assert len(merged) == 1
    assert merged.lines.tolist() == [0, 1, 2]
    assert merged.xy_m[0].tolist() in [[200, 0], [200, 20]]


def test_a_section_grid():
    found = found_in(section_grid(4, 1609.344))
    assert len(found) == 21  # 25 less the four corners, where no third arm is
    assert np.bincount(found.arms).tolist() == [0, 0, 0, 12, 9]


@settings(deadline=None, max_examples=40)
@given(SEEDS)
def test_they_are_shapelys_nodes_of_three_arms_or_more(seed):
    stream = np.random.default_rng(seed)
    lines = wandering(stream, lines=7)
    network = LineNetwork.from_lines(split_and_shuffled(lines, stream), join_m=0.0)
    found = crossings(network, one_within_m=0.0)
    twin = sorted(place for place, arms in arms_of(lines).items() if len(arms) >= 3)
    assert len(found) == len(twin)
    np.testing.assert_allclose(found.xy_m, np.array(twin).reshape(-1, 2), atol=1e-5)


@settings(deadline=None, max_examples=30)
@given(SEEDS, st.floats(0.0, 360.0))
def test_turning_turns_them(seed, angle_deg):
    lines = wandering(np.random.default_rng(seed), lines=7)
    found = found_in(lines, one_within_m=60.0)
    turned = found_in(moved(lines, angle_deg, 0.0, 0.0), one_within_m=60.0)
    back = moved(shapely.points(turned.xy_m).tolist(), -angle_deg, 0.0, 0.0)
    xy = shapely.get_coordinates(back)
    assert len(found) == len(turned)
    for place in found.xy_m:  # the order may differ, and a cluster may have two middles
        assert np.hypot(*(xy - place).T).min() <= 60.0


@settings(deadline=None, max_examples=60)
@given(SEEDS, st.integers(0, 25), st.floats(0.0, 300.0))
def test_what_stands_alone_has_nothing_near(seed, count, apart_m):
    xy = np.round(np.random.default_rng(seed).uniform(0.0, 1000.0, (count, 2)))
    others = np.concatenate([xy, np.round(xy[::2] + 100.0)])
    for k, is_alone in enumerate(stands_alone(xy, others, apart_m).tolist()):
        off = np.hypot(*(others - xy[k]).T)
        assert is_alone == bool((off[off > 0.0] > apart_m).all())


def test_exactly_as_far_is_not_alone():
    xy = np.array([[0.0, 0.0], [100.0, 0.0]])
    assert not stands_alone(xy, xy, 100.0).any()
    assert stands_alone(xy, xy, 99.9).all()


@settings(deadline=None, max_examples=60)
@given(SEEDS, st.integers(0, 25), st.one_of(st.none(), st.floats(0.0, 100.0)))
def test_pairs_by_plain_counting(seed, count, clear_m):
    xy = np.random.default_rng(seed).uniform(0.0, 1000.0, (count, 2))
    expected = []
    for a in range(count):
        for b in range(a + 1, count):
            between = shapely.LineString(xy[[a, b]])
            others = [shapely.Point(xy[k]) for k in range(count) if k not in (a, b)]
            is_clear = clear_m is None or all(between.distance(one) > clear_m for one in others)
            if 200.0 <= between.length <= 500.0 and is_clear:
                expected.append([a, b])
    assert pairs_apart(xy, 200.0, 500.0, clear_within_m=clear_m).tolist() == expected


def test_a_pair_counts_if_it_is_near_for_one_of_the_two():
    xy = np.array([[0.0, 0.0], [100.0, 0.0], [210.0, 0.0], [330.0, 0.0]])
    assert len(pairs_apart(xy, 50.0, 400.0)) == 6
    assert pairs_apart(xy, 50.0, 400.0, most_partners=1).tolist() == [[0, 1], [1, 2], [2, 3]]


def test_no_points_and_no_lines():
    none = np.empty((0, 2))
    assert pairs_apart(none, 1.0, 2.0).shape == (0, 2)
    assert stands_alone(none, none, 1.0).shape == (0,)
    assert len(found_in([])) == 0


@pytest.mark.parametrize(
    ("call", "word"),
    [
        (lambda: found_in([], one_within_m=-1.0), "one_within_m"),
        (lambda: found_in([], least_arms=2), "least_arms"),
        (lambda: stands_alone(np.zeros((1, 2)), np.zeros((1, 2)), -1.0), "least_apart_m"),
        (lambda: pairs_apart(np.zeros((1, 2)), 5.0, 4.0), "distances from"),
        (lambda: pairs_apart(np.zeros((1, 2)), 1.0, 4.0, clear_within_m=-1.0), "clear_within_m"),
        (lambda: pairs_apart(np.zeros((1, 2)), 1.0, 4.0, most_partners=0), "most_partners"),
    ],
)
def test_limits_out_of_range_are_refused(call, word):
    with pytest.raises(ValueError, match=word):
        call()
