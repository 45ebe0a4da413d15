"""Straight runs: known answers, a slow twin, and what must not change the answer."""

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from areaplan.engine.line_network import LineNetwork
from areaplan.engine.straight_runs import straight_fit, straight_runs
from tests.engine.line_scenes import moved, section_grid, split_and_shuffled, wandering
from tests.oracles.straight_runs_twin import band_width, straight_runs_twin

SEEDS = st.integers(0, 2**32 - 1)


def line(*xy):
    return shapely.LineString(xy)


def runs_in(lines, least_m, **limits):
    return straight_runs(LineNetwork.from_lines(lines), least_m, **limits)


def wiggly_road():
    """3 km in 30 segments, each a feature of its own, 5 m off either way."""
    x = np.linspace(0.0, 3000.0, 31)
    y = 5.0 * (-1.0) ** np.arange(31)
    xy = np.stack([x, y], axis=1)
    return [shapely.LineString(xy[k : k + 2]) for k in range(30)]


def test_a_straight_road_of_many_features_is_one_run():
    runs = runs_in(wiggly_road(), 1000.0)
    assert len(runs) == 1
    assert runs.length_m[0] == pytest.approx(3000.0)
    assert runs.off_straight_m[0] == pytest.approx(5.0)
    np.testing.assert_allclose(runs.start_xy_m[0], [0.0, 0.0], atol=1e-9)
    np.testing.assert_allclose(runs.end_xy_m[0], [3000.0, 0.0], atol=1e-9)
    assert sorted(runs.lines.tolist()) == list(range(30))


def test_with_less_tolerance_the_wiggle_breaks_it():
    assert len(runs_in(wiggly_road(), 250.0, tolerance_m=4.9)) == 0
    assert len(runs_in(wiggly_road(), 250.0, tolerance_m=5.0)) == 1


def test_a_bend_ends_a_run():
    runs = runs_in([line((0, 0), (1000, 0), (2000, 0), (2700, 700), (3400, 1400))], 500.0)
    assert runs.length_m.tolist() == pytest.approx([2000.0, 1400.0 * 2**0.5])
    np.testing.assert_allclose(runs.off_straight_m, 0.0, atol=1e-9)


def test_a_gentle_curve_breaks_where_it_leaves_the_band():
    """Sagitta s of a chord c on radius R: s = R - sqrt(R^2 - c^2 / 4); band of width s over it."""
    radius_m, tolerance_m = 10_000.0, 15.0
    angle = np.linspace(0.0, 0.5, 5001)  # a vertex every metre
    runs = runs_in(
        [shapely.LineString(radius_m * np.stack([np.sin(angle), np.cos(angle)], 1))], 900
    )
    chord_m = 2.0 * np.sqrt(radius_m**2 - (radius_m - 2.0 * tolerance_m) ** 2)
    assert runs.length_m[0] == pytest.approx(chord_m, abs=2.0)
    assert runs.off_straight_m[0] == pytest.approx(tolerance_m, abs=0.1)


def test_runs_go_through_crossings_of_other_roads():
    across = [
        line((x, -50.0 * k), (x + 10.0 * k, 300.0)) for k, x in enumerate((300, 800, 1100), 1)
    ]
    road = [line((0, 0), (800, 0)), line((800, 0), (1500, 0))]
    runs = runs_in([*across, *road], 1000.0)
    assert runs.length_m.tolist() == pytest.approx([1500.0])
    assert runs.lines.tolist() == [3, 4]


def test_at_a_fork_the_straighter_arm_goes_on():
    fork = (1000.0, 0.0)
    lines = [line((0, 0), fork), line(fork, (1900, 90)), line(fork, (1900, 200))]
    runs = runs_in(lines, 1000.0, tolerance_m=30.0)
    assert runs.length_m[0] == pytest.approx(np.hypot(1900, 90), abs=2.0)
    assert sorted(runs.lines[: runs.first_line[1]].tolist()) == [0, 1]


def test_at_a_crossing_no_line_bends_more_than_is_allowed():
    lines = [line((-900, 0), (0, 0)), line((0, 0), (900, 200)), line((0, 0), (0, -900))]
    limits = {"tolerance_m": 80.0}
    assert runs_in(lines, 1000.0, greatest_bend_deg=13.0, **limits).length_m.size == 1
    assert runs_in(lines, 1000.0, greatest_bend_deg=12.0, **limits).length_m.size == 0


def test_a_small_jog_does_not_break_a_run_and_a_wide_one_does():
    jog = [line((0, 0), (1000, 0), (1000, 6), (2000, 6))]
    assert runs_in(jog, 1500.0).length_m.tolist() == pytest.approx([2000.0], abs=0.1)
    wide = [line((0, 0), (1000, 0), (1000, 60), (2000, 60))]
    assert runs_in(wide, 900.0).length_m.tolist() == pytest.approx([1000.0, 1000.0], abs=4.0)


def test_the_sides_of_a_closed_outline():
    ring = [line((0, 0), (2000, 0), (2000, 1000), (0, 1000), (0, 0))]
    assert runs_in(ring, 500.0).length_m.tolist() == pytest.approx([2000.0, 2000.0, 1000.0, 1000.0])


def test_a_loop_that_starts_amid_a_side_is_not_cut_there():
    ring = [line((700, 0), (2000, 0), (2000, 1000), (0, 1000), (0, 0), (700, 0))]
    assert runs_in(ring, 500.0).length_m.tolist() == pytest.approx([2000.0, 2000.0, 1000.0, 1000.0])


def test_a_small_circle_is_no_run():
    angle = np.linspace(0.0, 2 * np.pi, 40)
    circle = shapely.LineString(14.0 * np.stack([np.cos(angle), np.sin(angle)], axis=1))
    assert len(runs_in([circle], 50.0)) == 0


def test_a_road_digitised_twice_is_one_run():
    assert len(runs_in([*wiggly_road(), *wiggly_road()], 1000.0)) == 1


def test_the_roads_of_a_section_grid():
    stream = np.random.default_rng(4)
    runs = runs_in(section_grid(4, 1609.344, stream, wiggle_m=8.0), 5000.0)
    assert len(runs) == 10
    np.testing.assert_allclose(runs.length_m, 4 * 1609.344, atol=0.5)
    assert (runs.off_straight_m <= 8.0).all()


def test_a_run_does_not_reach_round_a_corner():
    """The first vertices round it would fit into the band, and spoil the line and the next run."""
    east = [(x, 0.0) for x in range(0, 2001, 25)]
    north = [(2000.0, y) for y in range(25, 1001, 25)]
    runs = runs_in([line(*east, *north)], 500.0)
    assert runs.length_m.tolist() == pytest.approx([2000.0, 1000.0])
    np.testing.assert_allclose(runs.off_straight_m, 0.0, atol=1e-9)


@settings(deadline=None, max_examples=40)
@given(SEEDS, st.sampled_from([4.0, 15.0, 40.0]))
def test_it_agrees_with_the_twin(seed, tolerance_m):
    lines = wandering(np.random.default_rng(seed), lines=4)
    network = LineNetwork.from_lines(lines, join_m=0.0)  # as shapely does
    runs = straight_runs(network, 150.0, tolerance_m=tolerance_m)
    twin = straight_runs_twin(lines, 150.0, tolerance_m, 30.0)
    # The twin gives chords; a run is told along its band, which is never more than the width
    # short of it, and drops out where that is less than was asked for.
    assert len(runs) <= len(twin)
    assert all(chord < 150.0 + 2 * tolerance_m for chord, _ in twin[len(runs) :])
    halves = sorted(runs.off_straight_m.tolist())
    if len(runs) == len(twin):
        np.testing.assert_allclose(halves, sorted(half for _, half in twin), atol=1e-6)
    for length_m, (chord_m, half_m) in zip(runs.length_m, twin, strict=False):
        assert length_m <= chord_m + 1e-6
        assert length_m >= np.sqrt(max(0.0, chord_m**2 - (2 * tolerance_m) ** 2)) - 1e-6
        assert half_m <= tolerance_m + 1e-6


@settings(deadline=None, max_examples=40)
@given(SEEDS, st.floats(0.0, 360.0), st.floats(-1e4, 1e4))
def test_turning_shifting_splitting_and_shuffling_change_nothing(seed, angle_deg, shift_m):
    stream = np.random.default_rng(seed)
    lines = wandering(stream)
    runs = runs_in(lines, 150.0)
    again = runs_in(split_and_shuffled(lines, stream), 150.0)
    np.testing.assert_allclose(again.length_m, runs.length_m, atol=1e-6)
    np.testing.assert_allclose(again.off_straight_m, runs.off_straight_m, atol=1e-6)
    np.testing.assert_allclose(again.start_xy_m, runs.start_xy_m, atol=1e-6)
    # Rounding to the millimetre is the only thing that turning may change.
    turned = runs_in(moved(lines, angle_deg, shift_m, -shift_m), 150.0)
    np.testing.assert_allclose(turned.length_m, runs.length_m, atol=0.02)


@settings(deadline=None, max_examples=30)
@given(SEEDS)
def test_every_vertex_of_a_run_lies_in_its_band(seed):
    lines = wandering(np.random.default_rng(seed), lines=2, spread_m=5000.0)
    runs = runs_in(lines, 100.0)
    for k, off_m in enumerate(runs.off_straight_m.tolist()):
        chord = shapely.LineString([runs.start_xy_m[k], runs.end_xy_m[k]])
        beside = chord.buffer(off_m + 1e-6, cap_style="flat")
        of_run = runs.lines[runs.first_line[k] : runs.first_line[k + 1]].tolist()
        along = shapely.intersection(shapely.union_all([lines[one] for one in of_run]), beside)
        assert along.length >= 0.99 * chord.length
        assert off_m <= 15.0 + 1e-9


@settings(deadline=None, max_examples=60)
@given(SEEDS, st.integers(2, 30))
def test_the_fit_of_points_is_their_narrowest_band(seed, count):
    xy = np.random.default_rng(seed).normal(size=(count, 2)) * (300.0, 20.0)
    ends, off_m = straight_fit(xy)
    assert off_m == pytest.approx(0.5 * band_width(xy), abs=1e-9)
    unit = (ends[1] - ends[0]) / np.hypot(*(ends[1] - ends[0]))
    across = (xy - ends[0]) @ np.array([-unit[1], unit[0]])
    assert np.abs(across).max() == pytest.approx(off_m, abs=1e-9)


@settings(deadline=None, max_examples=60)
@given(SEEDS, st.integers(3, 12))
def test_vertices_all_but_in_line_do_not_hide_those_that_are_off(seed, count):
    """Where a crossing is put into a segment, three vertices are in line but for rounding."""
    stream = np.random.default_rng(seed)
    way = np.array([stream.uniform(500.0, 9000.0), stream.uniform(500.0, 9000.0)])
    xy = np.sort(stream.uniform(0.0, 1.0, count))[:, np.newaxis] * way
    off = np.array([-way[1], way[0]]) / np.hypot(*way) * stream.uniform(20.0, 60.0)
    xy = np.concatenate([xy, (way * 1.2 + off)[np.newaxis], (way * 1.4 - off)[np.newaxis]])
    assert straight_fit(xy)[1] == pytest.approx(0.5 * band_width(xy), abs=1e-6)


@pytest.mark.parametrize(
    ("limits", "word"),
    [
        ({"least_length_m": 0.0}, "least_length_m"),
        ({"least_length_m": float("nan")}, "least_length_m"),
        ({"least_length_m": 1.0, "tolerance_m": -1.0}, "tolerance_m"),
        ({"least_length_m": 1.0, "greatest_bend_deg": 91.0}, "greatest_bend_deg"),
    ],
)
def test_limits_out_of_range_are_refused(limits, word):
    network = LineNetwork.from_lines(wiggly_road())
    with pytest.raises(ValueError, match=word):
        straight_runs(network, **limits)


def test_points_without_a_line_are_refused():
    with pytest.raises(ValueError, match="fewer than two"):
        straight_fit(np.zeros((3, 2)))


def test_no_lines_have_no_runs():
    assert len(runs_in([], 100.0)) == 0
