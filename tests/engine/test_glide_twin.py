"""The sector surfaces, bit for bit, against Dijkstra's algorithm over shapely's cells."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra import numpy as hnp

from areaplan.engine.glide import NO_FIELD, sector_surfaces, sectors_reached
from areaplan.engine.moves import MOVES, SECTORS, move_losses
from areaplan.engine.sweeps import STEPS_PER_M
from tests.oracles import glide_twin as twin

SHAPES = st.tuples(st.integers(1, 9), st.integers(1, 9))
HEIGHTS = st.floats(-50.0, 900.0, width=32)


@st.composite
def grounds(draw):
    """A small country: ground with holes in what is known, a wall or two, fields, a wind."""
    shape = draw(SHAPES)
    surface = draw(hnp.arrays(np.float32, shape, elements=HEIGHTS))
    if draw(st.booleans()):
        surface[draw(hnp.arrays(bool, shape, elements=st.booleans()))] = 4000.0
    if draw(st.booleans()):
        surface[draw(st.integers(0, shape[0] - 1)), draw(st.integers(0, shape[1] - 1))] = np.nan
    field = np.full(shape, NO_FIELD, np.int16)
    for number in range(draw(st.integers(0, 3))):
        field[draw(st.integers(0, shape[0] - 1)), draw(st.integers(0, shape[1] - 1))] = number
    arrival = np.where(field == NO_FIELD, draw(st.sampled_from([np.inf, np.nan])), 0.0)
    arrival[field != NO_FIELD] = [draw(HEIGHTS) for _ in range(int((field != NO_FIELD).sum()))]
    wind = (draw(st.floats(0.0, 40.0)), draw(st.floats(0.0, 359.0)))
    losses = move_losses((30.0, 33.0), draw(st.floats(4.0, 20.0)), *wind)
    return surface, arrival.astype(np.float32), field, draw(st.floats(3.0, 200.0)), losses


def _twin_surfaces(surface, arrival, cell_m, losses, sector):
    """The twin's two answers as the engine gives them: metres, infinity, NaN."""
    per_metre = {
        (move.row_step, move.col_step): float(loss)
        for move, loss in zip(MOVES, losses.per_metre, strict=True)
    }
    answers = []
    for found in twin.required(surface, arrival, cell_m, per_metre, sector):
        answer = np.full(surface.shape, np.inf)
        for cell, steps in found.items():
            answer[cell] = steps / STEPS_PER_M
        answer[np.isnan(surface)] = np.nan
        answers.append(answer)
    return answers


@given(grounds(), st.integers(0, SECTORS - 1))
@settings(deadline=None, max_examples=250)
def test_equal_to_the_twin(ground, sector):
    surface, arrival, _, cell_m, losses = ground
    found = sector_surfaces(surface, arrival, cell_m, losses, threads=1)
    expected, expected_ahead = _twin_surfaces(surface, arrival, cell_m, losses, sector)
    np.testing.assert_array_equal(found.required_amsl_m[sector], expected)
    np.testing.assert_array_equal(found.ahead_amsl_m[sector], expected_ahead)
    assert found.field is None


@given(grounds(), st.integers(0, SECTORS - 1))
@settings(deadline=None, max_examples=60)
def test_the_field_named_is_the_one_reached(ground, sector):
    """With that field alone, the cell needs the very same altitude."""
    surface, arrival, field, cell_m, losses = ground
    found = sector_surfaces(surface, arrival, cell_m, losses, field, threads=1)
    required, label = found.required_amsl_m[sector], found.field[sector]
    np.testing.assert_array_equal(label == NO_FIELD, ~np.isfinite(required))
    for number in np.unique(label[label != NO_FIELD]):
        alone = np.where(field == number, arrival, np.float32(np.inf))
        only, _ = _twin_surfaces(surface, alone, cell_m, losses, sector)
        np.testing.assert_array_equal(required[label == number], only[label == number])


@given(grounds())
@settings(deadline=None, max_examples=30)
def test_same_bits_for_any_number_of_threads(ground):
    surface, arrival, field, cell_m, losses = ground
    one = sector_surfaces(surface, arrival, cell_m, losses, field, threads=1)
    many = sector_surfaces(surface, arrival, cell_m, losses, field, threads=5)
    assert one.required_amsl_m.tobytes() == many.required_amsl_m.tobytes()
    assert one.field.tobytes() == many.field.tobytes()


@given(grounds(), HEIGHTS)
@settings(deadline=None, max_examples=30)
def test_sectors_reached_counts(ground, altitude):
    surface, arrival, _, cell_m, losses = ground
    found = sector_surfaces(surface, arrival, cell_m, losses, threads=1)
    expected = [
        [sum(altitude >= found.required_amsl_m[k, r, c] for k in range(SECTORS))
         for c in range(surface.shape[1])]
        for r in range(surface.shape[0])
    ]  # fmt: skip
    counts = sectors_reached(found, altitude)
    assert counts.tolist() == expected
    assert not counts[np.isnan(surface)].any()


def test_refused():
    flat = np.zeros((3, 4), np.float32)
    losses = move_losses(30.0, 9.0, 0.0, 0.0)
    with pytest.raises(ValueError, match="one shape"):
        sector_surfaces(flat, flat.T, 25.0, losses)
    with pytest.raises(ValueError, match="one shape"):
        sector_surfaces(flat[0], flat[0], 25.0, losses)
    with pytest.raises(ValueError, match="cell of nan m"):
        sector_surfaces(flat, flat, float("nan"), losses)
