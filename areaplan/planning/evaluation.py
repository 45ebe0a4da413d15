"""The core: one function from a project to its plan."""

from __future__ import annotations

from collections.abc import Callable

from areaplan.planning.airspace import bands_over, judge_volumes
from areaplan.planning.cautions import all_warnings, cautions_for
from areaplan.planning.cells import answer_cells, highest_floor
from areaplan.planning.choice import choice_surfaces, what_a_glide_needs
from areaplan.planning.findings import find_all, gravest_first
from areaplan.planning.flying_limits import air_verdict, flying_warnings, wind_findings
from areaplan.planning.glide import glide_surfaces
from areaplan.planning.judging import (
    altitude_table,
    best_altitude,
    find_block,
    overall_verdict,
    tally,
)
from areaplan.planning.layers import Layers
from areaplan.planning.limits import area_cells, as_limit, rule_surfaces, sets_in_force
from areaplan.planning.plan import Plan
from areaplan.planning.project import Project
from areaplan.planning.reading import read_layers
from areaplan.planning.weather_judged import weather_findings
from areaplan.rules.loading import load_rule_sets
from areaplan.sources.layers import SourceRecord


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
    loaded = load_rule_sets(project.rule_sets, project.rule_paths)
    rule_sets = sets_in_force(loaded, project)
    rules = tuple(rule for one in rule_sets for rule in one.rules)
    layers, ground = read_layers(project, progress)
    is_in_area = area_cells(layers.area.rows[0].geometry, ground)

    progress("heights and distances of the rules")
    floor, surfaces = highest_floor(rule_surfaces(rules, layers, ground), ground, is_in_area)
    progress("airspace")
    airspace = judge_volumes(layers, ground, rule_sets, project)
    bands = bands_over(floor.amsl_m, airspace.blocking, ground, layers, project.margins)
    progress("gliding distance")
    glide = glide_surfaces(project, layers, ground)

    choice = choice_surfaces(rules, glide)
    need = what_a_glide_needs(glide, rules, choice)

    progress("judging the area")
    cells, binders = answer_cells(ground, floor, bands, airspace.blocking, glide, need, is_in_area)
    planned_ft = project.planned_altitudes_amsl_ft
    tallies = tally(cells)
    table = altitude_table(cells, planned_ft)
    planned = tuple(tallies.at(altitude) for altitude in planned_ft)
    records = _records(layers)
    air = (
        *wind_findings(rules, project),
        *weather_findings(project, layers, cells, rule_sets),
    )
    places = find_all(
        (*surfaces, *(row.over(is_in_area) for row in choice)),
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
        verdict=overall_verdict(planned, air_verdict(air)),
        planned=planned,
        by_altitude=tuple(tallies.at(altitude) for altitude in table),
        block=find_block(tallies, planned_ft),
        best=best_altitude(tallies, table, planned_ft),
        findings=gravest_first((*air, *places)),
        sources=records,
        cautions=cautions_for(project, glide.measured),
        warnings=(
            *flying_warnings(rules, air, project.weather),
            *all_warnings(
                project, layers, ground, records, airspace, glide, (*air, *places), is_in_area
            ),
        ),
        measured=glide.measured,
        candidates=glide.candidates.others,
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
        layers.land_cover,
        layers.rails,
        layers.fences,
        layers.section_lines,
        layers.canals,
        layers.landmarks,
        layers.references,
    )
    return (
        layers.area.record,
        layers.terrain.record,
        *(layer.record for group in groups for layer in group),
    )
