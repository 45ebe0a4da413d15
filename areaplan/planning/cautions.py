"""What every output carries: the standing cautions, and the warnings of one evaluation."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Final

import numpy as np

from areaplan.grid import BoolArray
from areaplan.planning.airspace import AirspacePicture
from areaplan.planning.candidates import unconfirmed_caution
from areaplan.planning.glide import Glide
from areaplan.planning.ground import Ground
from areaplan.planning.layers import Layers
from areaplan.planning.measured import MeasuredField
from areaplan.planning.plan import Finding, Limit
from areaplan.planning.project import Project
from areaplan.planning.things import height_disagreements
from areaplan.sources.layers import SourceRecord

CAUTIONS: Final = (
    "Planning aid only, not for navigation. The pilot in command decides.",
    "Check current charts, notices to airmen and local procedures before flight.",
    "Most objects below 200 ft above ground, and most wires, are in no database.",
    "Persons, livestock, vehicles and vessels move: no file knows where they are today.",
    "Fields are as their author saw them: look at surface, stock, crop and wires from the air.",
    "Rules are quoted as last checked: read the current text.",
)

# Said unless the project asks for arrivals at key positions, which are flown to the threshold.
ARRIVAL_CAUTION: Final = (
    "A glide here ends anywhere over its field, at the arrival height: the way from there on to a "
    'strip is not proven. [fields] arrival = "key" asks for that too.'
)


def cautions_for(project: Project, measured: Sequence[MeasuredField]) -> tuple[str, ...]:
    """The cautions that every output of a project carries, the gravest first."""
    arrival = () if project.fields.is_key_asked else (ARRIVAL_CAUTION,)
    return (*unconfirmed_caution(measured), *CAUTIONS, *arrival)


def all_warnings(
    project: Project,
    layers: Layers,
    ground: Ground,
    records: Sequence[SourceRecord],
    airspace: AirspacePicture,
    glide: Glide,
    findings: Sequence[Finding],
    is_in_area: BoolArray,
) -> tuple[str, ...]:
    """Sentences on what a person must know before trusting the plan, the gravest first."""
    return (
        *out_of_date(project, records),
        *_unknown_ground(ground, is_in_area),
        *(f"terrain: {note}" for note in ground.notes),
        *_declared_none(project, layers),
        *airspace.warnings,
        *glide.warnings,
        *(f"{record.kind}: {note}" for record in records for note in record.notes),
        *height_disagreements(layers, ground),
        *_to_confirm([*(row.limit for row in findings), *airspace.limits]),
    )


def out_of_date(project: Project, records: Iterable[SourceRecord]) -> list[str]:
    """Sentences on sources that have expired, or are not valid yet, on the project's day."""
    said = []
    for record in records:
        what = f"{record.kind} {', '.join(record.paths)} (edition {record.edition})"
        if record.is_expired(project.day):
            said.append(f"EXPIRED: {what} ended {record.expires}; it is {project.day}")
        if record.effective is not None and record.effective > project.day:
            said.append(f"NOT YET VALID: {what} begins {record.effective}; it is {project.day}")
    return said


def _unknown_ground(ground: Ground, is_in_area: BoolArray) -> list[str]:
    dark = int(np.isnan(ground.highest_amsl_m[is_in_area]).sum())
    if dark == 0:
        return []
    share = dark / int(is_in_area.sum())
    return [
        f"the terrain data leave {dark} cells of the area unknown ({share:.1%}): they are UNKNOWN "
        "at every altitude, and so is the glide from wherever a turn may lead over them"
    ]


def _declared_none(project: Project, layers: Layers) -> list[str]:
    """What someone says is not there, and what nobody has given."""
    said = [
        f"declared that there are none: {spec.kind} ({spec.none_because})"
        for spec in project.sources
        if spec.none_because
    ]
    if not layers.wires:
        said.append("no wires are in the data: look for them along every glide and landing")
    if not layers.woods:
        said.append("no woods are in the data: the glide does not clear trees")
    return said


def _to_confirm(limits: Iterable[Limit]) -> list[str]:
    """Sentences on the rules that play a part here and whose text is not certain."""
    return [
        f"rule {limit.rule}: confirm: {limit.confirm}"
        for limit in dict.fromkeys(limits)
        if limit.confirm
    ]
