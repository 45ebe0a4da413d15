"""What a briefing says first, against plain counts over the plan's arrays and GeographicLib."""

import numpy as np
import pytest
import shapely
from geographiclib.geodesic import Geodesic
from hypothesis import given, settings
from hypothesis.extra import numpy as hnp

from areaplan.grid import Grid
from areaplan.planning.briefing import make_briefing
from areaplan.planning.briefing_closed import closures
from areaplan.planning.briefing_places import corners, surveyor
from areaplan.planning.briefing_spots import Side, Spotter, largest_patches, side_towards
from areaplan.planning.briefing_words import NOTHING_WRITTEN
from areaplan.planning.plan import Names, Verdict
from tests.oracles.briefing_twin import (
    area_cells,
    closed_cells,
    is_open,
    middle_m,
    patches,
    served,
)
from tests.planning.builder import lonlat
from tests.planning.short_scenes import HIGH_FT, LANDMARKS, LOW_FT, gate, scene, words

ONE_METRE_M = 1.0
CELL_M = 50.0
WAYS = gate("West gate", "in", -900, 0, HIGH_FT, "old pump") + gate(
    "East gate", "both", 900, 0, HIGH_FT
)


@pytest.fixture(scope="module")
def plan():
    return scene(words(WAYS))


@pytest.fixture(scope="module")
def briefing(plan):
    return make_briefing(plan, has_wind_limits=False, has_sites=False)


def spotter_of(plan):
    written = plan.project.briefing or NOTHING_WRITTEN
    survey = surveyor(plan, written)
    return Spotter(survey, corners(plan, written, survey))


@pytest.mark.parametrize("altitude_ft", [LOW_FT, HIGH_FT])
def test_closures_add_up_to_what_a_plain_count_finds(plan, altitude_ft):
    """A cell counts for one rule, that which binds it; for the glide it counts besides."""
    illegal, short = closed_cells(plan, altitude_ft)
    assert illegal | short
    found = closures(plan, altitude_ft, spotter_of(plan))
    cells = len(area_cells(plan))
    assert sum(row.share for row in found if not row.is_glide) == pytest.approx(
        len(illegal) / cells
    )
    assert sum(row.share for row in found if row.is_glide) == pytest.approx(len(short) / cells)
    assert [row.share for row in found] == sorted((row.share for row in found), reverse=True)


def test_a_field_out_of_reach_is_told_with_its_largest_patches(plan):
    _, short = closed_cells(plan, LOW_FT)
    assert short
    (row,) = [one for one in closures(plan, LOW_FT, spotter_of(plan)) if one.is_glide]
    pieces = patches(short)
    assert row.patches[0].share == pytest.approx(len(pieces[0]) / len(short))
    lon, lat = plan.frame.to_lonlat(*middle_m(plan, pieces[0]))
    spot = row.patches[0].spot
    corner = spot.corner.place
    line = Geodesic.WGS84.Inverse(float(lat), float(lon), corner.lat, corner.lon)
    assert spot.corner_distance_m == pytest.approx(line["s12"], abs=ONE_METRE_M)
    assert row.opens_amsl_ft == max(plan.cells.glide_required_amsl_ft[cell] for cell in short)


def test_airspace_is_closed_from_where_a_scan_foot_by_foot_finds_it(plan):
    illegal, _ = closed_cells(plan, HIGH_FT)
    (row,) = [
        one
        for one in closures(plan, HIGH_FT, spotter_of(plan))
        if one.features and one.features[0] == "CORVASH C"
    ]
    east = [cell for cell in illegal if plan.grid.centre_x_m()[cell[1]] > 0.0]
    assert row.share == pytest.approx(len(east) / len(area_cells(plan)))
    edges = {closed_from(plan, cell, HIGH_FT) for cell in east} - {None}
    high = HIGH_FT
    while not all(is_open(plan, *cell, high) for cell in east):
        high += 1
    assert (row.from_amsl_ft, row.opens_amsl_ft) == (min(edges), high)
    assert row.patches[0].spot.side is Side.EAST


def closed_from(plan, cell, altitude_ft):
    """The lowest altitude of the closed stretch that holds one; None: at sea level."""
    while altitude_ft > 0 and not is_open(plan, *cell, altitude_ft - 1):
        altitude_ft -= 1
    return altitude_ft or None


def test_enough_everywhere_is_the_highest_need_of_any_cell(plan, briefing):
    cells = plan.cells
    inside = area_cells(plan)
    assert briefing.short.legal_everywhere.amsl_ft == max(
        int(cells.legal_floor_amsl_ft[cell]) for cell in inside
    )
    assert briefing.short.field_everywhere.amsl_ft == max(
        int(cells.glide_required_amsl_ft[cell]) for cell in inside
    )


def test_fields_serve_what_a_plain_count_finds(plan, briefing):
    serving = briefing.serving
    cells = len(area_cells(plan))
    counts = [served(plan, altitude) for altitude in serving.altitudes_amsl_ft]
    assert serving.altitudes_amsl_ft == (LOW_FT, HIGH_FT)
    assert len(serving.rows) >= 2
    for row in serving.rows:
        name = row.measured.field.name
        assert row.shares == pytest.approx([len(one.get(name, ())) / cells for one in counts])
    sums = [sum(row.shares) for row in serving.rows]
    assert sums == sorted(sums, reverse=True)
    together = [len(set().union(*one.values())) / cells for one in counts]
    assert serving.together == pytest.approx(together)
    assert serving.others == 0


def test_a_volume_is_told_with_the_share_that_it_lies_over(briefing):
    shares = {row.volume.name: row.share for row in briefing.neighbours}
    # 500 m of 2,000 m, and a quarter of the width by half of the height.
    assert shares["CORVASH C"] == pytest.approx(0.25, abs=1e-4)
    assert shares["OSTREL D"] == pytest.approx(0.125, abs=1e-4)
    assert {row.volume.name for row in briefing.short.airspace} == {"CORVASH C", "OSTREL D"}


def test_obstacles_inside_and_higher_ones_outside(briefing):
    assert briefing.short.highest.name == "mast in"
    assert briefing.short.highest_near.name == "mast near"


def test_the_aerodrome_is_as_far_as_geographiclib_says(briefing):
    home, away = lonlat(-4000.0, 0.0), lonlat(-1000.0, 0.0)
    line = Geodesic.WGS84.Inverse(home[1], home[0], away[1], away[0])
    assert briefing.short.nearest_m == pytest.approx(line["s12"], abs=ONE_METRE_M)
    assert briefing.short.middle.gap_m == 0.0


def test_the_outermost_corners_of_a_square_are_its_four(briefing):
    assert [side for side, _ in briefing.short.outermost] == [
        Side.NORTH_WEST,
        Side.NORTH_EAST,
        Side.SOUTH_EAST,
        Side.SOUTH_WEST,
    ]
    assert {corner.landmark for _, corner in briefing.short.outermost} == set(LANDMARKS)


def test_failing_rules_are_those_that_bind(plan, briefing):
    rows = [row.finding for row in briefing.failing if row.finding.names is Names.NEAREST_FIELD]
    assert rows
    for row in rows:
        assert row.altitude_amsl_ft == LOW_FT
        assert row.feature in {one.name for one in plan.fields}
    assert len(briefing.failing) == sum(
        one.verdict is not Verdict.MET and one.limit.severity.value != "advisory"
        for one in plan.findings
    )


def test_calls_name_the_gates_of_their_use_and_only_usable_altitudes(briefing):
    calls = briefing.calls
    assert [one.gate for one in calls.entering] == ["West gate", "East gate"]
    assert [one.gate for one in calls.leaving] == ["East gate"]
    told = {one.gate.name: one.verdict for one in briefing.ways.gates}
    assert told == {"West gate": Verdict.MET, "East gate": Verdict.NOT_MET}  # class C there
    assert [one.altitude_amsl_ft for one in calls.entering] == [HIGH_FT, None]
    assert calls.entering[0].landmark == "old pump"


def test_without_gates_calls_name_a_corner_where_the_altitude_is_usable():
    plan = scene(words())
    calls = make_briefing(plan, has_wind_limits=False, has_sites=False).calls
    assert calls.entering == calls.leaving
    (one,) = calls.entering
    assert (one.gate, one.altitude_amsl_ft) == ("", HIGH_FT)
    # The corners in the west are nearest to the aerodrome; class C closes those in the east.
    ring = list(plan.layers.area.rows[0].geometry.exterior.coords)[:-1]
    lon, _ = ring[LANDMARKS.index(one.landmark)]
    assert lon < plan.frame.lon


def test_what_is_not_known_is_told_as_such():
    plan = scene(is_dark=True)
    found = make_briefing(plan, has_wind_limits=False, has_sites=False).short
    assert plan.verdict is Verdict.UNKNOWN
    assert found.legal_everywhere.is_unknown
    assert found.field_everywhere.is_unknown
    assert found.legal_everywhere.amsl_ft is found.field_everywhere.amsl_ft is None
    assert found.nearest_m is found.wind is None
    for row in found.altitudes:
        # Shares of closures hold known cells only, so they never hide behind the unknown.
        assert row.shares.unknown_share > 0.2
        assert (
            sum(one.share for one in row.closures if one.is_glide)
            <= 1.0 - (row.shares.safe_share + row.shares.unknown_share) + 1e-9
        )


@pytest.mark.parametrize(
    ("bearing_deg", "side"),
    [
        (0, "north"),
        (22.4, "north"),
        (22.6, "north-east"),
        (180, "south"),
        (-90, "west"),
        (337.6, "north"),
        (359.9, "north"),
        (-45, "north-west"),
    ],
)
def test_sides_are_sectors_of_45_degrees(bearing_deg, side):
    assert side_towards(bearing_deg) == side


@settings(deadline=None, max_examples=60)
@given(hnp.arrays(np.bool_, (7, 9)))
def test_patches_are_those_of_a_flood_fill(mask):
    grid = Grid(-100.0, 200.0, CELL_M, 7, 9)
    if not mask.any():
        return
    sizes = [len(one) for one in patches([tuple(cell) for cell in np.argwhere(mask).tolist()])]
    found = largest_patches(mask, grid, least_share=0.2, most=2)
    wanted = [size / mask.sum() for size in sizes[:2]]
    wanted = [wanted[0], *(one for one in wanted[1:] if one >= 0.2)]
    assert [share for _, share in found] == pytest.approx(wanted)
    for middle, _ in found:
        assert shapely.box(-100.0, -150.0, 350.0, 200.0).covers(middle)
