"""Which published volumes are open to the flight, and the altitude bands that they leave."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import date
from typing import Final

import numpy as np
from attrs import frozen

from areaplan.atmosphere import altimeter_offset_m
from areaplan.engine.bands import Bands, Volumes, open_bands
from areaplan.engine.features import FeatureSet
from areaplan.engine.standoff import cells_touching
from areaplan.grid import BoolArray, Float64Array
from areaplan.planning.activity import activity_warnings, why_inactive
from areaplan.planning.ground import Ground, covered
from areaplan.planning.judging import ABOVE_PLANNED_FT
from areaplan.planning.layers import Layers
from areaplan.planning.limits import as_limit
from areaplan.planning.plan import Limit, Volume
from areaplan.planning.project import Margins, Permission, Project
from areaplan.rules.entry import EntryAnswer, entry_for
from areaplan.rules.model import Entry, RuleSet, Severity
from areaplan.sources.layers import AirspaceVolume
from areaplan.units import FOOT_M, Height, HeightReference

NO_RULE: Final = "airspace-unknown"  # stands for the rule that nobody has written


@frozen(eq=False)
class BlockingVolume:
    """A volume that is not open, ready for the engine.

    Attributes
    ----------
    name : str
    limit : Limit
        The rule that closes it.
    lower_m, upper_m : float
        Metres AMSL, or above ground where `..._is_agl`; NaN where unknown.
    lower_is_agl, upper_is_agl, upper_is_inclusive : bool
    covers : bool array
        Cells within the lateral margin of it.
    source : str
        Path of its file.
    is_contradictory : bool
        Its limits could not be true together, and count as unknown.
    """

    name: str
    limit: Limit
    lower_m: float
    upper_m: float
    lower_is_agl: bool
    upper_is_agl: bool
    upper_is_inclusive: bool
    covers: BoolArray
    source: str
    is_contradictory: bool = False


@frozen(eq=False)
class AirspacePicture:
    """The published volumes judged.

    Attributes
    ----------
    volumes : tuple of Volume
        Every volume that touches the grid, for drawing.
    blocking : tuple of BlockingVolume
        Those that are not open.
    limits : tuple of Limit
        The rules that said how each volume is entered.
    warnings : tuple of str
        Permissions and declarations that prove nothing, volumes that a time opens, and volumes
        whose limits contradict each other.
    """

    volumes: tuple[Volume, ...]
    blocking: tuple[BlockingVolume, ...]
    limits: tuple[Limit, ...]
    warnings: tuple[str, ...]


def judge_volumes(
    layers: Layers, ground: Ground, rule_sets: Sequence[RuleSet], project: Project
) -> AirspacePicture:
    """Split the published volumes into open ones and ones that block."""
    volumes: list[Volume] = []
    blocking: list[BlockingVolume] = []
    limits: list[Limit] = []
    used: set[str] = set()
    names: set[str] = set()
    said: list[str] = []
    for layer in layers.airspace:
        for row in layer.rows:
            covers = _covers(row, ground, project.margins)
            if not covers.any():
                continue
            answer = entry_for(rule_sets, row.airspace_class, row.type_code)
            permission = _permission(row.name, project.permissions, project.day)
            names.add(row.name)
            inactive = "" if answer.entry is Entry.OPEN else why_inactive(row, project)
            is_open = answer.entry is Entry.OPEN or permission is not None or inactive != ""
            if permission is not None:
                used.add(permission.airspace)
            limits.append(_limit_of(answer))
            volumes.append(_drawn(row, answer, permission, inactive, is_open))
            if inactive and permission is None:
                said.append(f"{row.name} counts as open: {inactive}; check before flight")
            if not is_open:
                source = ", ".join(layer.record.paths)
                blocked = _blocking(row, answer, covers, project, source)
                said += _why_unknown(row, answer, blocked)
                blocking.append(blocked)
    return AirspacePicture(
        tuple(volumes),
        tuple(blocking),
        tuple(dict.fromkeys(limits)),
        (
            *_permission_warnings(project, used),
            *activity_warnings(project, names),
            *dict.fromkeys(said),
        ),
    )


def _covers(row: AirspaceVolume, ground: Ground, margins: Margins) -> BoolArray:
    local = ground.frame.geometry_to_local(row.geometry)
    feature = FeatureSet.from_geometries([local], 0.0)
    margin_m = max(margins.airspace_lateral_m, row.boundary_accuracy_m or 0.0)
    return cells_touching(ground.grid, feature, distance_m=margin_m)


def bands_over(
    floor_amsl_m: Float64Array,
    blocking: Sequence[BlockingVolume],
    ground: Ground,
    layers: Layers,
    margins: Margins,
) -> Bands:
    """Open bands of every cell above a floor (metres AMSL; NaN: unknown)."""
    is_silent = ~covered(layers.airspace, ground, margins.airspace_lateral_m)
    floor = np.where(is_silent, np.nan, floor_amsl_m)
    volumes = Volumes.from_covers(
        (row.covers for row in blocking),
        ground.grid.shape,
        lower_m=[row.lower_m for row in blocking],
        upper_m=[row.upper_m for row in blocking],
        lower_is_agl=[row.lower_is_agl for row in blocking],
        upper_is_agl=[row.upper_is_agl for row in blocking],
        upper_is_inclusive=[row.upper_is_inclusive for row in blocking],
    )
    return open_bands(
        floor,
        volumes,
        ground.lowest_amsl_m,
        ground.highest_amsl_m,
        margin_m=margins.airspace_vertical_m,
    )


def _blocking(
    row: AirspaceVolume, answer: EntryAnswer, covers: BoolArray, project: Project, source: str
) -> BlockingVolume:
    lower_m, lower_is_agl = limit_m(row.lower, project.margins, is_upper=False)
    upper_m, upper_is_agl = limit_m(row.upper, project.margins, is_upper=True)
    is_contradictory = lower_is_agl == upper_is_agl and lower_m > upper_m
    if is_contradictory:
        lower_m = upper_m = math.nan
    is_doubtful = answer.rule is None or math.isnan(upper_m)
    if is_doubtful and not lower_is_agl and lower_m > _top_of_interest_m(project):
        upper_m = math.inf  # all of the doubt lies above what is asked: closed from its floor up
    elif answer.rule is None:
        # Nobody says how to enter it: neither open nor closed, the cells below are unknown.
        lower_m = upper_m = math.nan
    return BlockingVolume(
        name=row.name,
        limit=_limit_of(answer),
        lower_m=lower_m,
        upper_m=upper_m,
        lower_is_agl=lower_is_agl,
        upper_is_agl=upper_is_agl,
        upper_is_inclusive=row.upper_is_inclusive,
        covers=covers,
        source=source,
        is_contradictory=is_contradictory,
    )


def _top_of_interest_m(project: Project) -> float:
    """Altitude, metres AMSL, up to which the plan's tables go, and the vertical margin."""
    top_ft = project.planned_altitudes_amsl_ft[-1] + ABOVE_PLANNED_FT
    return top_ft * FOOT_M + project.margins.airspace_vertical_m


def _why_unknown(
    row: AirspaceVolume, answer: EntryAnswer, blocked: BlockingVolume
) -> tuple[str, ...]:
    """What about a volume leaves it, or its limits, UNKNOWN; nothing where all is known."""
    said = []
    is_closed_above = blocked.upper_m == math.inf
    if answer.rule is None:
        where = "closed from its floor up" if is_closed_above else "UNKNOWN there"
        said.append(f"{row.name}: {answer.why_unknown}: {where}")
    if blocked.is_contradictory:
        said.append(f"{row.name}: its floor lies above its ceiling: UNKNOWN there")
    missing = [
        side for side, limit in (("lower", row.lower), ("upper", row.upper)) if limit is None
    ]
    if missing and not is_closed_above:
        said.append(f"{row.name}: its {' and '.join(missing)} limit is not known: UNKNOWN there")
    return tuple(said)


def _limit_of(answer: EntryAnswer) -> Limit:
    if answer.rule is not None:
        return as_limit(answer.rule)
    return Limit(
        rule=NO_RULE,
        title=answer.why_unknown,
        severity=Severity.LAW,
        quote="",
        document="none of the rule sets in force",
        confirm=f"{answer.why_unknown}: add a rule for it, or declare a permission in the project",
    )


def limit_m(limit: Height | None, margins: Margins, *, is_upper: bool) -> tuple[float, bool]:
    """Metres, and whether above ground rather than mean sea level.

    A flight level is taken at the altimeter setting that widens; NaN where the limit is not known,
    infinite where there is none.
    """
    if limit is None:
        return math.nan, False
    if limit.reference is HeightReference.SFC:
        return -math.inf, False
    if limit.reference is HeightReference.UNL:
        return math.inf, False
    if limit.reference is HeightReference.FL:
        setting_pa = margins.qnh_highest_pa if is_upper else margins.qnh_lowest_pa
        return limit.value_m + altimeter_offset_m(setting_pa), False
    return limit.value_m, limit.reference is HeightReference.AGL


def _permission(name: str, permissions: Sequence[Permission], day: date) -> Permission | None:
    for permission in permissions:
        is_valid = permission.expires is None or permission.expires >= day
        if permission.airspace == name and is_valid:
            return permission
    return None


def _permission_warnings(project: Project, used: set[str]) -> tuple[str, ...]:
    sentences = []
    for permission in project.permissions:
        if permission.expires is not None and permission.expires < project.day:
            sentences.append(
                f"the permission for {permission.airspace} expired on {permission.expires}: "
                "the airspace counts as closed"
            )
        elif permission.airspace not in used:
            sentences.append(
                f"the permission for {permission.airspace} names no airspace on the grid"
            )
    return tuple(sentences)


def _drawn(
    row: AirspaceVolume,
    answer: EntryAnswer,
    permission: Permission | None,
    inactive: str,
    is_open: bool,
) -> Volume:
    if permission is not None:
        until = f" until {permission.expires}" if permission.expires else ""
        reason = f"permission: {permission.reason}{until}"
    elif inactive:
        reason = inactive
    else:
        hours = f"; published hours: {row.hours}" if row.hours else ""
        reason = f"{_limit_of(answer).title}{hours}"
    upper = "unknown" if row.upper is None else str(row.upper)
    return Volume(
        name=row.name,
        airspace_class=row.airspace_class,
        type_code=row.type_code,
        lower_text="unknown" if row.lower is None else str(row.lower),
        upper_text=upper if row.upper_is_inclusive else f"below {upper}",
        entry=str(answer.entry),
        is_blocking=not is_open,
        reason=reason,
        geometry=row.geometry,
        hours=row.hours,
    )
