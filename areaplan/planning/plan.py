"""The result of an evaluation: what every cell answers, in whole feet, and the findings.

From here on heights are whole feet in int16, rounded to the cautious side (floors up, ceilings
down). The command line, the map and the shares all read these same arrays, so they agree to the
foot.
"""

from __future__ import annotations

from enum import IntEnum, StrEnum
from typing import Final

import numpy as np
from attrs import frozen
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from areaplan.geodesy import LocalFrame
from areaplan.grid import BoolArray, Grid, Int16Array, Int32Array
from areaplan.planning.layers import Layers
from areaplan.planning.measured import MeasuredField
from areaplan.planning.project import Project
from areaplan.rules.model import Severity
from areaplan.sources.layers import LandingField, SourceRecord

UNKNOWN_FT: Final = -32768  # nothing is known
NO_LIMIT_FT: Final = 32767  # a ceiling that does not exist in the data
UNREACHABLE_FT: Final = 32767  # no altitude is enough
NO_BAND_FT: Final = -32767  # this slot of the band arrays is empty
NOBODY: Final = -1  # nothing binds; no field
WHATEVER_THE_HEADING: Final = "whatever the heading"  # feature of a binder: the glide itself


class Verdict(StrEnum):
    """Three answers; unknown is never clear."""

    MET = "MET"
    NOT_MET = "NOT_MET"
    UNKNOWN = "UNKNOWN"


class CellClass(IntEnum):
    """What a cell is at one altitude."""

    LEGAL_WITH_FIELD = 0
    LEGAL_NO_FIELD = 1
    FIELD_NOT_LEGAL = 2
    NEITHER = 3
    UNKNOWN = 4


@frozen
class Limit:
    """A rule in force, as the outputs name it.

    Attributes
    ----------
    rule : str
        Identifier in its rule set, for instance "us-91.119-b".
    title : str
        A few plain words.
    severity : Severity
        Law, policy or advisory.
    quote : str
        The published sentence (or the school's own).
    document : str
        Document, section and edition in one line.
    confirm : str
        Why the value must be confirmed before use; "" when the text was verified.
    reading : str
        How the tool applies the words, where they leave a choice; "" where they do not.
    """

    rule: str
    title: str
    severity: Severity
    quote: str
    document: str
    confirm: str = ""
    reading: str = ""


@frozen
class Binder:
    """What sets a limit at a cell: which rule, because of which feature."""

    limit: Limit
    feature: str


@frozen(eq=False, kw_only=True)
class JudgedCells:
    """What decides whether a cell is legal and safe. Arrays of the grid's shape unless said.

    Attributes
    ----------
    legal_floor_amsl_ft : int16
        Lowest altitude above every height and distance rule (law and policy, not airspace);
        UNKNOWN_FT where a layer that a rule needs does not speak; UNREACHABLE_FT where a rule
        closes the cell at every altitude.
    legal_floor_binder : int32
        Index into `Plan.binders`; NOBODY where nothing binds.
    bands_amsl_ft : int16, shape (bands, 2, rows, cols)
        Open bands from low to high: index 0 the floor, index 1 the ceiling, both usable.
        NO_BAND_FT in unused slots and in unknown cells; NO_LIMIT_FT for "no ceiling in the data".
    is_legal_unknown : bool
        A layer that some rule or the airspace needs does not speak here.
    glide_required_amsl_ft : int16
        Lowest altitude from which a field is reached whatever the heading and every binding rule
        on the choice of fields holds; UNREACHABLE_FT where no altitude considered is enough;
        UNKNOWN_FT where it can't be told.
    glide_binder : int32
        Index into `Plan.binders` of what asks for it; NOBODY where unknown.
    is_in_area : bool
        The cell touches the drawn practice area.
    """

    legal_floor_amsl_ft: Int16Array
    legal_floor_binder: Int32Array
    bands_amsl_ft: Int16Array
    is_legal_unknown: BoolArray
    glide_required_amsl_ft: Int16Array
    glide_binder: Int32Array
    is_in_area: BoolArray

    def is_legal(self, altitude_amsl_ft: int) -> BoolArray:
        """Where some open band holds an altitude; False where unknown."""
        inside = (
            (self.bands_amsl_ft[:, 0] != NO_BAND_FT)
            & (self.bands_amsl_ft[:, 0] <= altitude_amsl_ft)
            & (altitude_amsl_ft <= self.bands_amsl_ft[:, 1])
        )
        return np.asarray(inside.any(axis=0) & ~self.is_legal_unknown)

    def is_safe(self, altitude_amsl_ft: int) -> BoolArray:
        """Where `glide_required_amsl_ft` is reached; False where unknown."""
        required = self.glide_required_amsl_ft
        return np.asarray(
            (required != UNKNOWN_FT) & (required != UNREACHABLE_FT) & (required <= altitude_amsl_ft)
        )

    def classes(self, altitude_amsl_ft: int) -> NDArray[np.uint8]:
        """`CellClass` of every cell at an altitude."""
        legal, safe = self.is_legal(altitude_amsl_ft), self.is_safe(altitude_amsl_ft)
        answer = np.where(
            legal,
            np.where(safe, CellClass.LEGAL_WITH_FIELD, CellClass.LEGAL_NO_FIELD),
            np.where(safe, CellClass.FIELD_NOT_LEGAL, CellClass.NEITHER),
        )
        is_unknown = self.is_legal_unknown | (self.glide_required_amsl_ft == UNKNOWN_FT)
        return np.where(is_unknown, CellClass.UNKNOWN, answer).astype(np.uint8)


@frozen(eq=False, kw_only=True)
class Cells(JudgedCells):
    """What every cell of the grid answers: beside what decides, the ground, sectors and fields.

    Attributes
    ----------
    terrain_amsl_ft : int16
        Highest ground in the cell, rounded up; UNKNOWN_FT outside the terrain data.
    bands_binder : int32, shape (bands, 2, rows, cols)
        What sets each edge of the bands; NOBODY in unused slots and for "no ceiling".
    sector_amsl_ft : int16, shape (12, rows, cols)
        `glide_required_amsl_ft` for a glide that leaves in sector k (centred on 30 k degrees
        true), no turn counted.
    sector_field : int16, shape (12, rows, cols)
        The field that sector's glide leads to: index into `Plan.fields`, NOBODY where none.
    field : int16
        The field of the lowest of the twelve sectors; NOBODY where none.
    """

    terrain_amsl_ft: Int16Array
    bands_binder: Int32Array
    sector_amsl_ft: Int16Array
    sector_field: Int16Array
    field: Int16Array


@frozen
class Shares:
    """Shares of the practice area at one altitude, each from 0 to 1."""

    altitude_amsl_ft: int
    legal_share: float
    safe_share: float
    legal_and_safe_share: float
    unknown_share: float


@frozen
class Block:
    """Altitudes at which the whole area is legal and safe; ceiling None: none in the data."""

    floor_amsl_ft: int
    ceiling_amsl_ft: int | None


class Names(StrEnum):
    """What the feature of a finding is, so that nobody takes a way out for an obstacle."""

    CAUSE = "cause"  # what sets the limit there
    NEAREST_FIELD = "nearest field"  # the field that the cheapest glide from there leads to
    NEXT_CHOICE = "next choice"  # the direction or field that would complete a choice of fields


@frozen
class Finding:
    """One rule (or the glide) judged over the area at one planned altitude.

    Attributes
    ----------
    limit : Limit
        The rule with its sentence.
    verdict : Verdict
        Over the whole area.
    altitude_amsl_ft : int
        The planned altitude judged.
    margin_ft : int or None
        Smallest margin over the area, negative where not met; None where it can't be told.
    lat, lon : float or None
        Where the margin is smallest (centre of the cell).
    feature : str
        What binds there; of a glide, or of a choice of fields, what `names` says.
    share_met : float
        Share of the area in which it is met.
    sources : tuple of str
        Paths of the sources used.
    names : Names
        What `feature` is.
    """

    limit: Limit
    verdict: Verdict
    altitude_amsl_ft: int
    margin_ft: int | None
    lat: float | None
    lon: float | None
    feature: str
    share_met: float
    sources: tuple[str, ...]
    names: Names = Names.CAUSE


@frozen(eq=False)
class Volume:
    """An airspace volume as planning used it, for drawing and naming."""

    name: str
    airspace_class: str
    type_code: str
    lower_text: str
    upper_text: str
    entry: str  # "open", "two-way radio", "clearance", "no entry", "unknown"
    is_blocking: bool
    reason: str  # the permission's or inactivity's reason, or why it blocks, with its hours
    geometry: BaseGeometry  # longitude/latitude
    hours: str = ""  # as published


@frozen(eq=False)
class Standoff:
    """A rule's standoff round one kind of feature, for drawing shapes that follow the altitude.

    A feature with top t closes at altitude z the ground within sqrt(R^2 - (z - t)^2) of it for
    profile "slant" (R when z < t), or within R whenever z < t + height for profile "level".
    """

    limit: Limit
    profile: str  # "slant" or "level"
    radius_m: float
    height_m: float
    geometries: tuple[BaseGeometry, ...]  # longitude/latitude
    names: tuple[str, ...]
    top_amsl_m: NDArray[np.float64]
    spread_m: NDArray[np.float64]


@frozen(eq=False)
class Plan:
    """Everything an evaluation found. Immutable by convention: nobody writes into its arrays."""

    project: Project
    frame: LocalFrame
    grid: Grid
    layers: Layers
    cells: Cells
    fields: tuple[LandingField, ...]
    limits: tuple[Limit, ...]
    binders: tuple[Binder, ...]
    volumes: tuple[Volume, ...]
    standoffs: tuple[Standoff, ...]
    verdict: Verdict
    planned: tuple[Shares, ...]
    by_altitude: tuple[Shares, ...]
    block: Block | None
    best: Shares
    findings: tuple[Finding, ...]
    sources: tuple[SourceRecord, ...]
    cautions: tuple[str, ...]
    warnings: tuple[str, ...]  # expired sources, assumed heights, fields that do not count
    measured: tuple[MeasuredField, ...] = ()  # `fields` measured, in the same order
    # What land cover proposes and does not count; candidates that count are among `fields`.
    candidates: tuple[MeasuredField, ...] = ()
