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
        Landing distance needed for each of the 36 directions, corrected for slope, wind and
        density altitude; metres.
    crosswind_mps : tuple of float
        Across each direction, from either side.
    is_enough : tuple of bool
        For each direction, whether the usable length is at least the needed one, within the slope,
        roughness and crosswind limits.
    best_direction_deg_true : int or None
        The direction with the greatest usable length over needed length in the wind; None where no
        direction is enough.
    area_m2 : float
        As drawn.
    density_altitude_m : float
        Of its highest ground; NaN where that is unknown.
    across : tuple of (str, str)
        What runs through it, so that no strip crosses it: the kind, such as "road", and the name.
    nearest_solid : str
        The wire, structure or obstacle nearest to the strip that speaks for the field, of those
        that stand near enough to matter; "" where there is none.
    nearest_solid_m : float
        How far it is from the strip, where it may stand nearest; NaN where there is none.
    five_s : FiveS
    """

    field: LandingField
    is_candidate: bool
    counts: bool
    why_not: tuple[str, ...]
    strips: Strips
    needed_m: tuple[float, ...]
    crosswind_mps: tuple[float, ...]
    is_enough: tuple[bool, ...]
    best_direction_deg_true: int | None
    area_m2: float
    density_altitude_m: float
    across: tuple[tuple[str, str], ...]
    nearest_solid: str
    nearest_solid_m: float
    five_s: FiveS
