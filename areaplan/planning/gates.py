"""Gates of a practice area and routes in and out, as a project declares them."""

from __future__ import annotations

from enum import StrEnum

from attrs import frozen

LonLat = tuple[float, float]


class Use(StrEnum):
    """Which way traffic goes: into the area, out of it, or both."""

    IN = "in"
    OUT = "out"
    BOTH = "both"


@frozen
class Gate:
    """A place over which aircraft enter or leave the area.

    Attributes
    ----------
    name : str
    lat, lon : float
        Degrees WGS 84.
    altitude_amsl_ft : int
        At which it is passed, whole feet.
    use : Use
    landmark : str
        By which it is known from the air; "" where not said.
    """

    name: str
    lat: float
    lon: float
    altitude_amsl_ft: int
    use: Use
    landmark: str = ""


@frozen
class Route:
    """A line flown to the area or back from it.

    Attributes
    ----------
    name : str
    points : tuple of (float, float)
        Longitude and latitude, degrees WGS 84; two or more, in the order flown.
    point_names : tuple of str
        Name of the gate at each point, "" where there is none.
    altitude_amsl_ft : int
        Whole feet, the same all along.
    use : Use
        IN and OUT are flown in the order of the points, BOTH in both directions.
    remarks : str
    """

    name: str
    points: tuple[LonLat, ...]
    point_names: tuple[str, ...]
    altitude_amsl_ft: int
    use: Use = Use.BOTH
    remarks: str = ""
