"""The altitude that a place asks for on one track: a manoeuvre's own heading, not the worst."""

from __future__ import annotations

from collections.abc import Callable

from attrs import frozen

from areaplan.planning.flown import Course, flown_scene, judge_course
from areaplan.planning.plan import UNKNOWN_FT, UNREACHABLE_FT, Plan


@frozen
class TrackAnswer:
    """What a place asks for on one track.

    Attributes
    ----------
    track_deg_true : float
        Over the ground, when the engine fails.
    glide_required_amsl_ft : int or None
        Lowest altitude from which a field is reached, whole feet AMSL; None where unknown or where
        no altitude considered is enough. The school's rules on the choice of fields are not in it.
    is_unknown : bool
    """

    track_deg_true: float
    glide_required_amsl_ft: int | None
    is_unknown: bool


def answer_track(
    plan: Plan, lat: float, lon: float, track_deg_true: float, progress: Callable[[str], None]
) -> TrackAnswer:
    """Look up what a place asks for on a track, as `flown.judge_course` answers it.

    Parameters
    ----------
    plan : Plan
    lat, lon : float
        Degrees WGS 84.
    track_deg_true : float
        Stands for the tracks of its 15-degree step (`engine.worst_heading.required_for_tracks`).
    progress : callable
        Told in a few words what is being done.

    Raises
    ------
    InputError
        The terrain files have changed since the plan was made.
    """
    x_m, y_m = plan.frame.to_local(lon, lat)
    course = Course(float(x_m), float(y_m), 0.0, track_deg_true)  # any altitude asks for the same
    found = judge_course(flown_scene(plan, progress=progress), course)
    feet = int(found.glide_required_amsl_ft[0])
    known = None if feet in (UNKNOWN_FT, UNREACHABLE_FT) else feet
    return TrackAnswer(track_deg_true, known, feet == UNKNOWN_FT)
