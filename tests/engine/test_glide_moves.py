"""The moves, the cells under them and the losses along them."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from areaplan.engine.moves import MOVES, SECTORS, MoveLosses, move_losses, sector_moves
from tests.oracles import glide_twin as twin


def test_stencil():
    steps = [(move.row_step, move.col_step) for move in MOVES]
    assert len(steps) == 48
    assert sorted(steps) == sorted(twin.stencil())
    bearings = [move.bearing_deg_true for move in MOVES]
    assert bearings == sorted(bearings)
    assert bearings == pytest.approx([twin.bearing_deg(step) for step in steps])
    gaps = np.diff([*bearings, bearings[0] + 360.0])
    assert gaps.max() == pytest.approx(math.degrees(math.atan(0.25)))


def test_bearings_on_a_grid_whose_rows_go_south():
    bearing = {(m.row_step, m.col_step): m.bearing_deg_true for m in MOVES}
    assert bearing[-1, 0] == 0.0
    assert bearing[0, 1] == 90.0
    assert bearing[1, 0] == 180.0
    assert bearing[0, -1] == 270.0
    assert bearing[-1, 1] == pytest.approx(45.0)


@pytest.mark.parametrize("move", MOVES, ids=lambda move: f"{move.row_step},{move.col_step}")
def test_cells_under_a_move(move):
    """Against shapely: the squares that a sliding square meets with some area, and for how long."""
    found = {(c.row_step, c.col_step): c.share_until_left for c in move.crossed}
    assert found == pytest.approx(twin.cells_under((move.row_step, move.col_step)))


@pytest.mark.parametrize("move", MOVES, ids=lambda move: f"{move.row_step},{move.col_step}")
def test_cells_on_the_line_are_under_the_move(move):
    """Every cell that the line between the centres touches, even at a corner, is counted."""
    import shapely

    line = shapely.LineString([(0, 0), (move.col_step, move.row_step)])
    counted = {(c.row_step, c.col_step) for c in move.crossed} | {(move.row_step, move.col_step)}
    for row in range(-5, 6):
        for col in range(-5, 6):
            if shapely.box(col - 0.5, row - 0.5, col + 0.5, row + 0.5).intersects(line):
                assert (row, col) in counted


@pytest.mark.parametrize("sector", range(SECTORS))
def test_sectors(sector):
    moves = [MOVES[index] for index in sector_moves(sector)]
    steps = {(move.row_step, move.col_step) for move in moves}
    assert steps == {move for move in twin.stencil() if twin.in_cone(move, sector)}
    off = [(m.bearing_deg_true - 30.0 * sector + 180.0) % 360.0 - 180.0 for m in moves]
    # Every track within 15 degrees of the centre has a move on either side, in the cone.
    assert min(off) < -26.0
    assert max(off) > 26.0
    # Forward along one axis: what makes one ordered pass exact.
    assert any(
        all(sign * getattr(move, axis) >= 1 for move in moves)
        for sign in (1, -1)
        for axis in ("row_step", "col_step")
    )


def test_no_such_sector():
    with pytest.raises(ValueError, match="sector 12"):
        sector_moves(12)


@given(
    st.floats(15.0, 60.0),
    st.floats(1.0, 1.3),
    st.floats(4.0, 30.0),
    st.floats(0.0, 80.0),
    st.floats(0.0, 359.9),
)
@settings(deadline=None, max_examples=60)
def test_losses_against_the_quadratic(tas, factor, ratio, wind, wind_from):
    losses = move_losses((tas, tas * factor), ratio, wind, wind_from)
    for move, loss in zip(MOVES, losses.per_metre, strict=True):
        track = move.bearing_deg_true
        across = abs(wind * np.sin(np.radians(track - wind_from)))
        horizontal = np.cos(np.arctan(1.0 / ratio)) * np.array([tas, tas * factor])
        if np.isclose(horizontal, across, rtol=1e-9).any():
            continue  # the track can only just be flown: rounding decides
        slow, fast = (
            twin.loss_per_metre(track, speed, ratio, wind, wind_from)
            for speed in (tas, tas * factor)
        )
        # Where the wind only just lets the aircraft on, rounding decides; both are then huge.
        assert loss == pytest.approx(max(slow, fast), rel=1e-6) or min(loss, slow) > 1e3


def test_losses_refused():
    with pytest.raises(ValueError, match="48 values"):
        MoveLosses(np.ones(32))
    with pytest.raises(ValueError, match="48 values"):
        MoveLosses(np.full(48, np.nan))
    with pytest.raises(ValueError, match="glide ratio"):
        move_losses(30.0, 0.0, 0.0, 0.0)
