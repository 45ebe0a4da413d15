"""From the margins of a course to what is told of it: the tightest places, stretches, shares."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from typing import Final

import numpy as np
from attrs import evolve, frozen
from numpy.typing import NDArray

from areaplan.grid import BoolArray, Float64Array, Int32Array
from areaplan.planning.flown import NEVER_FT, CourseMargins, FlownScene
from areaplan.planning.plan import NO_BAND_FT, NOBODY, UNKNOWN_FT
from areaplan.planning.point_margins import cells_under
from areaplan.planning.route_answers import Stretch, Tightest
from areaplan.planning.route_course import RouteCourse
from areaplan.units import NAUTICAL_MILE_M

# Between two stretches that fail, less than this is told as a part of them.
SHORTEST_GAP_M: Final = 0.1 * NAUTICAL_MILE_M
_MET, _FAILS, _UNKNOWN = range(3)
_LEAST_SHARE: Final = 1e-4  # for which a bend counts, which has no length


@frozen(eq=False)
class Told:
    """A course judged, and how its points are told."""

    scene: FlownScene
    flown: RouteCourse
    margins: CourseMargins

    def share(self, where: BoolArray) -> float:
        """Share of the length: 1 only for all points, 0 only for none, bends included."""
        if where.all() or not where.any():
            return float(where.all())
        weights = self.flown.length_m
        share = float(weights[where].sum() / weights.sum())
        return min(max(share, _LEAST_SHARE), 1.0 - _LEAST_SHARE)

    def legal(self, where: BoolArray) -> Tightest | None:
        """The smallest legal margin of some points."""
        at = _least(self.margins.legal_margin_ft, where)
        if at is None:
            return None
        binder = int(self.margins.legal_binder[at])
        found = self.tightest_at(at, int(self.margins.legal_margin_ft[at]))
        return found if binder == NOBODY else evolve(found, binder=self.scene.plan.binders[binder])

    def glide(self, where: BoolArray) -> Tightest | None:
        """The smallest margin of the glide of some points."""
        at = _least(self.margins.glide_margin_ft, where)
        if at is None:
            return None
        field, required = int(self.margins.field[at]), int(self.margins.glide_required_amsl_ft[at])
        found = self.tightest_at(at, int(self.margins.glide_margin_ft[at]))
        return evolve(
            found,
            required_amsl_ft=None if found.margin_ft is None else required,
            field=None if field == NOBODY else self.scene.plan.fields[field].name,
        )

    def tightest_at(self, at: int, margin_ft: int) -> Tightest:
        """A margin at a point, with its place."""
        course, frame = self.flown.course, self.scene.plan.frame
        lon, lat = frame.to_lonlat(float(course.x_m[at]), float(course.y_m[at]))
        along_m = float(self.flown.begin_m[at] + self.flown.length_m[at] / 2.0)
        return Tightest(
            margin_ft=None if margin_ft == NEVER_FT else margin_ft,
            lat=float(lat),
            lon=float(lon),
            along_nm=along_m / NAUTICAL_MILE_M,
            track_deg_true=float(course.track_deg_true[at]),
        )

    def stretches(self) -> Iterator[Stretch]:
        """Every part that is not met, unknown ones apart; short gaps between two are closed."""
        margins = self.margins
        not_legal = (margins.legal_margin_ft < 0) & (margins.legal_margin_ft != UNKNOWN_FT)
        no_field = (margins.glide_margin_ft < 0) & (margins.glide_margin_ft != UNKNOWN_FT)
        kind = np.where(margins.is_unknown, _UNKNOWN, np.where(margins.is_met, _MET, _FAILS))
        ends_m = self.flown.begin_m + self.flown.length_m
        for first, end in _runs(kind, self.flown.begin_m, ends_m):
            where = np.zeros(kind.shape, dtype=np.bool_)
            where[first:end] = True
            yield Stretch(
                begin_nm=float(self.flown.begin_m[first]) / NAUTICAL_MILE_M,
                end_nm=float(ends_m[end - 1]) / NAUTICAL_MILE_M,
                is_unknown=bool(kind[first] == _UNKNOWN),
                is_not_legal=bool(not_legal[where].any()),
                is_without_field=bool(no_field[where].any()),
                legal=self.legal(where & not_legal),
                glide=self.glide(where & no_field),
            )


def lowest_met_ft(scene: FlownScene, flown: RouteCourse, margins: CourseMargins) -> int | None:
    """The lowest altitude, whole feet AMSL, at which all points would be legal with a field.

    None where any point is unknown, or none is up to the scene's `highest_amsl_ft`.
    """
    if margins.is_unknown.any():
        return None
    plan = scene.plan
    row, col, _ = cells_under(plan.grid, flown.course.x_m, flown.course.y_m)
    bands = plan.cells.bands_amsl_ft[:, :, row, col]
    is_band = bands[:, 0] != NO_BAND_FT
    needed_ft = int(margins.glide_required_amsl_ft.max())
    # All points are open at the lowest such altitude, and just below it one is not, or the glide.
    floors_ft = np.unique(bands[:, 0][is_band]).tolist()
    for altitude_ft in [needed_ft, *(floor_ft for floor_ft in floors_ft if floor_ft > needed_ft)]:
        if altitude_ft > scene.highest_amsl_ft:
            return None
        is_open = is_band & (bands[:, 0] <= altitude_ft) & (altitude_ft <= bands[:, 1])
        if is_open.any(axis=0).all():
            return int(altitude_ft)
    return None


def _least(margin_ft: Int32Array, where: BoolArray) -> int | None:
    """The first point of the smallest known margin among some."""
    known = np.flatnonzero(where & (margin_ft != UNKNOWN_FT))
    return int(known[margin_ft[known].argmin()]) if known.size else None


def _runs(
    kind: NDArray[np.int64], begin_m: Float64Array, end_m: Float64Array
) -> list[tuple[int, int]]:
    """First and end of the runs of one kind, but for those met; joined over short gaps met."""
    changes = np.flatnonzero(kind[1:] != kind[:-1]) + 1
    runs: list[tuple[int, int]] = []
    for first, end in pairwise([0, *changes.tolist(), kind.size]):
        if kind[first] == _MET:
            continue
        if runs:
            before, last = runs[-1]
            is_near = begin_m[first] - end_m[last - 1] < SHORTEST_GAP_M and first > last
            if is_near and kind[first] == kind[last - 1]:
                runs[-1] = (before, end)
                continue
        runs.append((first, end))
    return runs
