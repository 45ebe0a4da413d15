"""The core: one function from a project to its plan."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Final

from areaplan.planning.airspace import bands_over, judge_volumes
from areaplan.planning.cells import answer_cells, highest_floor
from areaplan.planning.findings import find_all
from areaplan.planning.glide import glide_surfaces
from areaplan.planning.judging import (
    altitude_table,
    best_altitude,
    find_block,
    overall_verdict,
    tally,
)
from areaplan.planning.layers import Layers
from areaplan.planning.limits import area_cells, as_limit, rule_surfaces, rules_in_force
from areaplan.planning.plan import Limit, Plan
from areaplan.planning.project import Project
from areaplan.planning.reading import read_layers
from areaplan.planning.things import height_disagreements
from areaplan.rules.loading import load_rule_sets
from areaplan.sources.layers import SourceRecord

CAUTIONS: Final = (
    "Planning aid only, not for navigation. The pilot in command decides.",
    "Check current charts, notices to airmen and local procedures before flight.",
    "Most objects below 200 ft above ground, and most wires, are in no database.",
    "Persons, livestock, vehicles and vessels move: no file knows where they are today.",
    "Fields are as their author saw them: look at surface, stock, crop and wires from the air.",
    "Rules are quoted as last checked: read the current text.",
)


def silent(_: str) -> None:
    """Progress that nobody hears."""


def evaluate(project: Project, progress: Callable[[str], None] = silent) -> Plan:
    """Read a project's sources, compute its surfaces and judge its area.

    Parameters
    ----------
    project : Project
        As `project_file.read_project` gives it.
    progress : callable
        Told in a few words what is being done.

    Returns
    -------
    Plan
        The same for the same files, whatever the machine.

    Raises
    ------
    InputError
        A source or rule file is unusable; with all faults of all sources.
    """
    rule_sets = load_rule_sets(project.rule_sets, project.rule_paths)
    layers, ground = read_layers(project, progress)
    is_in_area = area_cells(layers.area.rows[0].geometry, ground)
    rules = rules_in_force(rule_sets, project.activities)

    progress("heights and distances of the rules")
    floor, surfaces = highest_floor(rule_surfaces(rules, layers, ground), ground, is_in_area)
    progress("airspace")
    airspace = judge_volumes(layers, ground, rule_sets, project)
    bands = bands_over(floor.amsl_m, airspace.blocking, ground, layers, project.margins)
    progress("gliding distance")
    glide = glide_surfaces(project, layers, ground)

    progress("judging the area")
    cells, binders = answer_cells(ground, floor, bands, airspace.blocking, glide, is_in_area)
    planned_ft = project.planned_altitudes_amsl_ft
    tallies = tally(cells)
    table = altitude_table(cells, planned_ft)
    planned = tuple(tallies.at(altitude) for altitude in planned_ft)
    records = _records(layers)
    findings = find_all(
        surfaces,
        airspace.blocking,
        glide,
        rules,
        ground,
        is_in_area,
        planned_ft,
        project.margins.airspace_vertical_m,
    )
    return Plan(
        project=project,
        frame=ground.frame,
        grid=ground.grid,
        layers=layers,
        cells=cells,
        fields=glide.fields,
        limits=tuple(as_limit(rule) for rule in rules),
        binders=binders,
        volumes=airspace.volumes,
        standoffs=tuple(row.standoff for row in surfaces if row.standoff is not None),
        verdict=overall_verdict(planned),
        planned=planned,
        by_altitude=tuple(tallies.at(altitude) for altitude in table),
        block=find_block(tallies, planned_ft),
        best=best_altitude(tallies, table, planned_ft),
        findings=findings,
        sources=records,
        cautions=CAUTIONS,
        warnings=(
            *airspace.warnings,
            *glide.warnings,
            *_data_warnings(project, layers, records),
            *height_disagreements(layers, ground),
            *_to_confirm([*(row.limit for row in findings), *airspace.limits]),
        ),
    )


def _records(layers: Layers) -> tuple[SourceRecord, ...]:
    groups = (
        layers.obstacles,
        layers.structures,
        layers.persons,
        layers.wires,
        layers.roads,
        layers.airspace,
        layers.fields,
        layers.congested,
        layers.sparse,
        layers.assemblies,
        layers.noise,
        layers.woods,
        layers.airways,
    )
    return (
        layers.area.record,
        layers.terrain.record,
        *(layer.record for group in groups for layer in group),
    )


def _to_confirm(limits: Iterable[Limit]) -> tuple[str, ...]:
    """Sentences on the rules that play a part here and whose text is not certain."""
    return tuple(
        f"rule {limit.rule}: confirm: {limit.confirm}"
        for limit in dict.fromkeys(limits)
        if limit.confirm
    )


def _data_warnings(
    project: Project, layers: Layers, records: tuple[SourceRecord, ...]
) -> tuple[str, ...]:
    said = []
    for record in records:
        what = f"{record.kind} {', '.join(record.paths)} (edition {record.edition})"
        if record.is_expired(project.day):
            said.append(f"EXPIRED: {what} ended {record.expires}; it is {project.day}")
        if record.effective is not None and record.effective > project.day:
            said.append(f"NOT YET VALID: {what} begins {record.effective}; it is {project.day}")
    said += [f"{record.kind}: {note}" for record in records for note in record.notes]
    if not layers.wires:
        said.append("no wires are in the data: look for them along every glide and landing")
    if not layers.woods:
        said.append("no woods are in the data: the glide does not clear trees")
    return tuple(said)
