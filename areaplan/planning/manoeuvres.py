"""Which manoeuvres fit between floor and ceiling over the area, at which entry altitudes."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np
from attrs import evolve, frozen

from areaplan.errors import InputError
from areaplan.fault_words import nearest_fix, one_of
from areaplan.grid import BoolArray
from areaplan.planning.judging import ABOVE_PLANNED_FT
from areaplan.planning.limits import rule_surfaces, sets_in_force
from areaplan.planning.manoeuvre_cells import (
    AreaCells,
    Demand,
    Feet,
    fitting_counts,
    lowest_ft,
    stops_at,
)
from areaplan.planning.plan import NO_LIMIT_FT, Block, Plan, Verdict
from areaplan.planning.reading import lay_ground
from areaplan.planning.weather_judged import WeatherVerdict, gravest, judge_weather
from areaplan.planning.weather_needed import (
    GroundSpan,
    WeatherNeeded,
    ground_span,
    weather_needed,
)
from areaplan.rules.asking import Activity, Flight, Severity
from areaplan.rules.flying import Manoeuvre
from areaplan.rules.loading import builtin_manoeuvres, load_rule_sets
from areaplan.rules.model import Counted, Ground, Rule, RuleKind, RuleSet
from areaplan.units import FOOT_M, feet_down, feet_up

_LOWEST_FT: Final = -32768
# What stands on the ground and can obstruct a low manoeuvre.
_OBSTRUCTIONS: Final = (Counted.OBSTACLE, Counted.STRUCTURE, Counted.WIRE)


@frozen
class Stop:
    """What keeps a manoeuvre from part of the area, at the altitude told.

    `share` is the share of the area, from 0 to 1; parts may overlap. `confirm` says why its rule
    must be confirmed before use, "" where its text was seen.
    """

    rule: str
    title: str
    severity: str
    feature: str
    confirm: str
    share: float


@frozen
class ManoeuvreAnswer:
    """One manoeuvre judged over the area. Heights in whole feet.

    Attributes
    ----------
    id, title, severity : str
        The severity is the gravest of all tables that speak of it.
    verdict : Verdict
        MET where some entry altitude fits over the whole area; UNKNOWN while any of it is unknown.
    entries : tuple of Block
        Entry altitudes that fit over the whole area, from low to high; ceiling None: the data have
        none. Empty where there are none.
    entry_amsl_ft : int or None
        Of the entries up to `ABOVE_PLANNED_FT` above the highest planned altitude the lowest one
        that fits over the greatest share; where none of these fits anywhere, of all. None: nowhere.
    share : float
        Of the area, where that entry fits.
    unknown_share : float
    height_used_ft, height_gained_ft : int
        Below and above the entry, rounded up.
    heights_source : str
    told_at_amsl_ft : int
        The entry altitude for which `stops` are told: `entry_amsl_ft`; where that is above the
        altitudes looked at first, or there is none, the one at which nothing asks for more height,
        as far as they go.
    stops : tuple of Stop
        The greatest share first; empty where it fits everywhere at that altitude.
    weather : WeatherNeeded or None
        At that entry; None where it fits nowhere.
    weather_judged : tuple of WeatherVerdict
        The stated weather by each row and rule at that entry; empty where the project states none,
        or it fits nowhere.
    sentences : tuple of str
        Quoted sentences with document and edition, one for each table that speaks of it.
    confirm : tuple of str
    """

    id: str
    title: str
    severity: str
    verdict: Verdict
    entries: tuple[Block, ...]
    entry_amsl_ft: int | None
    share: float
    unknown_share: float
    height_used_ft: int
    height_gained_ft: int
    heights_source: str
    told_at_amsl_ft: int
    stops: tuple[Stop, ...]
    weather: WeatherNeeded | None
    weather_judged: tuple[WeatherVerdict, ...]
    sentences: tuple[str, ...]
    confirm: tuple[str, ...]

    @property
    def weather_verdict(self) -> Verdict:
        """The stated weather as a whole; MET where there is none to judge."""
        return gravest(self.weather_judged)


def answer_manoeuvres(plan: Plan, only: Sequence[str] = ()) -> tuple[ManoeuvreAnswer, ...]:
    """Judge manoeuvres over the area of a plan.

    From its lowest to its highest point a manoeuvre must stay in one open band, its lowest point
    at or above the completion height over the highest ground of the cell, above obstructions where
    that is asked, and within gliding distance of a field whatever the heading.

    Parameters
    ----------
    plan : Plan
    only : sequence of str
        Identifiers of the wanted ones; all that the project's activities allow when empty.

    Raises
    ------
    InputError
        An unknown identifier, or an aerobatic one in a project without that activity.
    """
    project = plan.project
    rule_sets = sets_in_force(load_rule_sets(project.rule_sets, project.rule_paths), project)
    entries = manoeuvres_in_force(rule_sets, project.flight)
    wanted = _wanted(entries, only, project.activities, str(project.path))
    cells = AreaCells.of(plan)
    demands = {name: _demand(rows) for name, rows in wanted.items()}
    floors = _obstruction_floors(plan, [row for rows in wanted.values() for row in rows])
    ground = ground_span(plan.cells)
    return tuple(
        _answer(plan, rows, demands[name], cells, floors, rule_sets, ground)
        for name, rows in wanted.items()
    )


def manoeuvres_in_force(
    rule_sets: Sequence[RuleSet], flight: Flight
) -> dict[str, tuple[Manoeuvre, ...]]:
    """All tables that speak of each manoeuvre, the built-in one first, in file order."""
    rows = [row for one in (builtin_manoeuvres(), *rule_sets) for row in one.manoeuvres]
    found: dict[str, tuple[Manoeuvre, ...]] = {}
    for row in rows:
        if row.is_in_force(flight):
            found[row.id] = (*found.get(row.id, ()), row)
    return found


def _wanted(
    entries: dict[str, tuple[Manoeuvre, ...]],
    only: Sequence[str],
    activities: Sequence[str],
    place: str,
) -> dict[str, tuple[Manoeuvre, ...]]:
    flown = {
        name: rows
        for name, rows in entries.items()
        if all(row.activity is Activity.ANY or row.activity in activities for row in rows)
    }
    for name in only:
        if name in flown:
            continue
        fix = nearest_fix(name, list(flown))
        if name in entries:
            fix = 'write activities = ["training", "aerobatic"] in the project'
        raise InputError.single(
            place, "--only", found=repr(name), expected=one_of(list(flown)), fix=fix
        )
    return {name: flown[name] for name in only} if only else flown


def _demand(rows: Sequence[Manoeuvre]) -> Demand:
    """The strictest of all tables that speak of a manoeuvre."""
    blocks_low = [row.lowest_amsl_m for row in rows if row.lowest_amsl_m is not None]
    blocks_high = [row.highest_amsl_m for row in rows if row.highest_amsl_m is not None]
    return Demand(
        completion=tuple(
            (row, feet_up(row.completion_agl_m)) for row in rows if row.completion_agl_m is not None
        ),
        top=tuple((row, feet_down(row.top_agl_m)) for row in rows if row.top_agl_m is not None),
        lowest_ft=max((feet_up(value) for value in blocks_low), default=None),
        highest_ft=min((feet_down(value) for value in blocks_high), default=None),
        block_by=next((row for row in reversed(rows) if _has_block(row)), None),
        used_ft=max(feet_up(row.height_used_m) for row in rows),
        gained_ft=max(feet_up(row.height_gained_m) for row in rows),
    )


def demand_over(plan: Plan, rows: Sequence[Manoeuvre]) -> Demand:
    """What all tables of one manoeuvre ask, with the obstructions under the area of a plan."""
    return _with_obstructions(rows, _demand(rows), _obstruction_floors(plan, rows))


def _with_obstructions(
    rows: Sequence[Manoeuvre], demand: Demand, floors: dict[tuple[float, float], Feet]
) -> Demand:
    above = tuple(
        (row, floors[row.above_highest_m, row.within_m])
        for row in rows
        if row.above_highest_m is not None and row.within_m is not None
    )
    return evolve(demand, obstructions=above)


def _has_block(row: Manoeuvre) -> bool:
    return row.lowest_amsl_m is not None or row.highest_amsl_m is not None


def _obstruction_floors(plan: Plan, rows: Sequence[Manoeuvre]) -> dict[tuple[float, float], Feet]:
    """Lowest altitudes above the highest thing nearby, feet, for each pair of height and radius."""
    asked = {
        (row.above_highest_m, row.within_m): row
        for row in rows
        if row.above_highest_m is not None and row.within_m is not None
    }
    if not asked:
        return {}
    ground = lay_ground(plan.layers.terrain, plan.frame, plan.grid)
    rules = [_as_rule(row) for row in asked.values()]
    surfaces = rule_surfaces(rules, plan.layers, ground)
    return {
        (pair[0], pair[1]): lowest_ft(surface.floor_amsl_m[plan.cells.is_in_area])
        for pair, surface in zip(asked, surfaces, strict=True)
    }


def _as_rule(row: Manoeuvre) -> Rule:
    return Rule(
        id=row.id,
        title=row.title,
        kind=RuleKind.HIGHEST_IN_RADIUS,
        severity=row.severity,
        where=tuple(Ground),
        activity=Activity.ANY,
        applies_to=row.applies_to,
        height_m=row.above_highest_m,
        height_text=row.above_highest_text,
        radius_m=row.within_m,
        radius_text=row.within_text,
        binding_unit="",
        is_radius_inclusive=True,
        counts=_OBSTRUCTIONS,
        airspace_classes=(),
        airspace_types=(),
        entry=None,
        wind_mps=None,
        wind_text="",
        visibility_m=None,
        visibility_text="",
        ceiling_agl_m=None,
        ceiling_text="",
        document=row.document,
        section=row.section,
        edition=row.edition,
        last_checked=row.last_checked,
        quote=row.quote,
        reading=row.reading,
        confirm=row.confirm,
        examples=(),
    )


def _answer(
    plan: Plan,
    rows: Sequence[Manoeuvre],
    demand: Demand,
    cells: AreaCells,
    floors: dict[tuple[float, float], Feet],
    rule_sets: Sequence[RuleSet],
    ground: GroundSpan,
) -> ManoeuvreAnswer:
    first = rows[0]
    demand = _with_obstructions(rows, demand, floors)
    counts = fitting_counts(cells, demand)
    unknown = int(cells.is_unknown(demand).sum()) / cells.count
    blocks = _blocks(counts == cells.count)
    top_ft = max(plan.project.planned_altitudes_amsl_ft) + ABOVE_PLANNED_FT
    entry = _best_entry(counts, top_ft)
    share = 0.0 if entry is None else int(counts[entry - _LOWEST_FT]) / cells.count
    told_at = entry
    if told_at is None or told_at > top_ft:
        told_at = min(demand.needed_entry_ft(cells, top_ft), top_ft)
    verdict = Verdict.MET if blocks else Verdict.NOT_MET
    used = max(rows, key=lambda row: (row.height_used_m, row is not first))
    needed = None
    if entry is not None:
        needed = weather_needed(
            plan.layers,
            ground,
            rule_sets,
            low_m=(entry - demand.used_ft) * FOOT_M,
            high_m=(entry + demand.gained_ft) * FOOT_M,
            is_aerobatic=first.activity is Activity.AEROBATIC,
        )
    stated = plan.project.weather
    return ManoeuvreAnswer(
        id=first.id,
        title=first.title,
        severity=min((row.severity for row in rows), key=list(Severity).index).value,
        verdict=Verdict.UNKNOWN if unknown > 0.0 else verdict,
        entries=blocks,
        entry_amsl_ft=entry,
        share=share,
        unknown_share=unknown,
        height_used_ft=demand.used_ft,
        height_gained_ft=demand.gained_ft,
        heights_source=used.heights_source,
        told_at_amsl_ft=told_at,
        stops=()
        if share == 1.0 and told_at == entry
        else tuple(Stop(*row) for row in stops_at(cells, demand, told_at, plan.binders)),
        weather=needed,
        weather_judged=judge_weather(needed, stated, ground)
        if needed is not None and stated is not None
        else (),
        sentences=tuple(f"“{row.quote}” {row.citation}" for row in rows),
        confirm=tuple(dict.fromkeys(row.confirm for row in rows if row.confirm)),
    )


def _best_entry(counts: Feet, top_ft: int) -> int | None:
    """Lowest entry of the greatest count, near the planned altitudes before higher ones."""
    for reach in (counts[: top_ft - _LOWEST_FT + 1], counts):
        if reach.max() > 0:
            return int(reach.argmax()) + _LOWEST_FT
    return None


def _blocks(is_whole: BoolArray) -> tuple[Block, ...]:
    edges = np.flatnonzero(np.diff(np.concatenate([[False], is_whole, [False]]).astype(np.int8)))
    return tuple(
        Block(
            int(start) + _LOWEST_FT,
            None if stop - 1 + _LOWEST_FT >= NO_LIMIT_FT - 1 else int(stop) - 1 + _LOWEST_FT,
        )
        for start, stop in zip(edges[::2], edges[1::2], strict=True)
    )


def overall(answers: Sequence[ManoeuvreAnswer]) -> Verdict:
    """UNKNOWN while any is; MET when every one fits over the whole area at some entry altitude.

    Where the project states weather, its verdict counts as well.
    """
    verdicts = {one for answer in answers for one in (answer.verdict, answer.weather_verdict)}
    if Verdict.UNKNOWN in verdicts:
        return Verdict.UNKNOWN
    return Verdict.NOT_MET if Verdict.NOT_MET in verdicts else Verdict.MET
