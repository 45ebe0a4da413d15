"""The worst heading: its kernels against plain loops, its edges, and what physics asks of it."""

import numpy as np
import pytest
from attrs import evolve
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.lib.stride_tricks import sliding_window_view

from areaplan.engine import _heading_kernels as kernels
from areaplan.engine.flight import gliding_turn_loss
from areaplan.engine.glide import SectorSurfaces, sector_surfaces
from areaplan.engine.heading_blocks import BLOCK_M, _boxes
from areaplan.engine.moves import move_losses
from areaplan.engine.sweeps import altitude_in_steps
from areaplan.engine.ways import HEADINGS, ways_out
from areaplan.engine.worst_heading import TurnModel, required_for_tracks, worst_heading

CELL_M = 25.0
WIND = (7.2, 210.0)
UNKNOWN = float(kernels.UNKNOWN)
MODEL = TurnModel(30.0, 33.4, 7.2, 4.0, 40.0, *WIND)
LOSSES = move_losses(33.4, 7.2, *WIND)


def _country(shape, seed, fields=4):
    rng = np.random.default_rng(seed)
    rows, cols = np.indices(shape)
    surface = np.full(shape, 30.0)
    for _ in range(10):
        r, c = rng.uniform(0, shape[0]), rng.uniform(0, shape[1])
        surface += rng.uniform(10.0, 120.0) * np.exp(
            -((rows - r) ** 2 + (cols - c) ** 2) / (2.0 * rng.uniform(5.0, 20.0) ** 2)
        )
    arrival = np.full(shape, np.inf, np.float32)
    for _ in range(fields):
        r, c = rng.integers(0, shape[0] - 10), rng.integers(0, shape[1] - 10)
        arrival[r : r + 10, c : c + 10] = 200.0
    return surface.astype(np.float32), arrival


def _worst(surface, arrival, model=MODEL, cell_m=CELL_M, **more):
    losses = move_losses(
        model.tas_mps, model.glide_ratio, model.wind_speed_mps, model.wind_from_deg_true
    )
    surfaces = sector_surfaces(surface, arrival, cell_m, losses)
    return worst_heading(surfaces, surface, cell_m, model, **more)


def _plain(surfaces, surface, cell_m, model):
    """The definition, one way at a time, on whole windows in float64."""
    cells = max(1, int(BLOCK_M / cell_m))
    shape = [-(-count // cells) for count in surface.shape]
    ways = ways_out(model)
    _, ends = _boxes(ways.end_m, cells * cell_m)
    _, paths = _boxes(ways.path_m, cells * cell_m)
    loss = np.ceil(ways.loss_m * 2048.0) / 2048.0

    def blocks(values):
        out = np.full([n * cells for n in shape], UNKNOWN)
        out[: values.shape[0], : values.shape[1]] = np.where(np.isnan(values), UNKNOWN, values)
        return out.reshape(shape[0], cells, shape[1], cells).max(axis=(1, 3))

    def windows(values, edge):
        """Highest value of the window round each block; UNKNOWN where it leaves the grid."""
        highest = np.full(shape, UNKNOWN)
        rows, cols = edge[1] - edge[0] + 1, edge[3] - edge[2] + 1
        if rows <= shape[0] and cols <= shape[1]:
            inside = sliding_window_view(values, (rows, cols)).max(axis=(2, 3))
            for (r, c), value in np.ndenumerate(inside):
                if 0 <= r - edge[0] < shape[0] and 0 <= c - edge[2] < shape[1]:
                    highest[r - edge[0], c - edge[2]] = value
        return highest

    ahead = [blocks(values) for values in surfaces.ahead_amsl_m]
    ground = blocks(altitude_in_steps(surface))
    over = [windows(ground, edge) for edge in paths.edge]
    least = np.full((HEADINGS, *shape), np.inf)
    for way, heading in enumerate(ways.heading):
        need = np.maximum(windows(ahead[ways.sector[way]], ends.edge[way]), over[ways.path[way]])
        least[heading] = np.minimum(
            least[heading], np.where(need < UNKNOWN, need + loss[way], need)
        )
    answer = np.repeat(np.repeat(least.max(axis=0), cells, axis=0), cells, axis=1)
    answer = answer[: surface.shape[0], : surface.shape[1]]
    answer = np.maximum(answer, surfaces.required_amsl_m.min(axis=0))
    answer[(answer >= 8192.0) & (answer != UNKNOWN)] = np.inf
    answer[(answer == UNKNOWN) | np.isnan(surface)] = np.nan
    return answer


@pytest.mark.parametrize(
    ("shape", "cell_m", "seed"),
    [((31, 38), 110.0, 1), ((40, 31), 90.0, 2), ((55, 60), 50.0, 3), ((85, 80), 28.0, 4)],
)
def test_equal_to_the_plain_definition(shape, cell_m, seed):
    surface, arrival = _country(shape, seed)
    rng = np.random.default_rng(seed)
    surface[rng.random(shape) < 0.001] = np.nan
    surfaces = sector_surfaces(surface, arrival, cell_m, LOSSES)
    found = worst_heading(surfaces, surface, cell_m, MODEL)
    np.testing.assert_array_equal(found, _plain(surfaces, surface, cell_m, MODEL))
    assert np.isfinite(found).any()
    assert np.isnan(found).any()


@given(
    st.lists(
        st.tuples(*[st.floats(-900.0, 900.0)] * 2, *[st.floats(0.0, 700.0)] * 2),
        min_size=1,
        max_size=30,
    ),
    st.floats(10.0, 200.0),
)
@settings(deadline=None, max_examples=100)
def test_windows_hold_their_boxes_from_every_point_of_a_cell(rows, cell_m):
    boxes = np.array([(x, x + width, y, y + height) for x, y, width, height in rows])
    side, windows = _boxes(boxes, cell_m)
    for i, (west, east, south, north) in enumerate(boxes):
        row_low, row_high, col_low, col_high = windows.edge[i]
        # From the far edges of the cell, half a cell from its centre, rows going south.
        assert (col_low - 0.5) * cell_m <= west - 0.5 * cell_m + 1e-6
        assert east + 0.5 * cell_m <= (col_high + 0.5) * cell_m + 1e-6
        assert (row_low - 0.5) * cell_m <= -north - 0.5 * cell_m + 1e-6
        assert -south + 0.5 * cell_m <= (row_high + 0.5) * cell_m + 1e-6
        covered = np.zeros((row_high - row_low + 1, col_high - col_low + 1), bool)
        for r, c in windows.square[windows.first_square[i] : windows.first_square[i + 1]]:
            assert row_low <= r <= row_high - side + 1
            assert col_low <= c <= col_high - side + 1
            covered[r - row_low : r - row_low + side, c - col_low : c - col_low + side] = True
        assert covered.all()


@pytest.mark.parametrize("cells", [1, 2, 3])
@pytest.mark.parametrize("side", [1, 2, 4])
def test_blocks_and_squares(cells, side):
    rng = np.random.default_rng(cells * 10 + side)
    values = rng.random((14, 19), np.float32)
    values[3, 5] = np.nan
    shape = (-(-14 // cells), -(-19 // cells))
    blocks = np.empty(shape, np.float32)
    kernels.highest_in_blocks(values, cells, blocks)
    padded = np.full((shape[0] * cells, shape[1] * cells), kernels.UNKNOWN)
    padded[:14, :19] = np.where(np.isnan(values), kernels.UNKNOWN, values)
    expected = padded.reshape(shape[0], cells, shape[1], cells).max(axis=(1, 3))
    np.testing.assert_array_equal(blocks, expected)
    kernels.highest_in_squares(side, blocks)
    for r in range(shape[0] - side + 1):
        for c in range(shape[1] - side + 1):
            assert blocks[r, c] == expected[r : r + side, c : c + side].max()


def test_field_everywhere():
    """Over a country that is all field, only reaction and the least turn on to a sector count."""
    shape = (160, 160)
    worst = _worst(np.zeros(shape, np.float32), np.full(shape, 100.0, np.float32))
    middle = worst[70:90, 70:90]
    assert np.ptp(middle) == 0.0
    reaction = 4.0 * MODEL.at_speeds(1).sink_mps[0]
    # The nearest sector's centre is at most 7.5 degrees off the heading, which itself is known to
    # 7.5, the move ahead to 15; in this wind the crab differs by up to 10 more.
    least = 100.0 + reaction + gliding_turn_loss(33.4, 7.2, 30.0, 20.0)
    most = 100.0 + 1.2 * reaction + gliding_turn_loss(33.4, 7.2, 30.0, 40.0) + 1.0
    assert least < middle[0, 0] < most


@pytest.mark.parametrize("size", [(12, 12), (12, 3), (6, 6)])
def test_one_field_alone_can_be_reached_from_all_round_it(size):
    """No hole round a lone field: the ways that fly on first close it."""
    shape = (241, 241)
    arrival = np.full(shape, np.inf, np.float32)
    arrival[120 : 120 + size[0], 120 : 120 + size[1]] = 90.0
    worst = _worst(np.zeros(shape, np.float32), arrival)
    rows, cols = np.indices(shape)
    near = np.hypot(rows - 120, cols - 120) * CELL_M < 1600.0
    assert np.isfinite(worst[near]).mean() > (0.999 if size == (12, 12) else 0.98)
    # Nowhere within a mile does it ask for more than 2,100 ft above the field.
    assert np.nanmax(worst[near & np.isfinite(worst)]) < 90.0 + 640.0


@given(st.integers(0, 10_000), st.floats(0.0, 15.0), st.floats(0.0, 359.0))
@settings(deadline=None, max_examples=10)
def test_what_can_only_help_and_what_can_only_hurt(seed, wind_mps, wind_from):
    shape = (90, 96)
    rng = np.random.default_rng(seed)
    model = evolve(MODEL, wind_speed_mps=wind_mps, wind_from_deg_true=wind_from)
    surface, arrival = _country(shape, seed)
    losses = move_losses(33.4, 7.2, wind_mps, wind_from)
    surfaces = sector_surfaces(surface, arrival, CELL_M, losses)
    before = worst_heading(surfaces, surface, CELL_M, model)
    known = ~np.isnan(before)
    assert np.all(before[known] >= surfaces.required_amsl_m.min(axis=0)[known])
    assert np.all(before[known] >= surface[known])
    higher = surface + rng.uniform(0.0, 90.0, shape) * (rng.random(shape) < 0.02)
    after = _worst(higher.astype(np.float32), arrival, model)
    assert np.all(after[known] >= before[known])
    _, more = _country(shape, seed + 1, fields=2)
    after = _worst(surface, np.minimum(arrival, more), model)
    assert np.all(after[known] <= before[known])
    less_known = np.where(rng.random(shape) < 0.0005, np.float32(np.nan), surface)
    after = _worst(less_known, arrival, model)
    assert np.all((after[known] >= before[known]) | np.isnan(after[known]))
    assert np.isnan(after[np.isnan(less_known)]).all()


def test_a_worse_aircraft_needs_more():
    """Steeper glide; slower flight when the engine fails. Cell by cell a turn may end better."""
    surface, arrival = _country((200, 210), 21)
    before = _worst(surface, arrival)
    for worse, least_m in (({"glide_ratio": 6.0}, 20.0), ({"manoeuvre_tas_mps": 24.0}, 10.0)):
        after = _worst(surface, arrival, evolve(MODEL, **worse))
        both = np.isfinite(before) & np.isfinite(after)
        assert both.sum() > 500
        assert (after - before)[both].mean() > least_m


@pytest.mark.parametrize("wind", [(0.0, 0.0), (9.0, 35.0)])
def test_turning_everything_turns_the_answer(wind):
    shape = (120, 144)  # whole blocks, so that they turn into each other
    surface, arrival = _country(shape, 11)
    model = evolve(MODEL, wind_speed_mps=wind[0], wind_from_deg_true=wind[1])
    before = _worst(surface, arrival, model)
    assert np.isfinite(before).mean() > 0.2
    for quarters in (1, 2, 3):
        turned = evolve(model, wind_from_deg_true=wind[1] - 90.0 * quarters)
        after = _worst(
            np.ascontiguousarray(np.rot90(surface, quarters)),
            np.ascontiguousarray(np.rot90(arrival, quarters)),
            turned,
        )
        np.testing.assert_allclose(after, np.rot90(before, quarters), rtol=0.0, atol=0.05)


def test_same_bits_for_any_number_of_threads():
    surface, arrival = _country((150, 130), 12)
    one = _worst(surface, arrival, threads=1)
    assert one.tobytes() == _worst(surface, arrival, threads=4).tobytes()


def test_unknown_and_unreachable_are_told_apart():
    """No field anywhere: unreachable in the middle, unknown where the edge is in the turn's way."""
    shape = (200, 200)
    worst = _worst(np.zeros(shape, np.float32), np.full(shape, np.inf, np.float32))
    assert np.all(worst[90:110, 90:110] == np.inf)
    arrival = np.full(shape, 100.0, np.float32)
    surface = np.zeros(shape, np.float32)
    surface[100, 100] = np.nan
    worst = _worst(surface, arrival)
    assert np.isnan(worst[96:104, 96:104]).all()
    assert np.isnan(worst[:3]).all()
    assert np.isfinite(worst[60, 60])


def test_gale():
    surface = np.zeros((20, 20), np.float32)
    surface[3, 4] = np.nan
    gale = evolve(MODEL, wind_speed_mps=50.0)
    worst = _worst(surface, np.full((20, 20), 100.0, np.float32), gale)
    assert np.isnan(worst[3, 4])
    assert np.all(worst[~np.isnan(surface)] == np.inf)


def test_refused():
    surface, arrival = _country((30, 30), 1)
    surfaces = sector_surfaces(surface, arrival, CELL_M, LOSSES)
    with pytest.raises(ValueError, match=r"surface \(30, 29\)"):
        worst_heading(surfaces, surface[:, :29], CELL_M, MODEL)
    with pytest.raises(ValueError, match="cell of 0"):
        worst_heading(surfaces, surface, 0.0, MODEL)
    with pytest.raises(ValueError, match="ahead_amsl_m"):
        worst_heading(SectorSurfaces(surfaces.required_amsl_m, None), surface, CELL_M, MODEL)


# ------------------------------------------------------------------ a manoeuvre's own tracks


def test_all_tracks_together_are_the_worst_heading():
    surface, arrival = _country((60, 70), 11)
    surface[5, 7] = np.nan
    surfaces = sector_surfaces(surface, arrival, 40.0, LOSSES)
    worst = worst_heading(surfaces, surface, 40.0, MODEL)
    every = required_for_tracks(surfaces, surface, 40.0, MODEL, np.arange(0.0, 360.0, 15.0))
    np.testing.assert_array_equal(every, worst)
    alone = [
        required_for_tracks(surfaces, surface, 40.0, MODEL, track)
        for track in np.arange(0.0, 360.0, 15.0)
    ]
    is_known = ~np.isnan(worst)
    np.testing.assert_array_equal(np.max(alone, axis=0)[is_known], worst[is_known])
    assert sum(np.any(one[is_known] < worst[is_known]) for one in alone) == len(alone)


def test_a_track_between_two_steps_takes_both():
    surface, arrival = _country((50, 50), 12)
    surfaces = sector_surfaces(surface, arrival, 60.0, LOSSES)

    def ask(tracks):
        return required_for_tracks(surfaces, surface, 60.0, MODEL, tracks)

    np.testing.assert_array_equal(ask(97.5), ask([90.0, 105.0]))
    np.testing.assert_array_equal(ask(-7.5), ask([0.0, 345.0]))
    np.testing.assert_array_equal(ask(724.0), ask(0.0))


@pytest.mark.parametrize("tracks", [[], np.nan, [90.0, np.inf]])
def test_tracks_refused(tracks):
    surface, arrival = _country((30, 30), 13)
    surfaces = sector_surfaces(surface, arrival, 60.0, LOSSES)
    with pytest.raises(ValueError, match="tracks"):
        required_for_tracks(surfaces, surface, 60.0, MODEL, tracks)
