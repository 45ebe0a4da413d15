"""What is asked of a figure where it is laid out, against the published words."""

import math

import numpy as np
import shapely

from areaplan.engine.constant_radius import SteadyFlight
from areaplan.engine.pylon_eights import eights_on_pylons
from areaplan.planning.ground_reference import Reference
from areaplan.planning.site_layouts import lay_out
from areaplan.rules.figures_asked import builtin_figures
from areaplan.sources.layers import ReferenceKind
from areaplan.units import parse_wind


def test_both_straights_of_an_eight_on_pylons_last_3_to_5_seconds():
    """Test standard for eights on pylons, as a school's page quotes it: 3 to 5 s between turns."""
    (figure,) = builtin_figures().named(["eights-on-pylons"])
    assert (figure.straight_least_s, figure.straight_most_s) == (3.0, 5.0)
    flight = SteadyFlight(46.0, parse_wind("360/20 kt"))
    found = 0
    for direction_deg in (60.0, 70.0, 80.0, 90.0):
        bearing = math.radians(direction_deg)
        ahead = np.array([math.sin(bearing), math.cos(bearing)])
        for apart_m in range(400, 1500, 25):
            pair = Reference(
                "two towers",
                ReferenceKind.PAIR,
                shapely.MultiPoint([-0.5 * apart_m * ahead, 0.5 * apart_m * ahead]),
                (),
                direction_deg,
                float(apart_m),
            )
            for layout in lay_out(figure, [pair], flight):
                side, first_s = layout.shape.side, figure.straight_s
                eight = eights_on_pylons(flight, direction_deg, apart_m, first_s, side)
                assert all(3.0 <= seconds <= 5.0 for seconds in eight.straights_s)
                assert 30.0 <= eight.track.greatest_bank_deg <= 40.0
                found += 1
    assert found > 4
