"""What a person writes for the briefing: the `[briefing]` table of a project, as values."""

from __future__ import annotations

from datetime import date

from attrs import frozen


@frozen
class Aerodrome:
    """The aerodrome from which bearings and distances are told.

    Attributes
    ----------
    name : str
    lat, lon : float
        Its reference point, degrees WGS 84.
    elevation_amsl_ft : int or None
        Whole feet AMSL; None where not given.
    """

    name: str
    lat: float
    lon: float
    elevation_amsl_ft: int | None = None


@frozen
class Frequency:
    """A station to talk or listen to.

    Attributes
    ----------
    station : str
        As addressed on the air.
    frequency : str
        As printed, such as "122.750".
    use : str
        What it is for, in a few words.
    airspace : str
        Published name of the volume that it belongs to; "" for none.
    """

    station: str
    frequency: str
    use: str
    airspace: str = ""


@frozen
class BriefingWords:
    """What no data file knows and the school writes itself; nothing here is ever made up.

    Attributes
    ----------
    revision, author, approver : str
        "" where not given: a line to fill in by hand.
    review_by : date or None
        The day on which the briefing stops being good.
    aerodrome : Aerodrome or None
    frequencies : tuple of Frequency
    landmarks : tuple of str
        One for each corner of the boundary, in the order of the drawing; none at all where the
        project gives none.
    emergency, lost_communication : tuple of str
        Lines printed as they are.
    """

    revision: str = ""
    author: str = ""
    approver: str = ""
    review_by: date | None = None
    aerodrome: Aerodrome | None = None
    frequencies: tuple[Frequency, ...] = ()
    landmarks: tuple[str, ...] = ()
    emergency: tuple[str, ...] = ()
    lost_communication: tuple[str, ...] = ()


NOTHING_WRITTEN = BriefingWords()
