"""What a briefing counts over an area, counted again cell by cell in plain Python.

Independent of `planning/briefing_*`: from the plan's arrays alone, with loops and flood filling.
"""

from __future__ import annotations

from areaplan.planning.plan import NO_BAND_FT, NOBODY, UNKNOWN_FT, UNREACHABLE_FT


def area_cells(plan):
    rows, cols = plan.grid.shape
    return [(r, c) for r in range(rows) for c in range(cols) if plan.cells.is_in_area[r, c]]


def is_open(plan, row, col, altitude_ft):
    """Whether some open band of a cell holds an altitude."""
    return any(
        slot[0, row, col] != NO_BAND_FT and slot[0, row, col] <= altitude_ft <= slot[1, row, col]
        for slot in plan.cells.bands_amsl_ft
    )


def closed_cells(plan, altitude_ft):
    """Cells of the area that no band opens, and those from which no field is reached."""
    known = [
        (r, c)
        for r, c in area_cells(plan)
        if not plan.cells.is_legal_unknown[r, c]
        and plan.cells.glide_required_amsl_ft[r, c] != UNKNOWN_FT
    ]
    illegal = {cell for cell in known if not is_open(plan, *cell, altitude_ft)}
    short = {cell for cell in known if plan.cells.glide_required_amsl_ft[cell] > altitude_ft}
    return illegal, short


def patches(cells):
    """Connected pieces of cells, eight neighbours, the largest first."""
    left, found = set(cells), []
    while left:
        edge = [left.pop()]
        piece = set(edge)
        while edge:
            row, col = edge.pop()
            for beside in ((row + up, col + right) for up in (-1, 0, 1) for right in (-1, 0, 1)):
                if beside in left:
                    left.remove(beside)
                    piece.add(beside)
                    edge.append(beside)
        found.append(piece)
    return sorted(found, key=len, reverse=True)


def middle_m(plan, cells):
    """Mean of the centres of cells, local metres."""
    x_m, y_m = plan.grid.centre_x_m(), plan.grid.centre_y_m()
    return (
        sum(x_m[c] for _, c in cells) / len(cells),
        sum(y_m[r] for r, _ in cells) / len(cells),
    )


def served(plan, altitude_ft):
    """For each field by name, the cells of the area with a sector that leads to it."""
    found = {}
    for row, col in area_cells(plan):
        for sector in range(12):
            needed = plan.cells.sector_amsl_ft[sector, row, col]
            index = plan.cells.sector_field[sector, row, col]
            if needed in (UNKNOWN_FT, UNREACHABLE_FT) or index == NOBODY or needed > altitude_ft:
                continue
            found.setdefault(plan.fields[index].name, set()).add((row, col))
    return found
