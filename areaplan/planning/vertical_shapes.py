"""The figures that use height as flown in a project's aircraft and winds."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from attrs import frozen

from areaplan.engine.constant_radius import SteadyFlight, least_radius_m
from areaplan.engine.flight import turn_radius
from areaplan.engine.ground_track import Side
from areaplan.engine.steep_spiral import steep_spiral
from areaplan.engine.vertical_figures import (
    Entry,
    Heights,
    Speeds,
    VerticalFigure,
    chandelle,
    lazy_eight,
    stall,
    steep_turns,
)
from areaplan.planning.project import Aircraft
from areaplan.rules.vertical_asked import VerticalAsked, VerticalKind
from areaplan.units import Wind

SIDES: Final = (Side.LEFT, Side.RIGHT)


@frozen(eq=False)
class VerticalShape:
    """A figure entered on one heading and flown to one side, in each wind that may blow.

    Attributes
    ----------
    heading_deg_true : float
        At the entry.
    side : Side
        Of the first turn.
    radius_m : float
        Of its steepest turn: through the air, or over the ground for the steep spiral.
    flown : tuple of VerticalFigure
        One for each wind, the one at the ground first.
    """

    heading_deg_true: float
    side: Side
    radius_m: float
    flown: tuple[VerticalFigure, ...]


def vertical_shapes(
    asked: VerticalAsked,
    aircraft: Aircraft,
    faster: float,
    winds: tuple[Wind, ...],
    heights: Heights,
    step_m: float,
) -> Iterator[VerticalShape]:
    """Fly a figure on every heading at which it may be entered, to both sides.

    Parameters
    ----------
    asked : VerticalAsked
    aircraft : Aircraft
    faster : float
        True over calibrated airspeed at the highest altitude considered.
    winds : tuple of Wind
        Headings at the entry go by the first.
    heights : Heights
        What the manoeuvre's tables say that it uses.
    step_m : float
        Between samples, metres.

    Raises
    ------
    ValueError
        A wind as fast as the aircraft, or a stall above the speed at the entry.
    """
    for off_deg in asked.entry.off_wind_deg:
        heading_deg = (winds[0].from_deg_true + off_deg) % 360.0
        for side in SIDES:
            rows = [
                _fly(asked, aircraft, faster, wind, heading_deg, side, heights, step_m)
                for wind in winds
            ]
            radius_m = max(radius for radius, _ in rows)
            yield VerticalShape(heading_deg, side, radius_m, tuple(figure for _, figure in rows))


def _fly(
    asked: VerticalAsked,
    aircraft: Aircraft,
    faster: float,
    wind: Wind,
    heading_deg: float,
    side: Side,
    heights: Heights,
    step_m: float,
) -> tuple[float, VerticalFigure]:
    bank, entry_mps = asked.bank_deg, faster * aircraft.manoeuvre_speed_mps
    if asked.kind is VerticalKind.STEEP_SPIRAL:
        flight = SteadyFlight(faster * aircraft.best_glide_speed_mps, wind)
        ground_m = float(least_radius_m(flight.tas_mps, wind.speed_mps, bank))
        ratio = aircraft.glide_ratio_used
        return ground_m, steep_spiral(flight, ratio, ground_m, side, asked.turns, step_m)
    radius_m = float(turn_radius(entry_mps, bank))
    entry = Entry(heading_deg, wind, step_m)
    if asked.kind is VerticalKind.STEEP_TURNS:
        return radius_m, steep_turns(entry_mps, entry, bank, side, heights, asked.turns)
    least_mps = faster * asked.slowest_over_stall * aircraft.stall_speed_mps
    speeds = Speeds(entry_mps, min(least_mps, entry_mps))
    if asked.kind is VerticalKind.CHANDELLE:
        return radius_m, chandelle(speeds, entry, bank, side, heights.gained_m)
    if asked.kind is VerticalKind.LAZY_EIGHT:
        return radius_m, lazy_eight(speeds, entry, bank, side, heights)
    stalled_bank = bank * side.sign
    return radius_m, stall(
        speeds, entry, asked.slowing_mps2, asked.recovery_s, heights, bank_deg=stalled_bank
    )
