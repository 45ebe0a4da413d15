"""A recorded flight judged inside the practice area: for debriefing, not for enforcement.

Only pieces flown inside the drawn area are judged; take-off, landing and the way there are not. The
glide is that from the track flown, as `planning.flown` computes it.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import numpy as np
from attrs import frozen

from areaplan.grid import BoolArray
from areaplan.planning.flight_altitudes import AltitudeCheck, check_altitudes
from areaplan.planning.flight_course import (
    LONGEST_STEP_S,
    FlightCourse,
    altitudes_flown,
    flight_course,
)
from areaplan.planning.flight_judge import FlightJudge, RuleMargin, Seconds, feet_or_none
from areaplan.planning.flight_spells import Moment, Spell
from areaplan.planning.flown import CourseMargins, FlownScene, judge_course
from areaplan.planning.plan import Plan, Verdict
from areaplan.sources.recorded_flight import RecordedFlight
from areaplan.units import feet_down, feet_text, feet_up

PURPOSE: Final = "For debriefing, not for enforcement: a recording proves neither place nor height."


@frozen(eq=False)
class FlightReview:
    """What a recorded flight shows.

    Attributes
    ----------
    plan : Plan
    flight : RecordedFlight
    altitude_words : str
        Where the altitudes come from.
    uncertainty_ft : int
        Of the altitudes: margins nearer to 0 than this prove nothing.
    altitude_check : AltitudeCheck
        Whether the satellite altitudes contradict the altimeter setting.
    flown : FlightCourse
    margins : CourseMargins
        Of every piece, inside the area or not.
    is_judged : bool array
        Pieces flown inside the area.
    verdict : Verdict
        NOT_MET where some margin is certainly negative; UNKNOWN where none is, but something is
        unknown or within the uncertainty, or nothing was flown inside the area; else MET. Where
        two altitudes contradict each other: NOT_MET if it is by both, else UNKNOWN.
    seconds : Seconds
    by_rule : tuple of RuleMargin
        The smallest margin first.
    lowest : tuple of Moment
        The lowest heights above ground, apart from one another.
    least_glide : Moment or None
        Where the margin to the glide was smallest; its margin in `least_glide_ft`.
    least_glide_ft : int or None
    spells : tuple of Spell
        In the order flown.
    notes : tuple of str
        What a person must know before believing any of it.
    """

    plan: Plan
    flight: RecordedFlight
    altitude_words: str
    uncertainty_ft: int
    altitude_check: AltitudeCheck
    flown: FlightCourse
    margins: CourseMargins
    is_judged: BoolArray
    verdict: Verdict
    seconds: Seconds
    by_rule: tuple[RuleMargin, ...]
    lowest: tuple[Moment, ...]
    least_glide: Moment | None
    least_glide_ft: int | None
    spells: tuple[Spell, ...]
    notes: tuple[str, ...]

    @property
    def altitudes_amsl_ft(self) -> tuple[int, int] | None:
        """Lowest and highest altitude of the recording, rounded down; None where none is known.

        Told first, as a recording in wrong units shows itself here.
        """
        altitude_m = self.flown.course.altitude_amsl_m
        known_m = altitude_m[np.isfinite(altitude_m)]
        return (
            (feet_down(float(known_m.min())), feet_down(float(known_m.max())))
            if known_m.size
            else None
        )


def review_flight(
    scene: FlownScene,
    flight: RecordedFlight,
    altimeter_setting_pa: float | None,
    uncertainty_m: float,
) -> FlightReview:
    """Judge a recorded flight.

    Parameters
    ----------
    scene : FlownScene
    flight : RecordedFlight
    altimeter_setting_pa : float or None
        What the altimeter was set to, pascals; None takes satellite altitudes.
    uncertainty_m : float
        Of the altitudes, metres, either way.

    Raises
    ------
    InputError
        No altitude can be used, or no two fixes follow each other closely.
    """
    altitude_m, words = altitudes_flown(flight, altimeter_setting_pa)
    flown, by_satellites = (
        flight_course(flight, each_m, scene.plan.frame, scene.plan.grid.cell_m)
        for each_m in (altitude_m, flight.gnss_amsl_m)
    )
    margins = judge_course(scene, flown.course)
    judge = FlightJudge(scene, flown, margins, feet_up(uncertainty_m))
    check = check_altitudes(
        flight, altimeter_setting_pa, flown, by_satellites, judge.is_judged, judge.uncertainty_ft
    )
    if check.contradiction:
        judge.other = FlightJudge(
            scene, by_satellites, judge_course(scene, by_satellites.course), judge.uncertainty_ft
        )
    glide_at = judge.least(margins.glide_margin_ft)
    return FlightReview(
        plan=scene.plan,
        flight=flight,
        altitude_words=words,
        uncertainty_ft=judge.uncertainty_ft,
        altitude_check=check,
        flown=flown,
        margins=margins,
        is_judged=judge.is_judged,
        verdict=judge.verdict(),
        seconds=judge.seconds(flight),
        by_rule=tuple(judge.by_rule()),
        lowest=tuple(map(judge.moment, judge.lowest())),
        least_glide=None if glide_at is None else judge.moment(glide_at),
        least_glide_ft=None
        if glide_at is None
        else feet_or_none(margins.glide_margin_ft[glide_at]),
        spells=tuple(sorted(judge.spells(), key=lambda spell: (spell.begin_s, spell.kind))),
        notes=(
            PURPOSE,
            *([check.note] if check.note else []),
            *_notes(scene, flight, flown, judge.uncertainty_ft),
            *flight.notes,
        ),
    )


def _notes(
    scene: FlownScene, flight: RecordedFlight, flown: FlightCourse, uncertainty_ft: int
) -> Iterator[str]:
    project = scene.plan.project
    yield (
        f"Altitudes are taken as true within {feet_text(uncertainty_ft)} either way: a smaller "
        "margin proves nothing. Cold air, a wrong setting or a poor fix can be off by more."
    )
    yield (
        f"Between fixes the aeroplane is taken to have flown straight; each piece is judged by its "
        f"cell of {scene.plan.grid.cell_m:g} m, and a fix is a few metres off or more."
    )
    yield (
        "Heights above ground are above the highest ground of the cell. A take-off or landing "
        "inside the area is judged like the rest of the flight, although the rules make an "
        "exception for what take-off and landing require."
    )
    yield "The glide is that from the track over the ground, in a wind given, not the wind met."
    yield from scene.notes
    if flight.begins.date() != project.day:
        yield (
            f"The flight was on {flight.begins.date()}; rules, data and hours of airspace are "
            f"those of {project.day}."
        )
    if flown.gaps_s:
        yield (
            f"Gaps of more than {LONGEST_STEP_S:g} s, or between pieces of the recording: "
            f"{len(flown.gaps_s)}. Nothing is known of them."
        )
