"""Fields as measured: what each can take, in which direction, and what speaks against it."""

from __future__ import annotations

from attrs import frozen

from areaplan.engine.strip_table import Strips
from areaplan.sources.layers import LandingField


@frozen
class FiveS:
    """The trade's five looks at a field, each in a few words."""

    size: str
    shape: str
    surface: str
    surrounds: str
    slope: str


@frozen(eq=False)
class MeasuredField:
    """One field with its strips.

    Attributes
    ----------
    field : LandingField
        As drawn, confirmed or proposed.
    is_candidate : bool
        True where land cover proposes it and nobody has confirmed it.
    counts : bool
        Whether the glide may lead to it.
    why_not : tuple of str
        What speaks against it, the gravest first; empty where it counts.
    strips : Strips
    needed_m : tuple of float
        Landing distance needed for each of the 36 directions, corrected for slope and wind; metres.
    is_enough : tuple of bool
        For each direction, whether the usable length is at least the needed one, within the slope
        and roughness limits.
    best_direction_deg_true : int or None
        The direction with the greatest usable length over needed length in the wind; None where no
        direction is enough.
    area_m2 : float
    five_s : FiveS
    """

    field: LandingField
    is_candidate: bool
    counts: bool
    why_not: tuple[str, ...]
    strips: Strips
    needed_m: tuple[float, ...]
    is_enough: tuple[bool, ...]
    best_direction_deg_true: int | None
    area_m2: float
    five_s: FiveS
