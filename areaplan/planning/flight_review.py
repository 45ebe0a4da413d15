"""A recorded flight judged inside the practice area: for debriefing, not for enforcement.

Only pieces flown inside the drawn area are judged; take-off, landing and the way there are not. The
glide is that from the track flown, as `planning.flown` computes it.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Final

import numpy as np
from attrs import frozen
from numpy.typing import NDArray

from areaplan.grid import BoolArray, Int32Array
from areaplan.planning.flight_altitudes import AltitudeCheck, check_altitudes
from areaplan.planning.flight_course import (
    LONGEST_STEP_S,
    FlightCourse,
    altitudes_flown,
    flight_course,
)
from areaplan.planning.flight_spells import Moment, Spell, SpellKind, lowest_apart, runs
from areaplan.planning.flown import NEVER_FT, CourseMargins, FlownScene, judge_course
from areaplan.planning.plan import NOBODY, UNKNOWN_FT, Binder, Limit, Plan, Verdict
from areaplan.sources.recorded_flight import RecordedFlight
from areaplan.units import FOOT_M, feet_down, feet_up

ON_GROUND_M: Final = 30.0  # slow and lower than this above the highest ground: taxiing
SLOW_SHARE: Final = 0.5  # of the stall speed
MOST_LOW: Final = 5
PURPOSE: Final = "For debriefing, not for enforcement: a recording proves neither place nor height."


@frozen
class RuleMargin:
    """How near the flight came to one rule's edge where that rule bound.

    `seconds_beyond` is the time on the wrong side; `margin_ft` None: no altitude is open there.
    """

    limit: Limit
    feature: str
    margin_ft: int | None
    seconds_beyond: float
    nearest: Moment


@frozen
class Seconds:
    """How long what held; all but `recorded` and `gaps` of the time flown inside the area."""

    recorded: float
    in_area: float
    met: float
    not_legal: float
    no_field: float
    unknown: float
    within_uncertainty: float
    gaps: float


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
    judge = _Judge(scene, flown, margins, feet_up(uncertainty_m))
    check = check_altitudes(
        flight, altimeter_setting_pa, flown, by_satellites, judge.is_judged, judge.uncertainty_ft
    )
    if check.contradiction:
        judge.other = _Judge(
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
        least_glide_ft=None if glide_at is None else _feet(margins.glide_margin_ft[glide_at]),
        spells=tuple(sorted(judge.spells(), key=lambda spell: (spell.begin_s, spell.kind))),
        notes=(
            PURPOSE,
            *([check.note] if check.note else []),
            *_notes(scene, flight, flown, judge.uncertainty_ft),
            *flight.notes,
        ),
    )


class _Judge:
    """The pieces flown, and what holds at each: shared by everything that is told of them."""

    def __init__(
        self, scene: FlownScene, flown: FlightCourse, margins: CourseMargins, uncertainty_ft: int
    ) -> None:
        self.plan, self.flown, self.margins = scene.plan, flown, margins
        self.uncertainty_ft = uncertainty_ft
        self.other: _Judge | None = None  # by the altitudes that contradict these
        height_ft = margins.height_agl_ft
        is_slow = flown.groundspeed_mps < SLOW_SHARE * self.plan.project.aircraft.stall_speed_mps
        is_low = (height_ft != UNKNOWN_FT) & (height_ft * FOOT_M <= ON_GROUND_M)
        self.is_judged = margins.is_in_area & ~(is_slow & is_low)
        self.is_unknown = self.is_judged & (margins.is_unknown | flown.is_doubtful)
        is_known = self.is_judged & ~flown.is_doubtful
        self.is_legal_known = is_known & (margins.legal_margin_ft != UNKNOWN_FT)
        self.is_glide_known = is_known & (margins.glide_margin_ft != UNKNOWN_FT)
        self.is_not_legal = self.is_legal_known & (margins.legal_margin_ft < 0)
        self.is_no_field = self.is_glide_known & (margins.glide_margin_ft < 0)
        self.is_beyond = {  # and by more than the uncertainty
            SpellKind.NOT_LEGAL: self.is_legal_known & (margins.legal_margin_ft < -uncertainty_ft),
            SpellKind.NO_FIELD: self.is_glide_known & (margins.glide_margin_ft < -uncertainty_ft),
        }

    def verdict(self) -> Verdict:
        """The flight's verdict; see `FlightReview`."""
        verdict = self._verdict_alone()
        if self.other is None:
            return verdict
        is_broken_by_both = verdict is self.other._verdict_alone() is Verdict.NOT_MET
        return Verdict.NOT_MET if is_broken_by_both else Verdict.UNKNOWN

    def _verdict_alone(self) -> Verdict:
        if any(is_beyond.any() for is_beyond in self.is_beyond.values()):
            return Verdict.NOT_MET
        both = (
            (self.is_legal_known, self.margins.legal_margin_ft),
            (self.is_glide_known, self.margins.glide_margin_ft),
        )
        is_near = any((margin[known] < self.uncertainty_ft).any() for known, margin in both)
        has_gap = any(True for _ in self.gaps_inside())
        if is_near or has_gap or self.is_unknown.any() or not self.is_judged.any():
            return Verdict.UNKNOWN
        return Verdict.MET

    def gaps_inside(self) -> Iterator[tuple[float, float, int]]:
        """Gaps that may have been flown inside, as they begin or end there; and a piece beside."""
        for begin_s, end_s in self.flown.gaps_s:
            before = np.flatnonzero(self.flown.time_s <= begin_s)[-1:]
            after = np.flatnonzero(self.flown.time_s >= end_s)[:1]
            beside = np.concatenate([before, after])
            inside = beside[self.is_judged[beside]]
            if inside.size:
                yield begin_s, end_s, int(inside[0])

    def seconds(self, flight: RecordedFlight) -> Seconds:
        """Add up the time of the pieces."""

        def of(chosen: NDArray[Any]) -> float:
            return float(self.flown.lasts_s[chosen].sum())

        legal_ft, glide_ft = self.margins.legal_margin_ft, self.margins.glide_margin_ft
        is_bad = self.is_not_legal | self.is_no_field
        is_near = (self.is_legal_known & self._is_near(legal_ft)) | (
            self.is_glide_known & self._is_near(glide_ft)
        )
        return Seconds(
            recorded=float(flight.time_s[-1]),
            in_area=of(self.is_judged),
            met=of(self.is_judged & ~is_bad & ~self.is_unknown),
            not_legal=of(self.is_not_legal),
            no_field=of(self.is_no_field),
            unknown=of(self.is_unknown),
            within_uncertainty=of(is_near),
            gaps=sum(end - begin for begin, end in self.flown.gaps_s),
        )

    def _is_near(self, margin_ft: Int32Array) -> BoolArray:
        """Margins that prove nothing: neither certainly negative nor certainly not."""
        return np.asarray((margin_ft >= -self.uncertainty_ft) & (margin_ft < self.uncertainty_ft))

    def moment(self, index: int) -> Moment:
        """The piece at an index, as people are told it."""
        course = self.flown.course
        lon, lat = self.plan.frame.to_lonlat(course.x_m[index], course.y_m[index])
        altitude_m, track = (
            float(course.altitude_amsl_m[index]),
            float(course.track_deg_true[index]),
        )
        return Moment(
            time_s=float(self.flown.time_s[index]),
            lat=float(lat),
            lon=float(lon),
            altitude_amsl_ft=None if np.isnan(altitude_m) else int(np.floor(altitude_m / FOOT_M)),
            height_agl_ft=_feet(self.margins.height_agl_ft[index]),
            track_deg_true=None if np.isnan(track) else track,
        )

    def least(self, margin_ft: Int32Array) -> int | None:
        """Index of the smallest known margin of the judged pieces."""
        known = np.flatnonzero(self.is_judged & ~self.flown.is_doubtful & (margin_ft != UNKNOWN_FT))
        return None if known.size == 0 else int(known[np.argmin(margin_ft[known])])

    def lowest(self) -> tuple[int, ...]:
        """Indices of the lowest heights above ground."""
        height = self.margins.height_agl_ft
        known = np.flatnonzero(self.is_judged & ~self.flown.is_doubtful & (height != UNKNOWN_FT))
        found = lowest_apart(height[known], self.flown.time_s[known], MOST_LOW)
        return tuple(int(known[index]) for index in found)

    def by_rule(self) -> Iterator[RuleMargin]:
        """The smallest margin to each rule where it bound, the smallest of all first."""
        binder, margin = self.margins.legal_binder, self.margins.legal_margin_ft
        bound = np.flatnonzero(self.is_legal_known & (binder != NOBODY))
        nearest: dict[Limit, int] = {}
        beyond_s: dict[Limit, float] = {}
        for index in bound[np.argsort(margin[bound], kind="stable")].tolist():
            limit = self.plan.binders[binder[index]].limit
            nearest.setdefault(limit, index)
            if margin[index] < 0:
                beyond_s[limit] = beyond_s.get(limit, 0.0) + float(self.flown.lasts_s[index])
        for limit, index in nearest.items():
            yield RuleMargin(
                limit=limit,
                feature=self.plan.binders[binder[index]].feature,
                margin_ft=_feet(margin[index]),
                seconds_beyond=beyond_s.get(limit, 0.0),
                nearest=self.moment(index),
            )

    def spells(self) -> Iterator[Spell]:
        """Every spell of each kind."""
        yield from self._spells(
            SpellKind.NOT_LEGAL, self.is_not_legal, self.margins.legal_margin_ft
        )
        yield from self._spells(SpellKind.NO_FIELD, self.is_no_field, self.margins.glide_margin_ft)
        yield from self._spells(SpellKind.UNKNOWN, self.is_unknown, None)
        for begin_s, end_s, beside in self.gaps_inside():
            moment = self.moment(beside)
            yield Spell(SpellKind.NOT_RECORDED, begin_s, end_s, None, False, moment)

    def _spells(
        self, kind: SpellKind, is_in: BoolArray, margin_ft: Int32Array | None
    ) -> Iterator[Spell]:
        time_s, half_s = self.flown.time_s, self.flown.lasts_s / 2.0
        for run in runs(is_in, time_s, self.flown.lasts_s):
            worst = int(run[0] if margin_ft is None else run[np.argmin(margin_ft[run])])
            yield Spell(
                kind=kind,
                begin_s=float(time_s[run[0]] - half_s[run[0]]),
                end_s=float(time_s[run[-1]] + half_s[run[-1]]),
                worst_margin_ft=None if margin_ft is None else _feet(margin_ft[worst]),
                is_certain=kind in self.is_beyond and bool(self._is_certain(kind)[run].any()),
                worst=self.moment(worst),
                binder=self._binder(worst) if kind is SpellKind.NOT_LEGAL else None,
            )

    def _is_certain(self, kind: SpellKind) -> BoolArray:
        """Pieces beyond the uncertainty, whichever of two altitudes is believed."""
        is_beyond: BoolArray = self.is_beyond[kind]
        if self.other is None:
            return is_beyond
        return np.asarray(is_beyond & self.other.is_beyond[kind])

    def _binder(self, index: int) -> Binder | None:
        number = int(self.margins.legal_binder[index])
        return None if number == NOBODY else self.plan.binders[number]


def _feet(value: Any) -> int | None:
    """Whole feet; None for unknown, and for what no altitude would meet."""
    feet = int(value)
    return None if feet in (UNKNOWN_FT, NEVER_FT) else feet


def _notes(
    scene: FlownScene, flight: RecordedFlight, flown: FlightCourse, uncertainty_ft: int
) -> Iterator[str]:
    project = scene.plan.project
    yield (
        f"Altitudes are taken as true within {uncertainty_ft} ft either way: a smaller margin "
        "proves nothing. Cold air, a wrong setting or a poor fix can be off by more."
    )
    yield (
        f"Between fixes the aeroplane is taken to have flown straight; each piece is judged by its "
        f"cell of {scene.plan.grid.cell_m:g} m, and a fix is a few metres off or more."
    )
    yield (
        "Heights above ground are above the highest ground of the cell. Take-offs and landings "
        "inside the area are judged like everything else: the rules except what they need."
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
