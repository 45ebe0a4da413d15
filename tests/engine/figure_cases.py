"""Every level figure behind one door, and the conditions that hypothesis flies them in."""

from dataclasses import dataclass

from hypothesis import strategies as st

from areaplan.engine import ground_figures as figures
from areaplan.engine.constant_radius import SteadyFlight
from areaplan.engine.ground_track import Side
from areaplan.engine.pylon_eights import eights_on_pylons
from areaplan.units import Wind


@dataclass(frozen=True)
class Conditions:
    """Directions in degrees true, the rest in metres and m/s."""

    tas: float
    wind_share: float
    wind_from: float
    line: float
    radius: float
    side: Side

    @property
    def flight(self):
        return SteadyFlight(self.tas, Wind(self.wind_from % 360.0, self.wind_share * self.tas))

    def turned(self, by_deg):
        return Conditions(
            self.tas,
            self.wind_share,
            (self.wind_from + by_deg) % 360.0,
            self.line + by_deg,
            self.radius,
            self.side,
        )

    def mirrored(self):
        """East becomes west."""
        return Conditions(
            self.tas,
            self.wind_share,
            -self.wind_from % 360.0,
            -self.line,
            self.radius,
            self.side.other,
        )


FIGURES = {
    "point": lambda c: figures.turns_around_point(c.flight, c.radius, c.side),
    "s-turns": lambda c: figures.s_turns(c.flight, c.line, c.radius, c.side, 3),
    "course": lambda c: figures.rectangular_course(
        c.flight, c.line, 3.0 * c.radius, 2.0 * c.radius, c.radius, c.radius, c.side
    ),
    "course joined diagonally": lambda c: figures.rectangular_course(
        c.flight,
        c.line,
        5.0 * c.radius,
        4.5 * c.radius,
        -0.2 * c.radius,
        c.radius,
        c.side,
        entry=figures.CourseEntry.DIAGONAL,
    ),
    "road": lambda c: figures.eights_along_road(c.flight, c.line, c.radius, c.side),
    "around pylons": lambda c: figures.eights_around_pylons(
        c.flight, c.line, 2.5 * c.radius, c.radius, c.side
    ),
    "on pylons": lambda c: eights_on_pylons(c.flight, c.line, 3.0 * c.radius, 4.0, c.side).track,
}


@st.composite
def conditions(draw, greatest_share=0.5):
    """Radii for banks from some 10 to some 60 degrees."""
    tas = draw(st.floats(25.0, 75.0))
    return Conditions(
        tas=tas,
        # No tie between two ways round: never calm, never square to the line or along it.
        wind_share=draw(st.floats(0.01, greatest_share)),
        wind_from=draw(st.integers(0, 359)) + 0.25,
        line=draw(st.integers(0, 359)) + 0.5,
        radius=draw(st.floats(1.2, 4.0)) * tas**2 / 9.80665,
        side=draw(st.sampled_from(Side)),
    )
