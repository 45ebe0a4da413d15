"""Checked tables that the readers hand to planning. Geometries are WGS 84 longitude/latitude.

Every layer keeps the record of where it came from and the region for which it speaks: outside
that region its silence means nothing.
"""

from __future__ import annotations

from datetime import date
from enum import StrEnum
from typing import Final, Generic, TypeVar

from attrs import field, frozen
from shapely.geometry.base import BaseGeometry

from areaplan.sources.activity import ActiveTime
from areaplan.units import Height


class SourceKind(StrEnum):
    """What a source tells about; the `kind` key of a `[[source]]` table."""

    AREA = "area"
    TERRAIN = "terrain"
    OBSTACLES = "obstacles"
    STRUCTURES = "structures"
    PERSONS = "persons"
    WIRES = "wires"
    ROADS = "roads"
    AIRSPACE = "airspace"
    FIELDS = "fields"
    CONGESTED = "congested"
    SPARSE = "sparse"
    ASSEMBLIES = "assemblies"
    NOISE = "noise-sensitive"
    WOODS = "woods"
    AIRWAYS = "airways"
    LAND_COVER = "land-cover"
    RAILS = "rails"
    FENCES = "fences"
    SECTION_LINES = "section-lines"
    CANALS = "canals"
    LANDMARKS = "landmarks"
    REFERENCES = "references"


@frozen
class SourceRecord:
    """Where a layer came from.

    Attributes
    ----------
    kind : SourceKind
        What it tells about.
    paths : tuple of str
        Files as named in the project.
    sha256 : tuple of str
        Hexadecimal digest of each file, in the order of `paths` (a shapefile's parts hashed in
        the order of their names).
    edition : str
        Edition or cycle as published, or the words of the person who drew it.
    effective, expires : date or None
        First and last day of validity, when the publisher states them.
    vertical_datum : str
        For instance "EGM96" or "NAVD88"; empty when the data carry no heights.
    rows_read, rows_used, rows_rejected : int
        Counts; a rejected row is named in `notes`, and is missing or UNKNOWN where it lies.
    notes : tuple of str
        What a person must know about this reading: assumed heights, rejected rows and why.
    """

    kind: SourceKind
    paths: tuple[str, ...]
    sha256: tuple[str, ...]
    edition: str
    effective: date | None = None
    expires: date | None = None
    vertical_datum: str = ""
    rows_read: int = 0
    rows_used: int = 0
    rows_rejected: int = 0
    notes: tuple[str, ...] = ()

    @property
    def counts(self) -> str:
        """Rows read, used and rejected in words, such as "19 of 20 rows used, 1 rejected"."""
        rejected = f", {self.rows_rejected} rejected" if self.rows_rejected else ""
        return f"{self.rows_used} of {self.rows_read} rows used{rejected}"

    def is_expired(self, on: date) -> bool:
        """Whether the publisher's validity has ended before a day."""
        return self.expires is not None and self.expires < on


@frozen
class Obstacle:
    """One object of an obstacle table.

    Attributes
    ----------
    name : str
        Identifier as published, for instance "01-001307".
    kind : str
        Type as published, for instance "TOWER".
    lat, lon : float
        Degrees, WGS 84.
    top_agl_m, top_amsl_m : float or None
        Height of the highest point above ground / above mean sea level, as published.
    horizontal_accuracy_m, vertical_accuracy_m : float
        Plus-or-minus by the published accuracy code; the cautious default when unknown.
    accuracy_is_known : bool
        False when the default was used.
    is_verified : bool or None
        As published; None when the table does not say.
    """

    name: str
    kind: str
    lat: float
    lon: float
    top_agl_m: float | None
    top_amsl_m: float | None
    horizontal_accuracy_m: float
    vertical_accuracy_m: float
    accuracy_is_known: bool
    is_verified: bool | None


class Presence(StrEnum):
    """What stands or moves at a place that minimum heights protect; words of the rules."""

    STRUCTURE = "structure"
    PERSON = "person"
    VESSEL = "vessel"
    VEHICLE = "vehicle"


@frozen
class Structure:
    """A structure, person, vessel or vehicle at a place (point, line or footprint).

    Attributes
    ----------
    name : str
        Name or identifier; never empty.
    presence : Presence
        Which word of the rule it is.
    geometry : shapely geometry
        Point, line or polygon, longitude/latitude.
    top_agl_m : float
        Height of its top above the highest ground that it touches.
    height_is_assumed : bool
        True when the declared default height was used.
    """

    name: str
    presence: Presence
    geometry: BaseGeometry
    top_agl_m: float
    height_is_assumed: bool


@frozen
class Wire:
    """A span of wires: line geometry, height of the highest wire above the ground below it."""

    name: str
    geometry: BaseGeometry
    top_agl_m: float
    height_is_assumed: bool


@frozen
class Wood:
    """Trees: polygon geometry and the height of the highest above the ground below it."""

    name: str
    geometry: BaseGeometry
    top_agl_m: float
    height_is_assumed: bool


@frozen
class Road:
    """A line on the ground, or an airway centreline: line geometry.

    Roads are drawn, and roads and rails count as vehicles where the project says so; airway
    centrelines serve the rules that name them; roads, rails, fences, section lines and canals are
    what a pilot flies ground reference by. What `is_in_tunnel` is not seen from the air.
    """

    name: str
    kind: str
    geometry: BaseGeometry
    is_in_tunnel: bool = False


@frozen
class Landmark:
    """A small thing that is easily seen from the air, to fly round.

    Attributes
    ----------
    name : str
        Name or identifier; never empty.
    kind : str
        What it is, such as "tree" or "silo".
    geometry : shapely geometry
        Point, longitude/latitude; of something drawn as an outline the middle.
    """

    name: str
    kind: str
    geometry: BaseGeometry


class ReferenceKind(StrEnum):
    """What a ground reference serves as; of a drawn one the `use` attribute of its feature."""

    LINE = "line"
    POINT = "point"
    RECTANGLE = "rectangle"
    PAIR = "pair"


@frozen
class DrawnReference:
    """A ground reference that a person chose and drew.

    Attributes
    ----------
    name : str
        Name or position in its file; never empty.
    use : ReferenceKind
        What it serves as.
    geometry : shapely geometry
        Longitude/latitude: LineString, Point, Polygon without holes, or MultiPoint of two.
    """

    name: str
    use: ReferenceKind
    geometry: BaseGeometry


CLASS_NOT_GIVEN: Final = "not given"


@frozen
class AirspaceVolume:
    """One published volume: a polygon with a lower and an upper limit.

    Attributes
    ----------
    name : str
        As published.
    airspace_class : str
        ICAO class letter; "" when the volume has none; `CLASS_NOT_GIVEN` where it is published
        with classes but with none that is readable for this part of it.
    type_code : str
        Published type, for instance "CLASS_D", "R", "MOA"; "" when not given.
    geometry : shapely geometry
        Polygon or multipolygon, longitude/latitude.
    lower, upper : Height or None
        None where the publication gives no usable value: unknown, never "no limit".
    upper_is_inclusive : bool
        False for "to but not including".
    hours : str
        Hours of use as published, "" when not given.
    boundary_accuracy_m : float or None
        Published accuracy of its boundary, metres; None when not stated.
    active : tuple of ActiveTime or None
        The published hours where all of them are readable by machine; None otherwise: then the
        volume counts as active all the time.
    """

    name: str
    airspace_class: str
    type_code: str
    geometry: BaseGeometry
    lower: Height | None
    upper: Height | None
    upper_is_inclusive: bool
    hours: str = ""
    boundary_accuracy_m: float | None = None
    active: tuple[ActiveTime, ...] | None = None


@frozen
class LandingField:
    """A place to land in an emergency, drawn or confirmed by a person, or proposed by land cover.

    `surface`, `consent` and `remarks` are the person's own words, "" when not given. Of a candidate
    `cover` names the classes of land cover that it lies on and `cover_rank` is the worst of their
    ranks, 1 to 3; for a person's field they are "" and 0.
    """

    name: str
    geometry: BaseGeometry
    surface: str = ""
    consent: str = ""
    remarks: str = ""
    cover: str = ""
    cover_rank: int = 0


@frozen
class Zone:
    """A polygon in which a rule applies, with the reason a person gave for drawing it."""

    name: str
    geometry: BaseGeometry
    reason: str


@frozen
class PracticeArea:
    """The drawn practice area: one polygon or multipolygon."""

    name: str
    geometry: BaseGeometry


Row_co = TypeVar("Row_co", covariant=True)


@frozen
class Layer(Generic[Row_co]):
    """The rows of one source, and the region for which it speaks.

    Attributes
    ----------
    record : SourceRecord
        Where they came from.
    rows : tuple
        Checked rows, in file order.
    covers : shapely geometry or None
        Region (longitude/latitude) inside which the absence of a row means absence in the data;
        None when the project states that the source covers everything evaluated.
    """

    record: SourceRecord
    rows: tuple[Row_co, ...]
    covers: BaseGeometry | None = field(default=None)
