"""All headings at once, cell for cell the same bits as one track at a time."""

import numpy as np
import pytest
from attrs import evolve

from areaplan.engine.glide import SectorSurfaces, sector_surfaces
from areaplan.engine.heading_surfaces import required_by_heading
from areaplan.engine.moves import move_losses
from areaplan.engine.worst_heading import TurnModel, required_for_tracks, worst_heading

WIND = (7.2, 210.0)
MODEL = TurnModel(30.0, 33.4, 7.2, 4.0, 40.0, *WIND)
# Middles of steps, just inside, exactly between two, and beyond a full circle.
TRACKS = (
    0.0,
    7.4999,
    7.5,
    7.5001,
    22.5,
    90.0,
    97.5,
    203.0,
    352.5,
    359.9,
    360.0,
    367.5,
    -7.5,
    730.0,
)


def _scene(shape=(85, 80), cell_m=28.0, seed=3, model=MODEL, is_holed=True):
    rng = np.random.default_rng(seed)
    rows, cols = np.indices(shape)
    surface = 60.0 + 50.0 * np.sin(rows / 9.0) * np.cos(cols / 11.0) + rng.uniform(0, 5, shape)
    surface = surface.astype(np.float32)
    if is_holed:
        surface[rng.random(shape) < 0.001] = np.nan
    arrival = np.full(shape, np.inf, np.float32)
    arrival[20:30, 10:22] = 200.0
    arrival[60:70, 50:66] = 220.0
    losses = move_losses(
        model.tas_mps, model.glide_ratio, model.wind_speed_mps, model.wind_from_deg_true
    )
    return sector_surfaces(surface, arrival, cell_m, losses), surface, cell_m, model


@pytest.mark.parametrize(
    ("shape", "cell_m"), [((85, 80), 28.0), ((61, 47), 60.0), ((40, 33), 110.0), ((130, 121), 17.0)]
)
def test_same_bits_as_one_track_at_a_time(shape, cell_m):
    scene = _scene(shape, cell_m)
    found = required_by_heading(*scene)
    rows, cols = np.indices(shape)
    kinds = set()
    for track in TRACKS:
        expected = required_for_tracks(*scene, track)
        answer = found.required_amsl_m(rows, cols, np.full(shape, track))
        assert answer.dtype == np.float32
        np.testing.assert_array_equal(answer, expected)
        kinds |= {"known"} if np.isfinite(expected).any() else set()
        kinds |= {"unknown"} if np.isnan(expected).any() else set()
    assert kinds == {"known", "unknown"}


def test_the_highest_of_all_headings_is_the_worst():
    scene = _scene(is_holed=False)
    found = required_by_heading(*scene)
    rows, cols = np.indices(scene[1].shape)
    every = [found.required_amsl_m(rows, cols, np.full(rows.shape, 15.0 * h)) for h in range(24)]
    known = ~np.isnan(np.max(every, axis=0))
    np.testing.assert_array_equal(np.max(every, axis=0)[known], worst_heading(*scene)[known])
    assert np.isfinite(np.max(every, axis=0)).any()


def test_same_bits_where_nothing_makes_headway():
    storm = evolve(MODEL, wind_speed_mps=60.0)
    surfaces, surface, cell_m, _ = _scene()
    found = required_by_heading(surfaces, surface, cell_m, storm)
    rows, cols = np.indices(surface.shape)
    answer = found.required_amsl_m(rows, cols, np.full(rows.shape, 30.0))
    np.testing.assert_array_equal(
        answer, required_for_tracks(surfaces, surface, cell_m, storm, 30.0)
    )
    assert np.isinf(answer).any()


def test_same_bits_in_winds_aloft_and_with_any_number_of_threads():
    sheared = evolve(MODEL, winds_aloft=((12.0, 240.0),), shear_per_s=0.02)
    scene = (*_scene()[:3], sheared)
    one, three = required_by_heading(*scene, threads=1), required_by_heading(*scene, threads=3)
    np.testing.assert_array_equal(one.block_amsl_m, three.block_amsl_m)
    rows, cols = np.indices(scene[1].shape)
    answer = one.required_amsl_m(rows, cols, np.full(rows.shape, 111.0))
    np.testing.assert_array_equal(answer, required_for_tracks(*scene, 111.0))


def test_no_track_and_no_cell():
    found = required_by_heading(*_scene())
    assert np.isnan(found.required_amsl_m([10, 10], [10, 10], [np.nan, np.inf])).all()
    for row, col in ((-1, 0), (0, -1), (85, 0), (0, 80)):
        with pytest.raises(IndexError, match="cells"):
            found.required_amsl_m([row], [col], [0.0])
    assert found.required_amsl_m(np.empty(0, int), np.empty(0, int), []).shape == (0,)


def test_what_it_can_not_be_made_from():
    surfaces, surface, cell_m, model = _scene()
    with pytest.raises(ValueError, match="ahead_amsl_m"):
        required_by_heading(SectorSurfaces(surfaces.required_amsl_m, None), surface, cell_m, model)
    with pytest.raises(ValueError, match="surface"):
        required_by_heading(surfaces, surface[1:], cell_m, model)
    with pytest.raises(ValueError, match="cell"):
        required_by_heading(surfaces, surface, 0.0, model)
