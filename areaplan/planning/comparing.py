"""The legal floor at one place of a project under several rule sets."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from attrs import evolve, frozen

from areaplan.planning.evaluation import evaluate, silent
from areaplan.planning.point import PointAnswer, answer_point, unknown_airspace_at
from areaplan.planning.project import Project
from areaplan.rules.model import RuleSet


@frozen
class PlaceUnderSet:
    """What `areaplan point` would say at the place if the project named one set alone.

    `unknown_airspace` names the volumes there that the set does not know.
    """

    rule_set: str
    answer: PointAnswer
    unknown_airspace: tuple[str, ...] = ()


def compare_at(
    project: Project,
    rule_sets: Sequence[RuleSet],
    lat: float,
    lon: float,
    progress: Callable[[str], None] = silent,
) -> tuple[PlaceUnderSet, ...]:
    """Evaluate a project under each rule set alone and look one place up.

    The project's own rule sets, policy files too, are left out: each set speaks by itself.

    Parameters
    ----------
    project : Project
    rule_sets : sequence of RuleSet
    lat, lon : float
        Degrees WGS 84.
    progress : callable
        Told in a few words what is being done.

    Raises
    ------
    InputError
        A source or rule file is unusable.
    """
    altitude_ft = project.planned_altitudes_amsl_ft[0]
    rows = []
    for one in rule_sets:
        name = one.id if one.path is None else str(one.path)
        alone = evolve(project, rule_sets=(name,), rule_paths=(one.path,))
        plan = evaluate(alone, progress)
        answer = answer_point(plan, lat, lon, altitude_ft)
        rows.append(PlaceUnderSet(one.id, answer, unknown_airspace_at(plan, lat, lon)))
    return tuple(rows)
