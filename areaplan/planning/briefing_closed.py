"""What closes part of the area at an altitude, how much of it, and where most of that lies."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from typing import Final

import numpy as np
from attrs import frozen

from areaplan.grid import BoolArray
from areaplan.planning.briefing_spots import Spot, Spotter, largest_patches
from areaplan.planning.manoeuvre_cells import AreaCells, Feet, closing_binder
from areaplan.planning.plan import (
    NO_BAND_FT,
    NO_LIMIT_FT,
    NOBODY,
    UNKNOWN_FT,
    UNREACHABLE_FT,
    WHATEVER_THE_HEADING,
    Binder,
    Finding,
    Limit,
    Plan,
    Verdict,
)
from areaplan.rules.asking import Severity

# What is told of patches; conventions of ours.
_MOST_PATCHES: Final = 2
_LEAST_PATCH: Final = 0.2  # of the cells closed, for a second one


@frozen
class Patch:
    """A connected piece of the cells that something closes.

    Attributes
    ----------
    spot : Spot
        Its centroid.
    share : float
        Of the cells that are closed, above 0 to 1.
    """

    spot: Spot
    share: float


@frozen
class Closure:
    """One rule that closes part of the area at an altitude, or the want of a field there.

    Attributes
    ----------
    title, rule : str
        Of the rule; "" where the data name none.
    is_glide : bool
        No field is within gliding distance, whatever the heading.
    features : tuple of str
        What it is that closes, the one with the most cells first; empty for the glide.
    share : float
        Of the area, above 0 to 1. Shares of several closures may overlap.
    from_amsl_ft : int or None
        Lowest altitude from which some of those cells are closed without a break up to the altitude
        asked; None where none of them is open lower down.
    opens_amsl_ft : int or None
        The altitude above at which the last of them opens again; None where one never does, as far
        as the data go.
    patches : tuple of Patch
        The largest of these cells, the largest first; at most `_MOST_PATCHES`.
    """

    title: str
    rule: str
    is_glide: bool
    features: tuple[str, ...]
    share: float
    from_amsl_ft: int | None
    opens_amsl_ft: int | None
    patches: tuple[Patch, ...]


@frozen
class Failing:
    """A rule of law or policy that is not met everywhere.

    Attributes
    ----------
    finding : Finding
    spot : Spot or None
        Where the margin is the smallest; None for what has no place.
    """

    finding: Finding
    spot: Spot | None


def failing(plan: Plan, spotter: Spotter) -> tuple[Failing, ...]:
    """The findings of law and policy that are not met, in the plan's order."""
    rows = []
    for finding in plan.findings:
        if finding.verdict is Verdict.MET or finding.limit.severity is Severity.ADVISORY:
            continue
        spot = None
        if finding.lat is not None and finding.lon is not None:
            spot = spotter.spot(finding.lat, finding.lon)
        rows.append(Failing(finding, spot))
    return tuple(rows)


def closures(plan: Plan, altitude_amsl_ft: int, spotter: Spotter) -> tuple[Closure, ...]:
    """What closes cells of the area to level flight, the greatest share first.

    Cells of which something is unknown are left out: they are no part of any share here.

    Parameters
    ----------
    plan : Plan
    altitude_amsl_ft : int
    spotter : Spotter
    """
    cells = AreaCells.of(plan)
    found = []
    for binders, is_closed, asks_glide in _groups(plan, cells, altitude_amsl_ft):
        limit = binders[0].limit
        is_glide = binders[0].feature == WHATEVER_THE_HEADING
        over_grid = np.zeros(plan.grid.shape, dtype=np.bool_)
        over_grid[plan.cells.is_in_area] = is_closed
        low, high = (
            _glide_edges(cells, is_closed)
            if asks_glide
            else _edges(cells, altitude_amsl_ft, is_closed)
        )
        found.append(
            Closure(
                title=limit.title,
                rule=limit.rule,
                is_glide=is_glide,
                features=() if is_glide else tuple(dict.fromkeys(one.feature for one in binders)),
                share=int(is_closed.sum()) / cells.count,
                from_amsl_ft=low,
                opens_amsl_ft=high,
                patches=_patches(plan, over_grid, spotter),
            )
        )
    return tuple(sorted(found, key=lambda row: (-row.share, row.rule)))


def _patches(plan: Plan, is_closed: BoolArray, spotter: Spotter) -> tuple[Patch, ...]:
    found = []
    for middle, share in largest_patches(
        is_closed, plan.grid, least_share=_LEAST_PATCH, most=_MOST_PATCHES
    ):
        lon, lat = plan.frame.to_lonlat(middle.x, middle.y)
        found.append(Patch(spotter.spot(float(lat), float(lon)), share))
    return tuple(found)


_Groups = Iterator[tuple[tuple[Binder, ...], BoolArray, bool]]


def _groups(plan: Plan, cells: AreaCells, altitude_ft: int) -> _Groups:
    """The cells that each rule closes, with its binders, that of the most cells first.

    The last of the three is whether it is the glide that asks for more height there.
    """
    known = ~cells.is_silent
    by, is_closed = closing_binder(cells, altitude_ft, altitude_ft)
    for binders, mask in _by_rule(plan, by, is_closed & known):
        yield binders, mask, False
    glide_by = plan.cells.glide_binder[plan.cells.is_in_area].astype(np.int64)
    for binders, mask in _by_rule(plan, glide_by, known & (altitude_ft < cells.required_ft)):
        yield binders, mask, True


def _by_rule(
    plan: Plan, by: Feet, is_closed: BoolArray
) -> Iterator[tuple[tuple[Binder, ...], BoolArray]]:
    counts = Counter(by[is_closed].tolist())
    rules: dict[str, list[int]] = {}
    for index, _ in sorted(counts.items(), key=lambda row: (-row[1], row[0])):
        rules.setdefault(_binder(plan, index).limit.rule, []).append(index)
    for indices in rules.values():
        yield tuple(_binder(plan, one) for one in indices), is_closed & np.isin(by, indices)


def _binder(plan: Plan, index: int) -> Binder:
    return _NO_BAND if index == NOBODY else plan.binders[index]


_NO_BAND: Final = Binder(
    Limit(
        rule="areaplan-no-open-band",
        title="No altitude is open",
        severity=Severity.LAW,
        quote="",
        document="all rules and volumes together; no sentence of its own",
    ),
    "rules and airspace together",
)


def _edges(cells: AreaCells, altitude_ft: int, is_closed: BoolArray) -> tuple[int | None, ...]:
    """From where up cells are closed, at the lowest, and where the last of them opens again."""
    floor, ceiling = cells.bands_ft[:, 0][:, is_closed], cells.bands_ft[:, 1][:, is_closed]
    is_band = floor != NO_BAND_FT
    below = np.where(is_band & (ceiling < altitude_ft), ceiling, NO_LIMIT_FT).astype(np.int64)
    # The band next below is the highest of those below; then the lowest over all cells.
    highest_below = np.where(below == NO_LIMIT_FT, UNKNOWN_FT, below).max(axis=0)
    has_below = highest_below != UNKNOWN_FT
    above = np.where(is_band & (floor > altitude_ft), floor, NO_LIMIT_FT).min(axis=0)
    return (
        int(highest_below[has_below].min()) + 1 if has_below.any() else None,
        int(above.max()) if above.max() != NO_LIMIT_FT else None,
    )


def _glide_edges(cells: AreaCells, is_short: BoolArray) -> tuple[int | None, ...]:
    highest = int(cells.required_ft[is_short].max())
    return None, None if highest == UNREACHABLE_FT else highest
