"""Which places serve a figure in which winds, and the fewest that serve them all.

A place serves a direction of the wind up to a speed when the figure fits there in that wind at
every speed flown: half of it and all of it, and in calm air. Between the speeds flown nothing is
proven; the answer says which they were.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from typing import Final

import numpy as np
from attrs import frozen

from areaplan.engine.covering import fewest_that_cover
from areaplan.grid import BoolArray
from areaplan.planning.evaluation import silent
from areaplan.planning.ground_reference import Reference
from areaplan.planning.plan import Plan, Verdict
from areaplan.planning.site_flying import SiteScene, fly_site, site_scene
from areaplan.planning.site_layouts import Layout, lay_out
from areaplan.planning.site_looks import coarse_room_ft
from areaplan.planning.site_room import figure_room
from areaplan.planning.sites import site_references
from areaplan.rules.figures_asked import Figure
from areaplan.units import Wind

DIRECTIONS: Final = 16
SPEED_SHARES: Final = (0.5, 1.0)
# Layouts flown exactly at one reference in one wind before it counts as not serving.
_TRIES: Final = 4


@frozen(eq=False)
class PlacesByWind:
    """One figure in winds from all directions.

    Attributes
    ----------
    figure : Figure
    greatest_mps : float
        The wind speed up to which is asked, m/s.
    speeds_mps : tuple of float
        Those flown; 0 first.
    directions_deg_true : tuple of float
        Where the winds blow from.
    places : tuple of str
        Names of the references that serve any direction, those that serve most first.
    serves : bool array, shape (places, directions)
    fewest : tuple of int
        The least number of places that together serve every direction that any serves; indices
        into `places`, the one that serves most first.
    is_unknown : bool
        Part of the area can't be told for this figure.
    """

    figure: Figure
    greatest_mps: float
    speeds_mps: tuple[float, ...]
    directions_deg_true: tuple[float, ...]
    places: tuple[str, ...]
    serves: BoolArray
    fewest: tuple[int, ...]
    is_unknown: bool

    @property
    def unserved_deg_true(self) -> tuple[float, ...]:
        """Directions that no place serves."""
        is_served: list[bool] = np.any(self.serves, axis=0, keepdims=True)[0].tolist()
        return tuple(
            deg
            for deg, is_one in zip(self.directions_deg_true, is_served, strict=True)
            if not is_one
        )

    @property
    def verdict(self) -> Verdict:
        """MET where every direction is served; UNKNOWN where the data may be why one is not."""
        if not self.unserved_deg_true:
            return Verdict.MET
        return Verdict.UNKNOWN if self.is_unknown else Verdict.NOT_MET


def places_by_wind(
    plan: Plan,
    greatest_mps: float,
    figures: Sequence[Figure],
    progress: Callable[[str], None] = silent,
) -> tuple[PlacesByWind, ...]:
    """Find which places serve figures in winds from all directions up to a speed.

    Parameters
    ----------
    plan : Plan
    greatest_mps : float
        Wind speed, m/s, above 0 and below the aircraft's airspeed.
    figures : sequence of Figure
    progress : callable
        Told in a few words what is being done.

    Raises
    ------
    InputError
        A source or rule file has become unusable since the plan was made, or a wind as fast as the
        aircraft.
    ValueError
        A wind that is not above 0.
    """
    if not greatest_mps > 0.0:
        raise ValueError(f"wind of {greatest_mps} m/s; expected above 0")
    rooms = {name: figure_room(plan, name) for name in {one.manoeuvre for one in figures}}
    directions = tuple(360.0 / DIRECTIONS * i for i in range(DIRECTIONS))
    calm = site_scene(plan, Wind(0.0, 0.0), rooms, progress)
    fastest = site_scene(plan, Wind(directions[0], greatest_mps), rooms, progress)
    references = site_references(fastest, figures)  # of the widest figures, hence of all
    progress("sites in calm air")
    alive = {one.id: _serving(calm, one, references) for one in figures}
    left: dict[tuple[str, int], set[int]] = {
        (one.id, d): set(alive[one.id]) for one in figures for d in range(DIRECTIONS)
    }
    for share in SPEED_SHARES:
        for d, direction in enumerate(directions):
            wanted = [one for one in figures if left[one.id, d]]
            if not wanted:
                continue
            progress(f"sites in wind from {direction:.0f} degrees")
            scene = site_scene(plan, Wind(direction, share * greatest_mps), rooms)
            for one in wanted:
                still = sorted(left[one.id, d])
                found = _serving(scene, one, [references[i] for i in still])
                left[one.id, d] = {still[i] for i in found}
    speeds = (0.0, *(share * greatest_mps for share in SPEED_SHARES))
    return tuple(
        _answer(
            one,
            greatest_mps,
            speeds,
            directions,
            references,
            left,
            is_unknown=bool(rooms[one.manoeuvre].is_unknown.any()),
        )
        for one in figures
    )


def _serving(scene: SiteScene, figure: Figure, references: Sequence[Reference]) -> set[int]:
    """Indices of the references at which a figure fits in a scene's wind."""
    number = {id(reference): i for i, reference in enumerate(references)}
    layouts = list(lay_out(figure, references, scene.flight))
    if not layouts:
        return set()
    room_ft = coarse_room_ft(scene, layouts)
    by_place: dict[int, list[tuple[float, Layout]]] = defaultdict(list)
    for one_ft, layout in zip(room_ft.tolist(), layouts, strict=True):
        if one_ft >= 0.0:
            by_place[number[id(layout.reference)]].append((one_ft, layout))
    return {place for place, rows in by_place.items() if _fits(scene, rows)}


def _fits(scene: SiteScene, rows: list[tuple[float, Layout]]) -> bool:
    rows.sort(key=lambda row: -row[0])
    return any(fly_site(scene, layout).verdict is Verdict.MET for _, layout in rows[:_TRIES])


def _answer(
    figure: Figure,
    greatest_mps: float,
    speeds_mps: tuple[float, ...],
    directions: tuple[float, ...],
    references: Sequence[Reference],
    left: Mapping[tuple[str, int], set[int]],
    *,
    is_unknown: bool,
) -> PlacesByWind:
    serves = np.zeros((len(references), len(directions)), dtype=np.bool_)
    for d in range(len(directions)):
        serves[sorted(left[figure.id, d]), d] = True
    order = np.argsort(-serves.sum(axis=1), kind="stable")
    order = order[serves[order].any(axis=1)]
    kept = serves[order]
    return PlacesByWind(
        figure,
        greatest_mps,
        speeds_mps,
        directions,
        tuple(references[i].name for i in order.tolist()),
        kept,
        fewest_that_cover(kept),
        is_unknown,
    )
