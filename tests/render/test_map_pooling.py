"""Cutting and coarsening never make a place look better than its worst cell."""

import attrs
import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from areaplan.grid import Grid
from areaplan.planning.plan import (
    NO_BAND_FT,
    NO_LIMIT_FT,
    NOBODY,
    UNKNOWN_FT,
    UNREACHABLE_FT,
    CellClass,
    Cells,
)
from areaplan.render.map_pooling import box_of_area, coarsened, cut

ALTITUDES_FT = range(-20, 120, 7)


@st.composite
def cells_and_grid(draw):
    """Small grids with every sentinel, up to three bands a cell."""
    rows, cols = draw(st.integers(1, 7)), draw(st.integers(1, 7))
    generator = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    grid = Grid(-10.0, 25.0, 5.0, rows, cols)

    def feet(shape, *, unknown=0.1, unreachable=0.1):
        values = generator.integers(-10, 100, shape)
        values[generator.random(shape) < unreachable] = UNREACHABLE_FT
        values[generator.random(shape) < unknown] = UNKNOWN_FT
        return values.astype(np.int16)

    is_unknown = generator.random(grid.shape) < 0.1
    bands = np.full((3, 2, rows, cols), NO_BAND_FT, dtype=np.int16)
    binder = np.full((3, 2, rows, cols), NOBODY, dtype=np.int32)
    for row, col in np.argwhere(~is_unknown):
        count = int(generator.integers(0, 4))
        edges = np.sort(generator.choice(np.arange(-10, 110), 2 * count, replace=False))
        for slot in range(count):
            bands[slot, :, row, col] = edges[2 * slot : 2 * slot + 2]
            binder[slot, :, row, col] = generator.integers(0, 9, 2)
        if count and generator.random() < 0.5:
            bands[count - 1, 1, row, col] = NO_LIMIT_FT
            binder[count - 1, 1, row, col] = NOBODY
    floor = feet(grid.shape, unknown=0.0)
    floor[is_unknown] = UNKNOWN_FT
    sector = feet((12, rows, cols), unknown=0.02)
    return grid, Cells(
        terrain_amsl_ft=feet(grid.shape, unreachable=0.0),
        legal_floor_amsl_ft=floor,
        legal_floor_binder=generator.integers(0, 9, grid.shape).astype(np.int32),
        bands_amsl_ft=bands,
        bands_binder=binder,
        is_legal_unknown=is_unknown,
        glide_required_amsl_ft=feet(grid.shape),
        glide_binder=generator.integers(0, 9, grid.shape).astype(np.int32),
        sector_amsl_ft=sector,
        sector_field=generator.integers(0, 5, (12, rows, cols)).astype(np.int16),
        field=generator.integers(0, 5, grid.shape).astype(np.int16),
        is_in_area=generator.random(grid.shape) < 0.5,
    )


def _blocks(grid, factor):
    for row in range(-(-grid.rows // factor)):
        for col in range(-(-grid.cols // factor)):
            rows = slice(row * factor, min(grid.rows, (row + 1) * factor))
            cols = slice(col * factor, min(grid.cols, (col + 1) * factor))
            is_whole = (row + 1) * factor <= grid.rows and (col + 1) * factor <= grid.cols
            yield row, col, rows, cols, is_whole


@given(made=cells_and_grid(), factor=st.integers(2, 4))
@settings(deadline=None, max_examples=60)
def test_a_block_is_exactly_what_all_its_cells_allow(made, factor):
    grid, cells = made
    coarse_grid, coarse = coarsened(grid, cells, factor)
    for altitude in ALTITUDES_FT:
        legal, safe = cells.is_legal(altitude), cells.is_safe(altitude)
        classes = cells.classes(altitude)
        coarse_legal, coarse_safe = coarse.is_legal(altitude), coarse.is_safe(altitude)
        coarse_classes = coarse.classes(altitude)
        for row, col, rows, cols, is_whole in _blocks(grid, factor):
            assert coarse_legal[row, col] == (is_whole and legal[rows, cols].all())
            assert coarse_safe[row, col] == (is_whole and safe[rows, cols].all())
            has_unknown = (classes[rows, cols] == CellClass.UNKNOWN).any() or not is_whole
            assert (coarse_classes[row, col] == CellClass.UNKNOWN) == has_unknown
    assert coarse_grid.cell_m == grid.cell_m * factor


@given(made=cells_and_grid(), factor=st.integers(2, 4))
@settings(deadline=None, max_examples=60)
def test_highest_values_carry_the_label_of_their_own_cell(made, factor):
    grid, cells = made
    _, coarse = coarsened(grid, cells, factor)
    for row, col, rows, cols, is_whole in _blocks(grid, factor):
        for name, label in (
            ("legal_floor_amsl_ft", "legal_floor_binder"),
            ("glide_required_amsl_ft", "glide_binder"),
        ):
            fine = np.atleast_3d(
                getattr(cells, name)[..., rows, cols].reshape(
                    -1, rows.stop - rows.start, cols.stop - cols.start
                )
            )
            fine_label = getattr(cells, label)[..., rows, cols].reshape(fine.shape)
            got = np.atleast_1d(getattr(coarse, name)[..., row, col])
            got_label = np.atleast_1d(getattr(coarse, label)[..., row, col])
            for layer in range(len(fine)):
                if not is_whole or (fine[layer] == UNKNOWN_FT).any():
                    assert (got[layer], got_label[layer]) == (UNKNOWN_FT, NOBODY)
                else:
                    assert got[layer] == fine[layer].max()
                    assert got_label[layer] in fine_label[layer][fine[layer] == got[layer]]
        assert coarse.is_in_area[row, col] == cells.is_in_area[rows, cols].any()


@given(made=cells_and_grid(), factor=st.integers(2, 4))
@settings(deadline=None, max_examples=60)
def test_bands_stay_apart_in_order_and_keep_a_binder_of_the_block(made, factor):
    grid, cells = made
    _, coarse = coarsened(grid, cells, factor)
    for row, col, rows, cols, _ in _blocks(grid, factor):
        edges = coarse.bands_amsl_ft[:, :, row, col].astype(int)
        is_used = edges[:, 0] != NO_BAND_FT
        assert not (np.diff(is_used.astype(int)) > 0).any(), "used slots come first"
        flat = edges[is_used].ravel()
        assert (np.diff(flat) >= 0).all()
        assert (flat[2::2] > flat[1:-1:2]).all(), "bands do not touch"
        for slot in np.flatnonzero(is_used):
            for edge in (0, 1):
                value, who = edges[slot, edge], coarse.bands_binder[slot, edge, row, col]
                fine = cells.bands_amsl_ft[:, edge, rows, cols]
                assert who in cells.bands_binder[:, edge, rows, cols][fine == value]


@given(made=cells_and_grid(), factor=st.integers(2, 4))
@settings(deadline=None, max_examples=40)
def test_the_field_is_that_of_the_lowest_sector(made, factor):
    grid, cells = made
    _, coarse = coarsened(grid, cells, factor)
    for row, col, rows, cols, _ in _blocks(grid, factor):
        feet = coarse.sector_amsl_ft[:, row, col].astype(int)
        usable = [f for f in feet if f not in (UNKNOWN_FT, UNREACHABLE_FT)]
        got = coarse.field[row, col]
        if not usable:
            assert got == NOBODY
        else:
            fine = cells.sector_amsl_ft[:, rows, cols] == min(usable)
            fine[feet != min(usable)] = False
            assert got in cells.sector_field[:, rows, cols][fine]


@given(made=cells_and_grid(), factor=st.integers(2, 4))
@settings(deadline=None, max_examples=60)
def test_a_block_never_offers_more_choice_than_any_of_its_cells(made, factor):
    """Sectors in reach and different fields among them, counted one cell at a time."""
    grid, cells = made
    _, coarse = coarsened(grid, cells, factor)
    for altitude in ALTITUDES_FT:
        for row, col, rows, cols, is_whole in _blocks(grid, factor):
            sectors, fields = _choice(coarse, altitude, row, col)
            if not is_whole:
                assert (sectors, fields) == (0, 0)
                continue
            for r in range(rows.start, rows.stop):
                for c in range(cols.start, cols.stop):
                    fine_sectors, fine_fields = _choice(cells, altitude, r, c)
                    assert sectors <= fine_sectors
                    assert fields <= fine_fields


def _choice(cells, altitude, row, col):
    feet = cells.sector_amsl_ft[:, row, col].tolist()
    names = cells.sector_field[:, row, col].tolist()
    reached = [
        name
        for height, name in zip(feet, names, strict=True)
        if height not in (UNKNOWN_FT, UNREACHABLE_FT) and height <= altitude
    ]
    return len(reached), len(set(reached))


def test_cut_keeps_values_and_places():
    grid, cells = _plain(20, 30)
    smaller, part = cut(grid, cells, slice(3, 11), slice(7, 28))
    assert smaller.shape == part.terrain_amsl_ft.shape == (8, 21)
    for row, col in ((0, 0), (7, 20), (4, 9)):
        x_m, y_m = smaller.centre_x_m()[col], smaller.centre_y_m()[row]
        assert grid.cell_of(x_m, y_m) == (row + 3, col + 7)
        assert part.terrain_amsl_ft[row, col] == cells.terrain_amsl_ft[row + 3, col + 7]
    assert part.sector_amsl_ft.shape == (12, 8, 21)
    assert part.bands_amsl_ft.shape == (1, 2, 8, 21)


def test_box_holds_the_area_and_its_margin():
    grid, cells = _plain(40, 50)
    inside = np.zeros(grid.shape, dtype=bool)
    inside[10:15, 45:48] = True
    rows, cols = box_of_area(grid, inside, 3 * grid.cell_m)
    assert (rows, cols) == (slice(7, 18), slice(42, 50))
    assert attrs.asdict(cells)["is_in_area"].shape == grid.shape


def _plain(rows, cols):
    generator = np.random.default_rng(1)
    grid = Grid(-100.0, 300.0, 5.0, rows, cols)

    def feet(*shape):
        return generator.integers(0, 900, (*shape, rows, cols)).astype(np.int16)

    return grid, Cells(
        terrain_amsl_ft=feet(),
        legal_floor_amsl_ft=feet(),
        legal_floor_binder=feet().astype(np.int32),
        bands_amsl_ft=feet(1, 2),
        bands_binder=feet(1, 2).astype(np.int32),
        is_legal_unknown=feet() > 800,
        glide_required_amsl_ft=feet(),
        glide_binder=feet().astype(np.int32),
        sector_amsl_ft=feet(12),
        sector_field=feet(12),
        field=feet(),
        is_in_area=feet() > 400,
    )
