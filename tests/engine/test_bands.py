"""Open bands against a plain-Python twin, and by what an instructor would expect of them."""

from __future__ import annotations

import math

import numpy as np
import pytest

from areaplan.engine.bands import NO_BAND, NO_VOLUME, Bands, Volumes, open_bands
from areaplan.units import FOOT_M, feet_down, feet_up
from tests.oracles import bands_twin as twin

ROUNDING_M = 1e-9
ONE_CELL = np.ones((1, 1), dtype=bool)


def feet(value_ft: float) -> float:
    return value_ft * FOOT_M


def gather(volumes: list[twin.Volume], shape: tuple[int, int]) -> Volumes:
    return Volumes.from_covers(
        (v.cover for v in volumes),
        shape,
        lower_m=[v.lower_m for v in volumes],
        upper_m=[v.upper_m for v in volumes],
        lower_is_agl=[v.lower_is_agl for v in volumes],
        upper_is_agl=[v.upper_is_agl for v in volumes],
        lower_is_inclusive=[v.lower_is_inclusive for v in volumes],
        upper_is_inclusive=[v.upper_is_inclusive for v in volumes],
    )


def one_cell(
    volumes: list[twin.Volume],
    floor_ft: float,
    *,
    ground_ft: tuple[float, float] = (0.0, 0.0),
    margin_ft: float = 0.0,
    top_ft: float = math.inf,
) -> Bands:
    lowest, highest = (np.array([[feet(value)]]) for value in ground_ft)
    return open_bands(
        np.array([[feet(floor_ft)]]),
        gather(volumes, (1, 1)),
        lowest,
        highest,
        margin_m=feet(margin_ft),
        top_m=feet(top_ft),
    )


def in_feet(bands: Bands) -> list[tuple[float, float]]:
    """The bands of a single cell in feet, to a millionth."""
    edges = bands.edges_m[:, :, 0, 0] / FOOT_M
    return [(round(a, 6), round(b, 6)) for a, b in edges if not math.isnan(a)]


def shelf(lower_ft: float, upper_ft: float, **limits: bool) -> twin.Volume:
    return twin.Volume(ONE_CELL, feet(lower_ft), feet(upper_ft), **limits)


def test_no_volume_leaves_all_above_the_floor() -> None:
    bands = one_cell([], 1500)
    assert in_feet(bands) == [(1500, math.inf)]
    assert bands.by[:, :, 0, 0].tolist() == [[NO_VOLUME, NO_VOLUME]]
    assert bands.edges_m.shape == (1, 2, 1, 1)


def test_shelves_make_several_bands_and_each_edge_names_its_volume() -> None:
    volumes = [shelf(6000, 7000), shelf(2000, 3000), shelf(4000, 5000)]
    bands = one_cell(volumes, 500, margin_ft=100)
    assert in_feet(bands) == [(500, 1900), (3100, 3900), (5100, 5900), (7100, math.inf)]
    assert bands.by[:, :, 0, 0].tolist() == [[NO_VOLUME, 1], [1, 2], [2, 0], [0, NO_VOLUME]]


def test_a_band_between_two_volumes_vanishes_when_the_margins_meet_beyond_it() -> None:
    volumes = [shelf(1000, 2000), shelf(2200, 3000)]
    assert (2100.0, 2100.0) in in_feet(one_cell(volumes, 500, margin_ft=100))
    assert in_feet(one_cell(volumes, 500, margin_ft=101)) == [(500, 899), (3101, math.inf)]


def test_overlapping_and_nested_volumes_close_what_any_of_them_closes() -> None:
    volumes = [shelf(2000, 6000), shelf(2500, 3000), shelf(5000, 8000)]
    bands = one_cell(volumes, 500, margin_ft=100)
    assert in_feet(bands) == [(500, 1900), (8100, math.inf)]
    assert bands.by[:, :, 0, 0].tolist() == [[NO_VOLUME, 0], [2, NO_VOLUME]]
    same = one_cell([shelf(2500, 3000), shelf(2000, 3000), shelf(2000, 2800)], 500)
    assert in_feet(same) == [(500, 1999), (3001, math.inf)]
    assert same.by[:, :, 0, 0].tolist() == [[NO_VOLUME, 1], [0, NO_VOLUME]]  # ties: the first


@pytest.mark.parametrize(
    ("lower_is_inclusive", "upper_is_inclusive", "expected"),
    [
        (True, True, [(500, 1999), (3001, math.inf)]),
        (False, True, [(500, 2000), (3001, math.inf)]),
        (True, False, [(500, 1999), (3000, math.inf)]),
        (False, False, [(500, 2000), (3000, math.inf)]),
    ],
)
def test_without_a_margin_an_inclusive_limit_is_one_foot_away(
    lower_is_inclusive: bool, upper_is_inclusive: bool, expected: list[tuple[float, float]]
) -> None:
    # "to and including" and "to but not including" of the published upper limits: the meaning of
    # the codes TI and TNI in the FAA special-use airspace file is from memory.
    volume = shelf(
        2000, 3000, lower_is_inclusive=lower_is_inclusive, upper_is_inclusive=upper_is_inclusive
    )
    assert in_feet(one_cell([volume], 500)) == expected
    with_margin = one_cell([volume], 500, margin_ft=50)
    assert in_feet(with_margin) == [(500, 1950), (3050, math.inf)]


def test_two_volumes_that_share_a_limit_neither_includes_leave_that_altitude() -> None:
    lower = shelf(1000, 2000, upper_is_inclusive=False)
    volumes = [lower, shelf(2000, 3000, lower_is_inclusive=False)]
    assert in_feet(one_cell(volumes, 1500)) == [(2000, 2000), (3001, math.inf)]
    volumes = [lower, shelf(2000, 3000)]
    assert in_feet(one_cell(volumes, 1500)) == [(3001, math.inf)]


def test_a_floor_inside_above_and_at_the_edge_of_a_volume() -> None:
    volume = shelf(2000, 3000)
    assert in_feet(one_cell([volume], 2500, margin_ft=100)) == [(3100, math.inf)]
    assert in_feet(one_cell([volume], 3500, margin_ft=100)) == [(3500, math.inf)]
    assert in_feet(one_cell([volume], 1900, margin_ft=100)) == [(1900, 1900), (3100, math.inf)]


def test_surface_to_unlimited_and_closed_floors_leave_nothing() -> None:
    column = twin.Volume(ONE_CELL, 0.0, math.inf, lower_is_agl=True)
    for bands in (one_cell([column], 500), one_cell([], math.inf)):
        assert in_feet(bands) == []
        assert not bands.is_unknown.any()
        assert (bands.by == NO_BAND).all()
    endless = twin.Volume(ONE_CELL, -math.inf, math.inf)
    assert in_feet(one_cell([endless], -math.inf)) == []


def test_a_shelf_above_ground_follows_a_slope_on_the_cautious_side() -> None:
    # 14 CFR 71 transition areas begin 700 ft or 1,200 ft above the surface (from memory, FAA
    # Order JO 7400.11 subpart E); over ground from 1,000 ft to 1,300 ft the shelf is closed from
    # 1,700 ft, and a ceiling 2,500 ft above the surface (AIM 3-2-5) reaches up to 3,800 ft.
    volume = shelf(700, 2500, lower_is_agl=True, upper_is_agl=True)
    bands = one_cell([volume], 1500, ground_ft=(1000, 1300), margin_ft=100)
    assert in_feet(bands) == [(1500, 1600), (3900, math.inf)]


def test_a_base_above_ground_over_its_top_above_sea_level_is_no_volume() -> None:
    volume = shelf(1200, 2000, lower_is_agl=True)
    assert in_feet(one_cell([volume], 1500, ground_ft=(900, 950))) == [(1500, math.inf)]
    closed = one_cell([volume], 1500, ground_ft=(800, 950), margin_ft=100)
    assert in_feet(closed) == [(1500, 1900), (2100, math.inf)]


def test_altitudes_above_the_top_are_not_looked_at() -> None:
    volumes = [shelf(2000, 3000), shelf(5000, 6000)]
    bands = one_cell(volumes, 500, margin_ft=100, top_ft=4000)
    assert in_feet(bands) == [(500, 1900), (3100, 4000)]
    assert bands.by[1, 1, 0, 0] == NO_VOLUME
    at_the_limit = one_cell(volumes, 500, margin_ft=100, top_ft=4900)
    assert at_the_limit.by[1, 1, 0, 0] == 1
    assert in_feet(one_cell(volumes, 4500, top_ft=4000)) == []


@pytest.mark.parametrize("limit", ["floor", "lower", "upper", "ground"])
def test_unknown_is_never_open(limit: str) -> None:
    volume = twin.Volume(
        ONE_CELL,
        math.nan if limit == "lower" else 0.0,
        math.nan if limit == "upper" else 1000.0,
        lower_is_agl=limit == "ground",
    )
    ground = math.nan if limit == "ground" else 100.0
    floor = math.nan if limit == "floor" else 500.0
    bands = one_cell([volume], floor, ground_ft=(ground, ground))
    assert bands.is_unknown.all()
    assert np.isnan(bands.edges_m).all()
    assert (bands.by == NO_BAND).all()


def test_an_unknown_volume_says_nothing_about_cells_that_it_does_not_cover() -> None:
    cover = np.array([[True, False]])
    volumes = gather([twin.Volume(cover, 0.0, math.nan)], (1, 2))
    ground = np.zeros((1, 2))
    bands = open_bands(ground + 100.0, volumes, ground, ground, margin_m=30.0)
    assert bands.is_unknown.tolist() == [[True, False]]
    assert bands.edges_m[0, :, 0, 1].tolist() == [100.0, math.inf]


def random_scene(
    seed: int, shape: tuple[int, int], count: int
) -> tuple[list[twin.Volume], np.ndarray, np.ndarray, np.ndarray]:
    """Volumes of whole feet, some above ground, over rough ground; one in thirty unknown."""
    rng = np.random.default_rng(seed)
    volumes = []
    for _ in range(count):
        r0, c0 = rng.integers(0, shape[0]), rng.integers(0, shape[1])
        cover = np.zeros(shape, dtype=bool)
        cover[r0 : r0 + rng.integers(1, shape[0]), c0 : c0 + rng.integers(1, shape[1])] = True
        lower_ft, thickness_ft = rng.integers(0, 50) * 100, rng.integers(0, 20) * 100
        upper_m = feet(float(lower_ft + thickness_ft)) if rng.random() < 0.95 else math.inf
        lower_m = feet(float(lower_ft)) if rng.random() < 0.97 else math.nan
        lower_is_agl, upper_is_agl = rng.random() < 0.3, rng.random() < 0.2
        inclusive = rng.random(2) < 0.6
        volumes.append(
            twin.Volume(cover, lower_m, upper_m, lower_is_agl, upper_is_agl, *map(bool, inclusive))
        )
    lowest = rng.uniform(0.0, 500.0, shape)
    lowest[rng.random(shape) < 0.02] = np.nan
    highest = lowest + rng.uniform(0.0, 60.0, shape)
    floor = rng.uniform(0.0, 1500.0, shape)
    floor[rng.random(shape) < 0.05] = np.nan
    floor[rng.random(shape) < 0.05] = math.inf
    floor[rng.random(shape) < 0.05] = -math.inf
    return volumes, floor, lowest, highest


@pytest.mark.parametrize(("seed", "margin_m"), [(1, 0.0), (2, 30.48), (3, 15.0), (4, 0.0)])
def test_points_of_space_against_each_volume_in_turn(seed: int, margin_m: float) -> None:
    shape, points = (12, 11), 30_000  # 120,000 points over the four scenes
    volumes, floor, lowest, highest = random_scene(seed, shape, 14)
    bands = open_bands(floor, gather(volumes, shape), lowest, highest, margin_m=margin_m)
    rng = np.random.default_rng(seed + 100)
    open_count = 0
    for _ in range(points):
        cell = (int(rng.integers(shape[0])), int(rng.integers(shape[1])))
        grounds = float(lowest[cell]), float(highest[cell])
        unknown = twin.is_unknown(volumes, cell, float(floor[cell]), *grounds)
        assert bands.is_unknown[cell] == unknown
        z_m = pick_altitude_m(rng, volumes, bands, cell, grounds)
        edges = bands.edges_m[:, :, *cell]
        answer = bool(((edges[:, 0] <= z_m) & (z_m <= edges[:, 1])).any())
        if unknown:
            assert not answer
            continue
        expected = twin.is_open(volumes, cell, z_m, float(floor[cell]), *grounds, margin_m)
        if answer != expected:  # the rounding of feet to metres, right at an edge
            assert np.nanmin(np.abs(edges - z_m)) < ROUNDING_M
        if answer:
            assert not any(twin.holds(v, z_m, *grounds) for v in volumes if v.cover[cell])
        open_count += answer
    assert 0.1 * points < open_count < 0.9 * points  # the scene tests both answers


def pick_altitude_m(
    rng: np.random.Generator,
    volumes: list[twin.Volume],
    bands: Bands,
    cell: tuple[int, int],
    grounds: tuple[float, float],
) -> float:
    """Any altitude; or exactly a published limit; or exactly an edge of an open band."""
    kind = rng.random()
    if kind < 0.6:
        return float(rng.uniform(0.0, 2200.0))
    limits = twin.limits_m(volumes[rng.integers(len(volumes))], *grounds)
    if kind < 0.8 and math.isfinite(sum(limits)):
        return limits[int(rng.integers(2))]
    edges = bands.edges_m[:, :, *cell]
    finite = edges[np.isfinite(edges)]
    return float(rng.choice(finite)) if finite.size else 1000.0


def test_whole_feet_next_to_every_limit() -> None:
    """At trade altitudes the answer is that of the published limits themselves, to the foot."""
    rng = np.random.default_rng(5)
    for _ in range(200):
        volumes, limits_ft = [], []
        for _ in range(4):
            lower_ft = int(rng.integers(0, 60))
            upper_ft = lower_ft + int(rng.integers(0, 20))
            low_in, up_in = (bool(flag) for flag in rng.random(2) < 0.5)
            volume = shelf(lower_ft, upper_ft, lower_is_inclusive=low_in, upper_is_inclusive=up_in)
            volumes.append(volume)
            limits_ft.append((lower_ft, upper_ft, low_in, up_in))
        bands = one_cell(volumes, 10)
        edges = bands.edges_m[:, :, 0, 0]
        open_ft = [
            (feet_up(a), feet_down(b) if math.isfinite(b) else 10**6)
            for a, b in edges
            if not math.isnan(a)
        ]
        for z_ft in range(101):
            closed = any(
                (z_ft > low or (z_ft == low and low_in)) and (z_ft < up or (z_ft == up and up_in))
                for low, up, low_in, up_in in limits_ft
            )
            assert any(a <= z_ft <= b for a, b in open_ft) == (z_ft >= 10 and not closed)


def test_bands_are_sorted_apart_and_packed() -> None:
    volumes, floor, lowest, highest = random_scene(9, (40, 30), 25)
    bands = open_bands(floor, gather(volumes, (40, 30)), lowest, highest, margin_m=30.0)
    low, high = bands.edges_m[:, 0], bands.edges_m[:, 1]
    is_used = ~np.isnan(low)
    assert (is_used == ~np.isnan(high)).all()
    assert (is_used[:-1] >= is_used[1:]).all()  # no hole among the slots
    assert (low[is_used] <= high[is_used]).all()
    both = is_used[:-1] & is_used[1:]
    assert (high[:-1][both] < low[1:][both]).all()
    assert is_used[-1].any()  # and no slot more than needed
    assert ((bands.by == NO_BAND).all(axis=1) == ~is_used).all()
    assert len(bands.edges_m) > 3


def test_more_volume_or_margin_or_floor_never_opens_an_altitude() -> None:
    volumes, floor, lowest, highest = random_scene(11, (20, 20), 12)
    altitudes_m = np.linspace(0.0, 2500.0, 400)

    def open_at(some: list[twin.Volume], floor_m: np.ndarray, margin_m: float) -> np.ndarray:
        bands = open_bands(floor_m, gather(some, (20, 20)), lowest, highest, margin_m=margin_m)
        edges = bands.edges_m[..., None]
        return np.asarray(((edges[:, 0] <= altitudes_m) & (altitudes_m <= edges[:, 1])).any(axis=0))

    answer = open_at(volumes, floor, 30.0)
    assert answer.any()
    assert not answer.all()
    assert (open_at(volumes[:-3], floor, 30.0) >= answer).all()
    assert (open_at(volumes, floor, 60.0) <= answer).all()
    assert (open_at(volumes, floor + 100.0, 30.0) <= answer).all()


def test_threads_and_the_order_of_covers_in_memory_make_no_difference() -> None:
    volumes, floor, lowest, highest = random_scene(13, (300, 50), 20)
    gathered = gather(volumes, (300, 50))
    first = open_bands(floor, gathered, lowest, highest, margin_m=30.0, threads=1)
    for threads in (2, 5):
        again = open_bands(
            np.asfortranarray(floor), gathered, lowest, highest, margin_m=30.0, threads=threads
        )
        assert again.edges_m.tobytes() == first.edges_m.tobytes()
        assert again.by.tobytes() == first.by.tobytes()
        assert (again.is_unknown == first.is_unknown).all()


def test_groups_tell_exactly_which_volumes_cover_a_cell() -> None:
    volumes, *_ = random_scene(17, (25, 25), 30)
    gathered = gather(volumes, (25, 25))
    assert len(gathered) == 30
    for cell in np.ndindex(25, 25):
        group = gathered.group[cell]
        first, end = gathered.first_of_group[group : group + 2]
        covering = [index for index, v in enumerate(volumes) if v.cover[cell]]
        assert gathered.volume_of_group[first:end].tolist() == covering
    sets = np.unique(np.stack([v.cover.ravel() for v in volumes]), axis=1)
    assert len(gathered.first_of_group) - 1 == sets.shape[1]  # no group without a use


def test_bad_input_is_refused() -> None:
    with pytest.raises(ValueError, match="volume 1 has its lower limit"):
        gather([shelf(0, 100), shelf(200, 100)], (1, 1))
    with pytest.raises(ValueError, match="cover 0 has shape"):
        gather([shelf(0, 100)], (2, 2))
    with pytest.raises(ValueError, match="lower_m has shape"):
        Volumes.from_covers([ONE_CELL], (1, 1), lower_m=[1.0, 2.0], upper_m=5.0)
    with pytest.raises(ValueError, match="can be numbered"):
        Volumes.from_covers(
            (np.zeros((1, 1), dtype=bool) for _ in range(32_768)), (1, 1), lower_m=0.0, upper_m=1.0
        )
    volumes, ground = gather([], (1, 1)), np.zeros((1, 1))
    for margin_m in (-1.0, math.nan, math.inf):
        with pytest.raises(ValueError, match="margin_m"):
            open_bands(ground, volumes, ground, ground, margin_m=margin_m)
    with pytest.raises(ValueError, match="top_m"):
        open_bands(ground, volumes, ground, ground, margin_m=0.0, top_m=math.nan)
    with pytest.raises(ValueError, match="highest_ground_m has shape"):
        open_bands(ground, volumes, ground, np.zeros((2, 1)), margin_m=0.0)
