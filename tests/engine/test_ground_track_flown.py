"""The figures flown again from their bank alone by SciPy's ODE solver: a metre apart at most."""

import numpy as np
import pytest
from attrs import evolve
from hypothesis import given, settings

from areaplan.engine import vertical_figures as vertical
from areaplan.engine.constant_radius import SteadyFlight
from areaplan.engine.ground_track import Side
from areaplan.engine.steep_spiral import steep_spiral
from tests.engine.figure_cases import FIGURES, Conditions, conditions
from tests.oracles import point_mass

ONE_METRE_M = 1.0
HEADING_TOLERANCE_DEG = 0.1
HEIGHTS = vertical.Heights(60.0, 150.0)


def angles_between(one_deg, other_deg):
    return np.abs((one_deg - other_deg + 180.0) % 360.0 - 180.0)


def worst_of(track, tas_mps, wind):
    """Greatest distance (m) and angle (degrees) between a track and its bank flown again."""
    east, north, heading = point_mass.fly(
        track.time_s,
        track.bank_deg,
        np.broadcast_to(tas_mps, track.bank_deg.shape),
        wind.from_deg_true,
        wind.speed_mps,
        (track.east_m[0], track.north_m[0]),
        track.heading_deg_true[0],
    )
    apart = np.hypot(east - track.east_m, north - track.north_m)
    return apart.max(), angles_between(heading, track.heading_deg_true).max()


@pytest.mark.parametrize("name", FIGURES)
@given(case=conditions())
@settings(deadline=None, max_examples=30)
def test_the_bank_alone_flies_the_figure(name, case):
    track = FIGURES[name](case)
    metres, degrees = worst_of(track, case.tas, case.flight.wind)
    assert metres <= ONE_METRE_M
    assert degrees <= HEADING_TOLERANCE_DEG


def test_a_bank_without_the_crab_does_not_fly_it():
    """Banking by Vg^2 / (g R) alone leaves the circle: the check sees a wrong formula."""
    case = Conditions(46.3, 0.3, 200.0, 0.0, 500.0, Side.LEFT)
    track = FIGURES["point"](case)
    simple = -np.degrees(np.arctan(track.groundspeed_mps**2 / (point_mass.G * case.radius)))
    metres, _ = worst_of(evolve(track, bank_deg=simple), case.tas, case.flight.wind)
    assert metres > 20.0 * ONE_METRE_M


def own_airspeeds(figure, wind):
    """Airspeed that the track's groundspeed leaves when the wind is taken away."""
    track = figure.track
    ground = track.groundspeed_mps * np.exp(-1j * np.radians(track.track_deg_true))
    return np.abs(ground + wind.speed_mps * np.exp(-1j * np.radians(wind.from_deg_true)))


VERTICAL = {
    "steep turns": lambda c, w: vertical.steep_turns(
        c.tas, vertical.Entry(c.line, w), 45.0, c.side, HEIGHTS
    ),
    "stall": lambda c, w: vertical.stall(
        vertical.Speeds(c.tas, 0.6 * c.tas), vertical.Entry(c.line, w), 0.5, 8.0, HEIGHTS
    ),
    "stall in a turn": lambda c, w: vertical.stall(
        vertical.Speeds(c.tas, 0.6 * c.tas),
        vertical.Entry(c.line, w),
        0.5,
        8.0,
        HEIGHTS,
        bank_deg=20 * c.side.sign,
    ),
    "chandelle": lambda c, w: vertical.chandelle(
        vertical.Speeds(c.tas, 0.5 * c.tas), vertical.Entry(c.line, w), 30.0, c.side, 200.0
    ),
    "lazy eight": lambda c, w: vertical.lazy_eight(
        vertical.Speeds(c.tas, 0.6 * c.tas), vertical.Entry(c.line, w), 30.0, c.side, HEIGHTS
    ),
    "steep spiral": lambda c, w: steep_spiral(SteadyFlight(c.tas, w), 9.0, c.radius, c.side),
}


@pytest.mark.parametrize("name", VERTICAL)
@given(case=conditions())
@settings(deadline=None, max_examples=30)
def test_the_bank_alone_flies_the_vertical_figure(name, case):
    wind = case.flight.wind
    figure = VERTICAL[name](case, wind)
    airspeeds = own_airspeeds(figure, wind)
    metres, degrees = worst_of(figure.track, airspeeds, wind)
    assert metres <= ONE_METRE_M
    assert degrees <= HEADING_TOLERANCE_DEG
    assert airspeeds.max() == pytest.approx(case.tas)
