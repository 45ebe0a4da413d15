"""Shares, block and verdict against counting every cell at every foot."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from areaplan.planning.judging import (
    altitude_table,
    best_altitude,
    find_block,
    overall_verdict,
    tally,
)
from areaplan.planning.plan import (
    NO_BAND_FT,
    NO_LIMIT_FT,
    NOBODY,
    UNKNOWN_FT,
    UNREACHABLE_FT,
    Block,
    CellClass,
    Cells,
    Shares,
    Verdict,
)

SHAPE = (4, 5)


def make_cells(bands, required, unknown=None, inside=None, terrain=0):
    """Cells from per-cell lists; bands of shape (slots, 2, rows, cols)."""
    bands = np.asarray(bands, dtype=np.int16)
    shape = bands.shape[2:]
    nobody = np.full(shape, NOBODY, dtype=np.int32)
    return Cells(
        terrain_amsl_ft=np.full(shape, terrain, dtype=np.int16),
        legal_floor_amsl_ft=bands[0, 0],
        legal_floor_binder=nobody,
        bands_amsl_ft=bands,
        bands_binder=np.full(bands.shape, NOBODY, dtype=np.int32),
        is_legal_unknown=np.zeros(shape, bool) if unknown is None else np.asarray(unknown),
        glide_required_amsl_ft=np.asarray(required, dtype=np.int16),
        glide_binder=nobody,
        sector_amsl_ft=np.zeros((12, *shape), dtype=np.int16),
        sector_field=np.full((12, *shape), NOBODY, dtype=np.int16),
        field=np.full(shape, NOBODY, dtype=np.int16),
        is_in_area=np.ones(shape, bool) if inside is None else np.asarray(inside),
    )


@st.composite
def some_cells(draw):
    feet = st.integers(0, 60)
    slots = draw(st.integers(1, 3))
    bands = np.full((slots, 2, *SHAPE), NO_BAND_FT, dtype=np.int16)
    unknown = np.zeros(SHAPE, bool)
    required = np.zeros(SHAPE, dtype=np.int16)
    for place in np.ndindex(SHAPE):
        edges = sorted(draw(st.lists(feet, min_size=2 * slots, max_size=2 * slots, unique=True)))
        for slot in range(draw(st.integers(0, slots))):
            bands[(slot, 0, *place)], bands[(slot, 1, *place)] = edges[2 * slot : 2 * slot + 2]
            if slot == slots - 1 and draw(st.booleans()):
                bands[(slot, 1, *place)] = NO_LIMIT_FT
        required[place] = draw(st.one_of(feet, st.sampled_from([UNKNOWN_FT, UNREACHABLE_FT])))
        if draw(st.integers(0, 9)) == 0:
            unknown[place] = True
            bands[(slice(None), slice(None), *place)] = NO_BAND_FT
    inside = np.array(draw(st.lists(st.booleans(), min_size=20, max_size=20))).reshape(SHAPE)
    inside[0, 0] = True
    return make_cells(bands, required, unknown, inside)


@settings(deadline=None, max_examples=150)
@given(some_cells(), st.integers(-5, 70))
def test_tally_counts_what_the_classes_say(cells, altitude):
    shares = tally(cells).at(altitude)
    inside = cells.is_in_area
    classes = cells.classes(altitude)[inside]
    assert shares.legal_share == cells.is_legal(altitude)[inside].mean()
    assert shares.safe_share == cells.is_safe(altitude)[inside].mean()
    assert shares.legal_and_safe_share == (classes == CellClass.LEGAL_WITH_FIELD).mean()
    assert shares.unknown_share == (classes == CellClass.UNKNOWN).mean()


@settings(deadline=None, max_examples=150)
@given(some_cells())
def test_block_is_whole_inside_and_not_beyond(cells):
    tallies = tally(cells)
    block = find_block(tallies, [30])

    def is_whole(altitude):
        classes = cells.classes(altitude)[cells.is_in_area]
        return bool((classes == CellClass.LEGAL_WITH_FIELD).all())

    if block is None:
        assert not any(is_whole(altitude) for altitude in range(-2, 1030))
        return
    ceiling = 1100 if block.ceiling_amsl_ft is None else block.ceiling_amsl_ft
    assert all(is_whole(altitude) for altitude in range(block.floor_amsl_ft, ceiling + 1))
    assert not is_whole(block.floor_amsl_ft - 1)
    if block.ceiling_amsl_ft is not None:
        assert not is_whole(block.ceiling_amsl_ft + 1)


def one_cell(bands, required=0):
    edges = np.array(bands, dtype=np.int16).reshape(len(bands), 2, 1, 1)
    return make_cells(edges, [[required]])


def test_block_that_holds_the_planned_altitude_wins_over_a_thicker_one():
    cells = one_cell([(100, 900), (1000, 1100)])
    assert find_block(tally(cells), [1050]) == Block(1000, 1100)
    assert find_block(tally(cells), [950]) == Block(100, 900)


def test_block_without_a_ceiling_in_the_data_says_so():
    assert find_block(tally(one_cell([(100, NO_LIMIT_FT)], 250)), [300]) == Block(250, None)


def test_a_block_far_above_the_plan_is_no_answer():
    assert find_block(tally(one_cell([(9000, 9500)])), [2000]) is None


def test_unreachable_is_never_safe_however_high():
    tallies = tally(one_cell([(0, NO_LIMIT_FT)], UNREACHABLE_FT))
    assert tallies.at(32766).safe_share == 0.0
    assert tallies.at(32766).legal_and_safe_share == 0.0


def test_best_altitude_is_nearest_to_the_plan_among_equals():
    tallies = tally(one_cell([(100, 200), (600, 700)]))
    assert best_altitude(tallies, [0, 1000], [640]).altitude_amsl_ft == 640
    assert best_altitude(tallies, [0, 1000], [250]).altitude_amsl_ft == 200


def test_table_runs_from_the_lowest_ground_past_the_plan():
    cells = make_cells(np.full((1, 2, 1, 1), 0), [[0]], terrain=955)
    table = altitude_table(cells, [2000, 2800])
    assert table[0] == 1000
    assert table[-1] == 3800
    assert set(np.diff(table)) == {100}


def test_no_cell_in_the_area_is_refused():
    cells = make_cells(np.full((1, 2, 1, 1), 0), [[0]], inside=[[False]])
    with pytest.raises(ValueError, match="no cell"):
        tally(cells)


@pytest.mark.parametrize(
    ("rows", "verdict"),
    [
        ([(1.0, 0.0), (1.0, 0.0)], Verdict.MET),
        ([(1.0, 0.0), (0.999, 0.0)], Verdict.NOT_MET),
        ([(0.9, 0.1), (0.5, 0.1)], Verdict.UNKNOWN),
    ],
)
def test_overall_verdict(rows, verdict):
    shares = [Shares(1000, whole, whole, whole, unknown) for whole, unknown in rows]
    assert overall_verdict(shares) is verdict
