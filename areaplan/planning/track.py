"""The altitude that a place asks for on one track: a manoeuvre's own heading, not the worst."""

from __future__ import annotations

from collections.abc import Callable

from attrs import frozen

from areaplan.engine.worst_heading import required_for_tracks
from areaplan.errors import OutsideDataError
from areaplan.planning.cells import feet_up_array
from areaplan.planning.glide import glide_scene, own_winds, sectors_in_wind, turn_model
from areaplan.planning.plan import UNKNOWN_FT, UNREACHABLE_FT, Plan
from areaplan.planning.reading import read_layers


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
    """Look up what a place asks for on a track; the project's sources are read once more.

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
        A source has become unusable since.
    """
    x_m, y_m = plan.frame.to_local(lon, lat)
    try:
        cell = plan.grid.cell_of(float(x_m), float(y_m))
    except OutsideDataError:
        return TrackAnswer(track_deg_true, None, True)
    layers, ground = read_layers(plan.project, progress)
    progress("gliding distance on the track")
    scene = glide_scene(plan.project, layers, ground)
    winds = own_winds(scene)
    required = required_for_tracks(
        sectors_in_wind(scene, winds, is_labelled=False),
        scene.surface_amsl_m,
        ground.grid.cell_m,
        turn_model(scene, winds),
        track_deg_true,
    )
    feet = int(feet_up_array(required[cell].reshape(1, 1))[0, 0])
    known = None if feet in (UNKNOWN_FT, UNREACHABLE_FT) else feet
    return TrackAnswer(track_deg_true, known, feet == UNKNOWN_FT)
