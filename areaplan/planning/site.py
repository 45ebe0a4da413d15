"""A place to fly a ground-reference figure, and what each point of its track answers."""

from __future__ import annotations

from typing import Final

import numpy as np
from attrs import frozen

from areaplan.engine.ground_track import GroundTrack
from areaplan.grid import Float64Array
from areaplan.planning.flown import Course, CourseMargins
from areaplan.planning.plan import Verdict
from areaplan.planning.site_layouts import Layout
from areaplan.rules.figures_asked import Figure
from areaplan.units import FOOT_M, Wind

NEVER_FT: Final = -(1 << 19)  # a margin where no altitude is enough or open


@frozen
class FieldAt:
    """The field to use at one moment of a figure.

    Attributes
    ----------
    share : float
        Of the figure's time, from 0 to below 1.
    field : str or None
        Its name; None where none is known to be in reach.
    margin_ft : int
        Height above the lowest altitude from which it is reached on the track flown there.
    """

    share: float
    field: str | None
    margin_ft: int


@frozen(eq=False)
class Site:
    """A figure flown at a place. Heights are whole feet, margins rounded down.

    Attributes
    ----------
    layout : Layout
        Figure, side, reference and place.
    track : GroundTrack
        As flown, relative to the layout's place.
    course : Course
        The same in local metres, at the altitude of the site.
    margins : CourseMargins
        Of each of its points.
    entry_amsl_ft : int
        Altitude at the entry.
    lowest_entry_amsl_ft, highest_entry_amsl_ft : int
        Range of entries with which every point fits; the first is above the second where none does.
    room_ft : int
        Least height, at any point, between the tolerance flown and what asks for more height from
        below: ground, obstructions, rules and the school's block. Negative: so much is missing.
    ceiling_ft : int
        The same to what limits it from above; the greatest number there is where nothing does.
    glide_ft : int
        Least height above the altitude from which a field is reached on the track flown.
    edge_m : float
        Least distance of the track inside the area's edge; negative outside.
    is_unknown : bool
        Something asked of a point of it can't be told.
    fields : tuple of FieldAt
        At the beginning of each quarter of its time.
    lon, lat : float64 array
        Degrees WGS 84 of each point.
    """

    layout: Layout
    track: GroundTrack
    course: Course
    margins: CourseMargins
    entry_amsl_ft: int
    lowest_entry_amsl_ft: int
    highest_entry_amsl_ft: int
    room_ft: int
    ceiling_ft: int
    glide_ft: int
    edge_m: float
    is_unknown: bool
    fields: tuple[FieldAt, ...]
    lon: Float64Array
    lat: Float64Array

    @property
    def figure(self) -> Figure:
        """What is flown."""
        return self.layout.shape.figure

    @property
    def smallest_margin_ft(self) -> int:
        """The least of all margins, in feet."""
        edge_ft = int(np.floor(self.edge_m / FOOT_M))
        return min(self.room_ft, self.ceiling_ft, self.glide_ft, edge_ft)

    @property
    def binding_margin(self) -> str:
        """Which margin is the least: "height", "ceiling", "glide" or "edge of the area"."""
        edge_ft = int(np.floor(self.edge_m / FOOT_M))
        rows = (
            (self.room_ft, "height"),
            (self.glide_ft, "glide"),
            (self.ceiling_ft, "ceiling"),
            (edge_ft, "edge of the area"),
        )
        return min(rows)[1]

    @property
    def verdict(self) -> Verdict:
        """MET where every point is known to be legal, with a field, and inside the area."""
        if self.is_unknown:
            return Verdict.UNKNOWN
        return Verdict.MET if self.smallest_margin_ft >= 0 else Verdict.NOT_MET


@frozen(eq=False)
class FigureSites:
    """All that is known of one figure in one wind.

    Attributes
    ----------
    figure : Figure
    sites : tuple of Site
        The best first, one for each reference; all MET.
    nearest_miss : Site or None
        Where there is no site, the one that lacks the least.
    references : int
        References of its kind found.
    tried : int
        Layouts that the wind allows.
    lacks : str
        Where there is no site, what is missing, in a sentence; "" otherwise.
    """

    figure: Figure
    sites: tuple[Site, ...]
    nearest_miss: Site | None
    references: int
    tried: int
    lacks: str

    @property
    def verdict(self) -> Verdict:
        """MET with a site; without one UNKNOWN where the data may be why."""
        if self.sites:
            return Verdict.MET
        miss = self.nearest_miss
        return Verdict.UNKNOWN if miss is not None and miss.is_unknown else Verdict.NOT_MET


@frozen(eq=False)
class SiteAnswer:
    """Sites of some figures in one wind."""

    wind: Wind
    tas_mps: float
    figures: tuple[FigureSites, ...]
    notes: tuple[str, ...]

    @property
    def verdict(self) -> Verdict:
        """MET where every figure has a site; UNKNOWN where it can't be told of one."""
        verdicts = {one.verdict for one in self.figures}
        if Verdict.UNKNOWN in verdicts:
            return Verdict.UNKNOWN
        return Verdict.NOT_MET if Verdict.NOT_MET in verdicts else Verdict.MET
