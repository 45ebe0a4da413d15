"""The result of an evaluation cut down to what a later comparison needs; it can be saved."""

from __future__ import annotations

import os
from collections.abc import Mapping
from datetime import date

from attrs import frozen
from shapely.geometry.base import BaseGeometry

from areaplan import __version__
from areaplan.geodesy import LocalFrame
from areaplan.grid import Grid
from areaplan.planning.plan import (
    Binder,
    Block,
    Finding,
    JudgedCells,
    Limit,
    Plan,
    Shares,
    Verdict,
)
from areaplan.planning.rules_told import RuleTold, Told, rules_told
from areaplan.planning.setting_words import settings_told
from areaplan.planning.things_told import Thing, things_told
from areaplan.sources.layers import SourceRecord


@frozen
class JudgedProject:
    """The words of a project by which a result is known again.

    Attributes
    ----------
    path : str
        The project file, as it was named when it was judged.
    sha256 : str
        Its digest.
    name, school : str
    day : date
        The day for which validity was judged.
    planned_altitudes_amsl_ft : tuple of int
        Whole feet, ascending.
    wind : str
        In trade form, such as "210/14 kt".
    """

    path: str
    sha256: str
    name: str
    school: str
    day: date
    planned_altitudes_amsl_ft: tuple[int, ...]
    wind: str


@frozen
class SavedFile:
    """The file that a result was read from, and its SHA-256."""

    path: str
    sha256: str


@frozen(eq=False)
class Result:
    """What two plans are compared by. Immutable by convention: nobody writes into its arrays.

    Attributes
    ----------
    version : str
        The areaplan that judged it.
    project : JudgedProject
    area : shapely geometry
        The drawn practice area, longitude/latitude.
    limits : tuple of Limit
        In force.
    rules, settings : tuple of RuleTold, tuple of Told
        The same rules and what the school asks and assumes, value by value.
    things : mapping of str to tuple of Thing
        Rows of all layers by kind.
    cells : JudgedCells
    saved : SavedFile or None
        None for a plan that was judged just now.
    frame, grid, verdict, block, best, findings, binders, sources, cautions, warnings
        As of `Plan`.
    """

    version: str
    project: JudgedProject
    frame: LocalFrame
    grid: Grid
    area: BaseGeometry
    verdict: Verdict
    block: Block | None
    best: Shares
    findings: tuple[Finding, ...]
    limits: tuple[Limit, ...]
    binders: tuple[Binder, ...]
    sources: tuple[SourceRecord, ...]
    cautions: tuple[str, ...]
    warnings: tuple[str, ...]
    rules: tuple[RuleTold, ...]
    settings: tuple[Told, ...]
    things: Mapping[str, tuple[Thing, ...]]
    cells: JudgedCells
    saved: SavedFile | None = None


def result_of(plan: Plan) -> Result:
    """Cut a plan down to what a comparison needs.

    Raises
    ------
    InputError
        A rule file of the project has become unusable since the plan was made.
    """
    project = plan.project
    return Result(
        version=__version__,
        project=JudgedProject(
            # A name that is not UTF-8 could not be printed, or saved.
            path=os.fsencode(project.path).decode("utf-8", "replace"),
            sha256=project.sha256,
            name=project.name,
            school=project.school,
            day=project.day,
            planned_altitudes_amsl_ft=project.planned_altitudes_amsl_ft,
            wind=str(project.wind),
        ),
        frame=plan.frame,
        grid=plan.grid,
        area=plan.layers.area.rows[0].geometry,
        verdict=plan.verdict,
        block=plan.block,
        best=plan.best,
        findings=plan.findings,
        limits=plan.limits,
        binders=plan.binders,
        sources=plan.sources,
        cautions=plan.cautions,
        warnings=plan.warnings,
        rules=rules_told(project),
        settings=settings_told(project),
        things={kind: tuple(rows) for kind, rows in things_told(plan).items()},
        cells=plan.cells,
    )
