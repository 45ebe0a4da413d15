"""The limits of wind of every cell, as the map paints and tells them.

A ramp of our own, green to dark blue, so that nobody takes it for the counts of fields: the
lightness falls at every step for every kind of colour vision (the tests measure it).
"""

from __future__ import annotations

from typing import Final

import numpy as np
from attrs import frozen

from areaplan.grid import Int16Array
from areaplan.planning.limits_by_wind import NOT_IN_CALM, OUTSIDE, UNKNOWN_IN_CALM, WindLimits
from areaplan.planning.plan import Plan
from areaplan.render.map_choice import PAINTINGS, ChoicePainting, ChoiceStep
from areaplan.render.wind_text import tested_words
from areaplan.units import feet_text

KEY: Final = "wind"
_STEPS: Final = (
    ChoiceStep(25, "25 kt or more", "#CDEB9A", "#CDEB9A", "plain", "plain"),
    ChoiceStep(
        20, "20 to 24 kt", "#8FC787", "#10301C", "sparse", "wide hatching, rising to the right"
    ),
    ChoiceStep(15, "15 to 19 kt", "#57A48C", "#04150F", "level", "level lines"),
    ChoiceStep(
        10, "10 to 14 kt", "#347E88", "#FFFFFF", "counter", "wide hatching, falling to the right"
    ),
    ChoiceStep(0, "0 to 9 kt", "#2B536F", "#E6F2EC", "grid", "squared"),
    ChoiceStep(NOT_IN_CALM, "not even in calm", "#221C48", "#F0CFC4", "cross", "cross-hatched"),
)


@frozen(eq=False)
class PageLimits:
    """Limits of wind on a grid of the page.

    Attributes
    ----------
    altitude_amsl_ft, highest_kt : int
        As in `WindLimits`.
    least_kt : int16 array, shape (rows, columns)
        Knots: the least limit of the 16 directions; NOT_IN_CALM, UNKNOWN_IN_CALM or OUTSIDE where
        there is none.
    """

    altitude_amsl_ft: int
    highest_kt: int
    least_kt: Int16Array


def paintings_shown(wind: WindLimits | None) -> tuple[ChoicePainting, ...]:
    """What the map of a plan can be painted with besides the classes."""
    return PAINTINGS if wind is None else (*PAINTINGS, wind_painting(wind))


def wind_painting(limits: WindLimits) -> ChoicePainting:
    """The painting of these limits, with their altitude and the winds tested in its words."""
    at = f"at {feet_text(limits.altitude_amsl_ft)} AMSL"
    return ChoicePainting(
        KEY,
        f"Strongest wind that keeps a field, {at}",
        "Strongest wind, from whichever direction tested, with which a field stays within gliding "
        f"distance, {at}",
        f"The least limit of the 16 directions, {at} only, whatever altitude is chosen above. "
        f"Steady winds, the same at all heights, tested {tested_words(limits)}. Only inside the "
        "area. Nothing here says whether a place is legal.",
        _STEPS,
    )


def limits_on_grid(limits: WindLimits, plan: Plan) -> PageLimits:
    """Lay the limits over the whole grid of a plan.

    Parameters
    ----------
    limits : WindLimits
        Found on the grid of the plan.
    plan : Plan

    Raises
    ------
    ValueError
        The window of the limits does not lie in the plan's grid.

    Notes
    -----
    A cell of the area that the limits do not cover is unknown.
    """
    least_kt = np.where(plan.cells.is_in_area, UNKNOWN_IN_CALM, OUTSIDE).astype(np.int16)
    here = least_kt[limits.window.slices]
    found = limits.least_of_cells_kt
    if here.shape != found.shape:
        raise ValueError(f"limits of wind of shape {found.shape}; the plan has {here.shape} there")
    least_kt[limits.window.slices] = np.where(found == OUTSIDE, here, found)
    return PageLimits(limits.altitude_amsl_ft, limits.highest_kt, least_kt)
