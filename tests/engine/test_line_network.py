"""Line work joined to a network, against shapely's noding."""

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from areaplan.engine.line_network import LineNetwork, groups
from tests.engine.line_scenes import split_and_shuffled, wandering
from tests.oracles.straight_runs_twin import arms_of

SEEDS = st.integers(0, 2**32 - 1)


def line(*xy):
    return shapely.LineString(xy)


def arms_at(network):
    return {
        (round(x, 3) + 0.0, round(y, 3) + 0.0): arms
        for (x, y), arms in zip(network.node_xy_m.tolist(), network.arms.tolist(), strict=True)
    }


def test_ends_with_a_gap_are_one_place():
    network = LineNetwork.from_lines([line((0, 0), (100, 0)), line((100.6, 0.5), (200, 0))])
    assert sorted(network.arms.tolist()) == [1, 1, 2]
    apart = LineNetwork.from_lines([line((0, 0), (100, 0)), line((101.2, 0), (200, 0))])
    assert sorted(apart.arms.tolist()) == [1, 1, 1, 1]


def test_a_loose_end_moves_on_to_the_line_and_the_line_stays():
    network = LineNetwork.from_lines([line((0, 0), (100, 0)), line((40, 0.8), (40, 70))])
    assert arms_at(network) == {(0, 0): 1, (40, 0): 3, (100, 0): 1, (40, 70): 1}


def test_an_end_in_reach_of_two_lines_goes_to_the_nearer():
    lines = [line((0, 0), (100, 0)), line((0, 1.2), (100, 1.2)), line((50, 0.5), (50, 70))]
    arms = arms_at(LineNetwork.from_lines(lines, join_m=0.9))
    assert arms[50, 0] == 3
    assert arms[50, 1.2] == 4


def test_an_end_that_overshoots_makes_no_stub():
    network = LineNetwork.from_lines([line((0, 0), (100, 0)), line((40, -0.6), (43, 70))])
    assert sorted(network.arms.tolist()) == [1, 1, 1, 2, 3]


def test_a_crossing_without_a_common_vertex():
    network = LineNetwork.from_lines([line((0, 0), (100, 0)), line((30, -50), (30, 50))])
    assert arms_at(network)[30, 0] == 4


def test_a_vertex_on_another_line():
    network = LineNetwork.from_lines([line((0, 0), (100, 0)), line((30, -50), (30, 0), (60, 50))])
    assert arms_at(network)[30, 0] == 4


def test_a_line_that_crosses_itself():
    network = LineNetwork.from_lines([line((0, 0), (100, 0), (100, 50), (40, 50), (40, -50))])
    assert arms_at(network)[40, 0] == 4


def test_what_is_drawn_twice_is_there_once_and_bears_the_first_name():
    lines = [line((0, 0), (50, 0), (100, 0)), line((50, 0), (0, 0)), line((100, 0), (150, 0))]
    network = LineNetwork.from_lines(lines)
    assert network.edge_line.tolist() == [0, 0, 2]
    assert max(network.arms) == 2


def test_parts_and_points_of_no_length():
    parts = shapely.MultiLineString([[(0, 0), (10, 0)], [(10, 0), (20, 0)]])
    network = LineNetwork.from_lines([parts, line((5, 5), (5, 5))])
    assert network.edge_line.tolist() == [0, 0]


def test_a_part_of_the_network():
    lines = [line((0, 0), (100, 0)), line((30, -50), (30, 50)), line((60, -50), (60, 50))]
    part = LineNetwork.from_lines(lines).made_of(np.array([True, False, True]))
    assert set(part.edge_line.tolist()) == {0, 2}
    assert sorted(part.arms.tolist()) == [0, 0, 1, 1, 1, 1, 2, 4]


@settings(deadline=None, max_examples=60)
@given(SEEDS)
def test_nodes_and_arms_are_those_of_shapely(seed):
    lines = wandering(np.random.default_rng(seed), lines=6)
    network = LineNetwork.from_lines(lines, join_m=0.0)
    twin = arms_of(lines)
    places = np.array(list(twin))
    nearest = shapely.STRtree(shapely.points(places)).nearest(shapely.points(network.node_xy_m))
    assert sorted(nearest.tolist()) == list(range(len(places)))
    np.testing.assert_allclose(places[nearest], network.node_xy_m, atol=1e-6)
    assert [len(twin[tuple(place)]) for place in places[nearest]] == network.arms.tolist()


@settings(deadline=None, max_examples=40)
@given(SEEDS)
def test_half_edges_and_lengths_are_whole(seed):
    stream = np.random.default_rng(seed)
    lines = wandering(stream)
    network = LineNetwork.from_lines(split_and_shuffled(lines, stream), join_m=0.0)
    leaves = network.edge_nodes[network.half_edges // 2, network.half_edges % 2]
    assert leaves.tolist() == np.repeat(np.arange(network.arms.size), network.arms).tolist()
    edges = np.diff(network.node_xy_m[network.edge_nodes], axis=1)[:, 0]
    assert np.hypot(*edges.T).sum() == pytest.approx(sum(one.length for one in lines), abs=0.05)


@settings(deadline=None, max_examples=40)
@given(SEEDS, st.integers(1, 30), st.integers(0, 40))
def test_groups_are_connected_components(seed, count, links):
    stream = np.random.default_rng(seed)
    one, other = stream.integers(0, count, (2, links))
    reach = np.eye(count, dtype=bool)
    reach[one, other] = reach[other, one] = True
    for _ in range(count):
        reach = reach | (reach.astype(int) @ reach.astype(int) > 0)
    assert groups(count, one, other).tolist() == reach.argmax(axis=1).tolist()


@pytest.mark.parametrize(
    ("lines", "join_m", "word"),
    [
        ([shapely.Point(0, 0)], 1.0, "geometry 0 is not a line"),
        ([line((0, 0), (1, 1)), None], 1.0, "geometry 1 is not a line"),
        ([line((0, 0), (1, 1)), line((0, 0), (np.inf, 1))], 1.0, "line 1 has a coordinate"),
        ([line((0, 0), (1, 1))], -1.0, "join_m"),
        ([line((0, 0), (1, 1))], float("nan"), "join_m"),
    ],
)
def test_what_is_no_line_work_is_refused(lines, join_m, word):
    with pytest.raises(ValueError, match=word):
        LineNetwork.from_lines(lines, join_m=join_m)


def test_no_lines_at_all():
    network = LineNetwork.from_lines([])
    assert network.arms.size == 0
    assert network.edge_nodes.shape == (0, 2)
