"""Which volumes the project proves to be inactive at the planned time; all others are active."""

from __future__ import annotations

from areaplan.planning.project import Inactive, Project
from areaplan.sources.activity import CLEAR_AFTER, is_clearly_inactive
from areaplan.sources.layers import AirspaceVolume


def why_inactive(row: AirspaceVolume, project: Project) -> str:
    """Why a volume is not active at the planned time; "" where nothing proves it.

    Two things prove it, and both need a planned time: a declaration of the project for this volume
    that holds from then for as long as a lesson may last (`CLEAR_AFTER`), or published hours of
    which every word could be read by machine and which leave the planned time clear.
    """
    planned = project.planned_time
    if planned is None:
        return ""
    for declared in project.inactive:
        if declared.airspace == row.name and _holds(declared, project):
            until = declared.ends.isoformat(timespec="minutes")
            return f"declared inactive until {until}: {declared.reason}"
    if is_clearly_inactive(row.active, planned):
        when = planned.isoformat(timespec="minutes")
        return f"inactive by published hours at {when} ({row.hours})"
    return ""


def activity_warnings(project: Project, on_grid: set[str]) -> tuple[str, ...]:
    """Sentences on declarations that prove nothing, and on every volume opened by a time.

    Parameters
    ----------
    project : Project
    on_grid : set of str
        Names of the volumes on the grid.
    """
    said = []
    for declared in project.inactive:
        what = f"the declaration that {declared.airspace} is inactive"
        if project.planned_time is None:
            said.append(f"{what} needs a planned time ([time] planned): it counts as active")
        elif declared.airspace not in on_grid:
            said.append(f"{what} names no airspace on the grid")
        elif not _holds(declared, project):
            hours = CLEAR_AFTER.total_seconds() / 3600.0
            said.append(
                f"{what} does not hold from the planned time for {hours:.0f} hours "
                f"({declared.begins.isoformat(timespec='minutes')} to "
                f"{declared.ends.isoformat(timespec='minutes')}): it counts as active"
            )
    return tuple(said)


def _holds(declared: Inactive, project: Project) -> bool:
    planned = project.planned_time
    return (
        planned is not None
        and declared.begins <= planned
        and planned <= declared.ends - CLEAR_AFTER
    )
