"""What a local-area briefing tells: a plan, what the school wrote, and what follows from both.

Only facts, no words and no layout: `render/briefing` makes a document of them.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from attrs import frozen

from areaplan.grid import Float64Array
from areaplan.planning.briefing_calls import Calls, find_calls
from areaplan.planning.briefing_closed import Failing, failing
from areaplan.planning.briefing_fields import Serving, serving_fields
from areaplan.planning.briefing_places import (
    Corner,
    Neighbour,
    Place,
    QuietPlace,
    Standing,
    corners,
    neighbours,
    obstacles,
    quiet_places,
    surveyor,
    wires,
)
from areaplan.planning.briefing_short import InShort, in_short
from areaplan.planning.briefing_spots import Spotter
from areaplan.planning.briefing_words import NOTHING_WRITTEN, BriefingWords
from areaplan.planning.declination import Variation, variation_at
from areaplan.planning.evaluation import silent
from areaplan.planning.field_list import rank_fields
from areaplan.planning.flown import flown_scene
from areaplan.planning.limits import sets_in_force
from areaplan.planning.limits_by_wind import WindLimits
from areaplan.planning.manoeuvres import (
    ManoeuvreAnswer,
    answer_manoeuvres,
    manoeuvres_in_force,
)
from areaplan.planning.measured import MeasuredField
from areaplan.planning.plan import Plan, Shares
from areaplan.planning.reading import lay_ground
from areaplan.planning.route_answers import InAndOut
from areaplan.planning.routes import judge_all
from areaplan.planning.site import SiteAnswer
from areaplan.planning.sites import find_sites
from areaplan.planning.weather_needed import WeatherNeeded, ground_span, weather_needed
from areaplan.planning.wind_limits import wind_limits
from areaplan.rules.asking import Activity
from areaplan.rules.briefing_headings import Heading, Topic, headings_for
from areaplan.rules.figures_asked import builtin_figures
from areaplan.rules.flying import Manoeuvre
from areaplan.rules.loading import load_rule_sets
from areaplan.rules.model import RuleSet
from areaplan.units import FOOT_M, feet_down, feet_up


@frozen
class AltitudeHeights:
    """A planned altitude over the area's ground.

    Attributes
    ----------
    altitude_amsl_ft : int
    above_highest_ft, above_lowest_ft : int or None
        Height above the highest and the lowest known ground of the area, rounded down; None where
        no ground is known.
    weather : WeatherNeeded
        For level flight there.
    shares : Shares
    """

    altitude_amsl_ft: int
    above_highest_ft: int | None
    above_lowest_ft: int | None
    weather: WeatherNeeded
    shares: Shares


@frozen(eq=False)
class Briefing:
    """Everything that the document tells, each list whole.

    Attributes
    ----------
    plan : Plan
    words : BriefingWords
        All empty where the project has no `[briefing]` table.
    rule_sets : tuple of RuleSet
        With those of their rules that are in force.
    headings : dict of Topic to Heading
    corners : tuple of Corner
    lowest_ground_ft, highest_ground_ft : int or None
        Of the area, feet AMSL, rounded down and up; None where nothing is known.
    altitudes : tuple of AltitudeHeights
        One for each planned altitude, ascending.
    neighbours : tuple of Neighbour
    short : InShort
        What is said first.
    failing : tuple of Failing
        Rules of law and policy that are not met everywhere.
    serving : Serving
        The fields that serve most of the area.
    calls : Calls
        Where example calls are made from.
    obstacles, wires : tuple of Standing
    obstacles_beyond, wires_beyond, quiet_beyond : int
        How many are on file beyond the distance up to which they are listed.
    quiet : tuple of QuietPlace
    fields : tuple of MeasuredField
        All of the plan, as `rank_fields` sorts them.
    field_places : tuple of Place
        One for each of `fields`.
    manoeuvres : tuple of ManoeuvreAnswer
    manoeuvre_tables : dict of str to tuple of Manoeuvre
        The tables in force that speak of each of them, by identifier.
    ways : InAndOut or None
        Gates and routes judged; None where the project declares neither.
    sites : SiteAnswer or None
        Places for ground-reference figures in the project's wind; None where not worked out.
    wind_limits : WindLimits or None
        At `wind_altitude_ft` of the plan; None where not worked out.
    variation : Variation
        Magnetic variation on the project's day at the aerodrome, or in the middle of the area where
        the project names none.
    """

    plan: Plan
    words: BriefingWords
    rule_sets: tuple[RuleSet, ...]
    headings: dict[Topic, Heading]
    corners: tuple[Corner, ...]
    lowest_ground_ft: int | None
    highest_ground_ft: int | None
    altitudes: tuple[AltitudeHeights, ...]
    neighbours: tuple[Neighbour, ...]
    short: InShort
    failing: tuple[Failing, ...]
    serving: Serving
    calls: Calls
    obstacles: tuple[Standing, ...]
    obstacles_beyond: int
    wires: tuple[Standing, ...]
    wires_beyond: int
    quiet: tuple[QuietPlace, ...]
    quiet_beyond: int
    fields: tuple[MeasuredField, ...]
    field_places: tuple[Place, ...]
    manoeuvres: tuple[ManoeuvreAnswer, ...]
    manoeuvre_tables: dict[str, tuple[Manoeuvre, ...]]
    variation: Variation
    ways: InAndOut | None = None
    sites: SiteAnswer | None = None
    wind_limits: WindLimits | None = None


def make_briefing(
    plan: Plan,
    *,
    has_wind_limits: bool = True,
    has_sites: bool = True,
    progress: Callable[[str], None] = silent,
) -> Briefing:
    """Gather what a briefing of the area tells.

    Parameters
    ----------
    plan : Plan
    has_wind_limits : bool
        Whether to work out the wind limits, which takes longest by far.
    has_sites : bool
        Whether to look for places for ground-reference figures.
    progress : callable
        Told in a few words what is being done.

    Raises
    ------
    InputError
        The landmarks do not fit the drawn boundary, or a frequency names no volume on the map.
    """
    project = plan.project
    words = project.briefing or NOTHING_WRITTEN
    loaded = load_rule_sets(project.rule_sets, project.rule_paths)
    rule_sets = sets_in_force(loaded, project)
    survey = surveyor(plan, words)
    found_corners = corners(plan, words, survey)
    found_neighbours = neighbours(plan, words, survey)
    progress("the ground of the area")
    ground = lay_ground(plan.layers.terrain, plan.frame, plan.grid)
    standing, standing_beyond = obstacles(plan, ground, survey)
    spans, spans_beyond = wires(plan, ground, survey)
    quiet, quiet_beyond = quiet_places(plan, survey)
    is_in_area = plan.cells.is_in_area
    lowest_ft = _extreme_ft(ground.lowest_amsl_m[is_in_area], is_highest=False)
    highest_ft = _extreme_ft(ground.highest_amsl_m[is_in_area], is_highest=True)
    progress("manoeuvres")
    fields = rank_fields(plan.measured)
    manoeuvres = answer_manoeuvres(plan)
    tables = manoeuvres_in_force(rule_sets, project.flight)
    limits = None
    if has_wind_limits:
        altitude_ft = wind_altitude_ft(plan)
        limits = wind_limits(project, plan.layers, ground, altitude_ft, progress)
    ways = _ways(plan, progress)
    spotter = Spotter(survey, found_corners)
    serving = serving_fields(plan, survey)
    return Briefing(
        plan=plan,
        words=words,
        rule_sets=rule_sets,
        headings=headings_for(project.rule_sets),
        corners=found_corners,
        lowest_ground_ft=lowest_ft,
        highest_ground_ft=highest_ft,
        altitudes=tuple(
            _altitude(plan, rule_sets, row, lowest_ft, highest_ft) for row in plan.planned
        ),
        neighbours=found_neighbours,
        short=in_short(plan, spotter, found_neighbours, standing, spans, limits),
        failing=failing(plan, spotter),
        serving=serving,
        calls=find_calls(plan, found_corners, ways, manoeuvres, tables, serving),
        obstacles=standing,
        obstacles_beyond=standing_beyond,
        wires=spans,
        wires_beyond=spans_beyond,
        quiet=quiet,
        quiet_beyond=quiet_beyond,
        fields=fields,
        field_places=tuple(survey.middle(row.field.geometry) for row in fields),
        manoeuvres=manoeuvres,
        manoeuvre_tables=tables,
        variation=_variation(plan, words, lowest_ft),
        ways=ways,
        sites=find_sites(plan, project.wind, builtin_figures().named(()), progress)
        if has_sites
        else None,
        wind_limits=limits,
    )


def wind_altitude_ft(plan: Plan) -> int:
    """The planned altitude whose wind limits are told: that of the greatest usable share.

    Of several the lowest, whose limits are the narrowest.
    """
    best = max(plan.planned, key=lambda row: (row.legal_and_safe_share, -row.altitude_amsl_ft))
    return best.altitude_amsl_ft


def _ways(plan: Plan, progress: Callable[[str], None]) -> InAndOut | None:
    if not plan.project.gates and not plan.project.routes:
        return None
    return judge_all(flown_scene(plan, progress=progress))


def _variation(plan: Plan, words: BriefingWords, ground_ft: int | None) -> Variation:
    """Height above the sea hardly moves it: the area's ground stands in for the aerodrome's."""
    place = words.aerodrome or plan.frame
    return variation_at(place.lat, place.lon, (ground_ft or 0) * FOOT_M, plan.project.day)


def _altitude(
    plan: Plan,
    rule_sets: tuple[RuleSet, ...],
    shares: Shares,
    lowest_ft: int | None,
    highest_ft: int | None,
) -> AltitudeHeights:
    altitude_ft = shares.altitude_amsl_ft
    return AltitudeHeights(
        altitude_amsl_ft=altitude_ft,
        above_highest_ft=None if highest_ft is None else altitude_ft - highest_ft,
        above_lowest_ft=None if lowest_ft is None else altitude_ft - lowest_ft,
        weather=weather_needed(
            plan.layers,
            ground_span(plan.cells),
            rule_sets,
            low_m=altitude_ft * FOOT_M,
            high_m=altitude_ft * FOOT_M,
            is_aerobatic=Activity.AEROBATIC in plan.project.activities,
        ),
        shares=shares,
    )


def _extreme_ft(ground_amsl_m: Float64Array, *, is_highest: bool) -> int | None:
    known = ground_amsl_m[~np.isnan(ground_amsl_m)]
    if known.size == 0:
        return None
    return feet_up(float(known.max())) if is_highest else feet_down(float(known.min()))
