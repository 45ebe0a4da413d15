"""The pieces of a recorded flight judged one by one, and what is added up over them.

What `planning.flight_review` tells is asked of one `FlightJudge`.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Final

import numpy as np
from attrs import frozen
from numpy.typing import NDArray

from areaplan.grid import BoolArray, Int32Array
from areaplan.planning.flight_course import FlightCourse
from areaplan.planning.flight_spells import Moment, Spell, SpellKind, lowest_apart, runs
from areaplan.planning.flown import NEVER_FT, CourseMargins, FlownScene
from areaplan.planning.plan import NOBODY, UNKNOWN_FT, Binder, Limit, Verdict
from areaplan.sources.recorded_flight import RecordedFlight
from areaplan.units import FOOT_M

ON_GROUND_M: Final = 30.0  # slow and lower than this above the highest ground: taxiing
SLOW_SHARE: Final = 0.5  # of the stall speed
MOST_LOW: Final = 5


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


class FlightJudge:
    """The pieces flown, and what holds at each: shared by everything that is told of them."""

    def __init__(
        self, scene: FlownScene, flown: FlightCourse, margins: CourseMargins, uncertainty_ft: int
    ) -> None:
        self.plan, self.flown, self.margins = scene.plan, flown, margins
        self.uncertainty_ft = uncertainty_ft
        self.other: FlightJudge | None = None  # by the altitudes that contradict these
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
            height_agl_ft=feet_or_none(self.margins.height_agl_ft[index]),
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
                margin_ft=feet_or_none(margin[index]),
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
                worst_margin_ft=None if margin_ft is None else feet_or_none(margin_ft[worst]),
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


def feet_or_none(value: Any) -> int | None:
    """Whole feet; None for unknown, and for what no altitude would meet."""
    feet = int(value)
    return None if feet in (UNKNOWN_FT, NEVER_FT) else feet
