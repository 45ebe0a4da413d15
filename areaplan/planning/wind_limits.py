"""Up to which wind from each direction every point of the area keeps a field.

What is tested, and what a limit says:

- The wind blows from one of 16 directions, steadily, the same at all heights, at calm and every
  `STEP_KT` knots up to `HIGHEST_KT` (unless asked otherwise), or as far as every track can still
  be flown at the gliding speed and at the manoeuvre's; from each direction also half a step below
  the first of these that fails.
- In each of these winds the whole glide is computed as for the plan (`glide.py`: whatever the
  heading when the engine fails), and each cell of the area judged at the altitude, in whole feet.
- A limit is the strongest tested wind such that it *and every lighter one tested* hold. More wind
  does not always ask for more height (it may carry the glide over a ridge), so nothing is
  searched for by halving, and a wind beyond a failing one counts for nothing.
- A field counts in a wind when it counts in the project's own and some strip of it is long enough
  for the landing in that wind, with no more crosswind than the aircraft's limit.
- Rules on the choice of fields that bind (a field in every direction) have to hold as well.
- Unknown is not held. A direction whose first failure is only for want of data says so.
- Between two directions take the lesser of their limits.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from itertools import chain

import numpy as np
from attrs import evolve, frozen

from areaplan.engine.tiles import Window, window_round, worst_heading_in
from areaplan.errors import InputError
from areaplan.grid import BoolArray, Int16Array
from areaplan.planning.cells import feet_up_array
from areaplan.planning.choice import binding_choice_rules, choice_amsl_m
from areaplan.planning.field_measure import counts_in_wind
from areaplan.planning.glide import (
    ABOVE_PLANNED_M,
    GlideScene,
    glide_scene,
    own_winds,
    sectors_in_wind,
    turn_model,
)
from areaplan.planning.ground import Ground
from areaplan.planning.layers import Layers
from areaplan.planning.limits import area_cells, sets_in_force
from areaplan.planning.limits_by_wind import (
    DIRECTION_STEP_DEG,
    DIRECTIONS,
    HIGHEST_KT,
    NOT_IN_CALM,
    OUTSIDE,
    STEP_KT,
    UNKNOWN_IN_CALM,
    DirectionLimit,
    Int8Array,
    WindLimits,
    year_share,
)
from areaplan.planning.plan import NOBODY, UNKNOWN_FT, UNREACHABLE_FT, Verdict
from areaplan.planning.project import Project
from areaplan.planning.winds import WindsMet
from areaplan.rules.loading import load_rule_sets
from areaplan.rules.model import Rule
from areaplan.sources.wind_climatology import read_climatology
from areaplan.units import FOOT_M, KNOT_MPS, Wind


def wind_limits(
    project: Project,
    layers: Layers,
    ground: Ground,
    altitude_amsl_ft: int,
    progress: Callable[[str], None] = lambda _: None,
    *,
    step_kt: int = STEP_KT,
    highest_kt: int = HIGHEST_KT,
) -> WindLimits:
    """Find the limits of the area at one altitude; see the module for what they say.

    Parameters
    ----------
    project : Project
    layers, ground
        As `reading.read_layers` gives them.
    altitude_amsl_ft : int
        Altitude to judge, feet AMSL.
    progress : callable
        Told in a few words what is being done.
    step_kt, highest_kt : int
        Winds to test: calm, and every step up to the highest; both at least 1.

    Raises
    ------
    ValueError
        A step or a highest wind below 1 kt.
    InputError
        The altitude is farther above the planned ones than airspeeds are considered for, or the
        climatology or a rule file is unusable.
    """
    if step_kt < 1 or highest_kt < 1:
        raise ValueError(f"winds every {step_kt} kt to {highest_kt} kt; expected 1 kt or more")
    _require_considered(project, altitude_amsl_ft)
    climatology = None
    if project.climatology is not None:
        climatology = read_climatology(project.climatology.path)
    progress("what the glide has to clear")
    scene = glide_scene(project, layers, ground)
    is_in_area = area_cells(layers.area.rows[0].geometry, ground)
    window = window_round(is_in_area)
    loaded = load_rule_sets(project.rule_sets, project.rule_paths)
    in_force = [rule for one in sets_in_force(loaded, project) for rule in one.rules]
    rules = binding_choice_rules(in_force)
    task = _Task(scene, window, is_in_area[window.slices], altitude_amsl_ft, step_kt, rules)
    calm = task.required_ft(Wind(0.0, 0.0))
    speeds_kt = [
        knots
        for knots in range(step_kt, highest_kt + 1, step_kt)
        if turn_model(scene, Wind(0.0, knots * KNOT_MPS)).has_headway
    ]
    cell_limit_kt = np.empty((DIRECTIONS, *window.shape), np.int8)
    directions = []
    for number in range(DIRECTIONS):
        from_deg = DIRECTION_STEP_DEG * number
        progress(f"wind from {from_deg:05.1f} degrees true, {number + 1} of {DIRECTIONS}")
        winds = [Wind(from_deg, knots * KNOT_MPS) for knots in speeds_kt]
        directions.append(task.limit(from_deg, winds, calm, cell_limit_kt[number]))
    progress("the project's own wind")
    limits = WindLimits(
        altitude_amsl_ft=altitude_amsl_ft,
        own_wind=project.wind,
        verdict=task.verdict(project.wind, calm),
        step_kt=step_kt,
        highest_kt=max(speeds_kt, default=0),
        directions=tuple(directions),
        window=window,
        cell_limit_kt=cell_limit_kt,
        year=None,
        rules=tuple(rule.title for rule in rules),
    )
    if project.climatology is None or climatology is None:
        return limits
    return evolve(limits, year=year_share(limits, climatology, project.climatology.source))


def _require_considered(project: Project, altitude_amsl_ft: int) -> None:
    highest_ft = project.planned_altitudes_amsl_ft[-1] + round(ABOVE_PLANNED_M / FOOT_M)
    if altitude_amsl_ft > highest_ft:
        raise InputError.single(
            str(project.path),
            "project.planned_altitudes",
            found=f"wind limits asked for at {altitude_amsl_ft} ft AMSL",
            expected=f"at most {highest_ft} ft AMSL: airspeeds are considered up to there",
            fix="add that altitude to the planned ones",
        )


@frozen(eq=False)
class _Task:
    """The area at one altitude, to be flown in one wind after the other."""

    scene: GlideScene
    window: Window
    is_in_area: BoolArray
    altitude_amsl_ft: int
    step_kt: int
    rules: tuple[Rule, ...]

    def scene_in(self, wind: Wind) -> GlideScene:
        """The scene without the fields on which no landing is short enough in a wind."""
        scene = self.scene
        lost = [
            number
            for number, row in enumerate(scene.measured)
            if row.counts and not counts_in_wind(row, scene.project, wind)
        ]
        if not lost:
            return scene
        is_lost = np.isin(scene.field_of, lost)
        return evolve(
            scene,
            field_of=np.where(is_lost, np.int16(NOBODY), scene.field_of),
            arrival_amsl_m=np.where(is_lost, np.float32(np.inf), scene.arrival_amsl_m),
        )

    def required_ft(self, wind: Wind | WindsMet) -> Int16Array:
        """Feet AMSL that each cell of the window asks for whatever the heading, as in the plan."""
        scene = self.scene_in(wind) if isinstance(wind, Wind) else self.scene
        is_labelled = any(rule.least_separate_fields is not None for rule in self.rules)
        surfaces = sectors_in_wind(scene, wind, is_labelled=is_labelled)
        model, cell_m = turn_model(scene, wind), scene.ground.grid.cell_m
        needed_m = worst_heading_in(self.window, surfaces, scene.surface_amsl_m, cell_m, model)
        here = (slice(None), *self.window.slices)
        fields = None if surfaces.field is None else surfaces.field[here]
        choice_m = choice_amsl_m(self.rules, surfaces.required_amsl_m[here], fields)
        return feet_up_array(needed_m if choice_m is None else np.maximum(needed_m, choice_m))

    def holds(self, required_ft: Int16Array) -> BoolArray:
        """Which cells of the area keep a field; false where unknown."""
        is_enough = (
            (required_ft != UNKNOWN_FT)
            & (required_ft != UNREACHABLE_FT)
            & (required_ft <= self.altitude_amsl_ft)
        )
        return np.asarray(self.is_in_area & is_enough)

    def verdict(self, wind: Wind, calm: Int16Array) -> Verdict:
        """Whether a wind and every lighter one tested from its direction hold."""
        steps = range(self.step_kt, math.ceil(wind.speed_mps / KNOT_MPS), self.step_kt)
        lighter = [Wind(wind.from_deg_true, knots * KNOT_MPS) for knots in steps]
        winds = [one for one in lighter if one.speed_mps < wind.speed_mps]
        tested: list[Wind | WindsMet] = [*winds, own_winds(self.scene)]
        is_unknown = False
        for required_ft in chain([calm], map(self.required_ft, tested)):
            fails = self.is_in_area & ~self.holds(required_ft)
            if np.any(fails & (required_ft != UNKNOWN_FT)):
                return Verdict.NOT_MET
            is_unknown |= bool(fails.any())
        return Verdict.UNKNOWN if is_unknown else Verdict.MET

    def limit(
        self, from_deg: float, winds: Sequence[Wind], calm: Int16Array, cell_limit_kt: Int8Array
    ) -> DirectionLimit:
        """Test ever stronger winds until no cell is left; fills the limits of the cells.

        Before the first wind that fails comes the one half a step below it: its answer is not
        sure, as more wind does not always ask for more height, so it is tested as well.
        """
        cell_limit_kt[...] = np.where(calm == UNKNOWN_FT, UNKNOWN_IN_CALM, NOT_IN_CALM)
        cell_limit_kt[~self.is_in_area] = OUTSIDE
        held, before, first_failure = self.is_in_area.copy(), calm, None
        last_wind = Wind(from_deg, 0.0)
        asked = [last_wind, *winds][::-1]
        answers = {0: calm}
        while asked:
            wind = asked.pop()
            knots = _knots(wind)
            required_ft = answers.get(knots)
            if required_ft is None:
                required_ft = self.required_ft(wind)
            now = self.holds(required_ft)
            is_failing = first_failure is None and not np.array_equal(now, self.is_in_area)
            between = knots - self.step_kt // 2
            if is_failing and _knots(last_wind) < between < knots:
                answers[knots] = required_ft
                asked += [wind, Wind(from_deg, between * KNOT_MPS)]
                continue
            held &= now
            cell_limit_kt[held] = knots
            if is_failing:
                first_failure = self._failure(wind, last_wind, now, required_ft, before)
            if not held.any():
                break
            before, last_wind = required_ft, wind
        if first_failure is not None:
            return first_failure
        return DirectionLimit(from_deg, _knots(last_wind))

    def _failure(
        self,
        wind: Wind,
        last_wind: Wind,
        holds: BoolArray,
        required_ft: Int16Array,
        before_ft: Int16Array,
    ) -> DirectionLimit:
        """What the first wind that does not hold fails by; `last_wind` is the one before it."""
        fails = self.is_in_area & ~holds
        known = fails & (required_ft != UNKNOWN_FT)
        is_unknown = not known.any()
        # The highest altitude asked for; of several, the one that asked for most just before.
        candidates = np.flatnonzero(fails if is_unknown else known)
        order = np.lexsort((before_ft.flat[candidates], required_ft.flat[candidates]))
        row, col = divmod(int(candidates[order[-1]]), self.window.shape[1])
        feet = int(required_ft[row, col])
        row, col = row + self.window.row0, col + self.window.col0
        ground = self.scene.ground
        lon, lat = ground.frame.to_lonlat(
            float(ground.grid.centre_x_m()[col]), float(ground.grid.centre_y_m()[row])
        )
        return DirectionLimit(
            from_deg_true=wind.from_deg_true,
            limit_kt=_knots(last_wind) if wind.speed_mps else None,
            fails_kt=_knots(wind),
            is_unknown=is_unknown,
            lat=float(lat),
            lon=float(lon),
            required_amsl_ft=None if feet in (UNKNOWN_FT, UNREACHABLE_FT) else feet,
            field=self._field(last_wind, row, col),
            share_kept=float(holds.sum() / self.is_in_area.sum()),
        )

    def _field(self, wind: Wind, row: int, col: int) -> str:
        surfaces = sectors_in_wind(self.scene_in(wind), wind)
        asked = surfaces.required_amsl_m[:, row, col]
        sector = int(np.where(np.isnan(asked), np.inf, asked).argmin())
        index = NOBODY if surfaces.field is None else int(surfaces.field[sector, row, col])
        return "" if index == NOBODY else self.scene.fields[index].name


def _knots(wind: Wind) -> int:
    return round(wind.speed_mps / KNOT_MPS)
