"""Wind limits against brute force over every wind, and what symmetry and height ask of them."""

import numpy as np
import pytest
from attrs import evolve

from areaplan.engine.worst_heading import worst_heading
from areaplan.errors import InputError
from areaplan.planning.cells import feet_up_array
from areaplan.planning.glide import glide_scene, sectors_in_wind, turn_model
from areaplan.planning.limits import area_cells
from areaplan.planning.limits_by_wind import (
    DIRECTIONS,
    NOT_IN_CALM,
    OUTSIDE,
    UNKNOWN_IN_CALM,
    DirectionLimit,
    year_share,
)
from areaplan.planning.plan import UNKNOWN_FT, UNREACHABLE_FT, Verdict
from areaplan.planning.project_file import read_project
from areaplan.planning.reading import read_layers
from areaplan.planning.wind_limits import wind_limits
from areaplan.rules.loading import policy_template
from areaplan.sources.wind_climatology import WindClass, WindClimatology
from areaplan.units import KNOT_MPS, Wind
from tests.planning.builder import FRAME, Country, box

# Fewer winds where it matters not which.
FEW = {"step_kt": 10, "highest_kt": 20}
NONE = ("obstacles", "structures", "airspace", "congested", "assemblies", "noise-sensitive")
WEST = (box(-700, -150, -100, 450), {"name": "West field"})
NORTH_EAST = (box(500, 600, 1100, 900), {"name": "NE field"})


def read(country, **keys):
    keys = {"cell": "100 m", "around": "1 NM", **keys}
    project = read_project(country.project(**keys))
    return project, *read_layers(project, lambda _: None)


@pytest.fixture(scope="module")
def two_fields(tmp_path_factory):
    country = Country(tmp_path_factory.mktemp("two")).terrain(half_m=4000.0)
    return read(country.features("fields", [WEST, NORTH_EAST]).none(*NONE), wind="210/14 kt")


@pytest.fixture(scope="module")
def limits(two_fields):
    return wind_limits(*two_fields, 2600)


def brute(inputs, direction, knots):
    """Feet that each cell of the whole grid asks for in one wind, the long way."""
    scene = glide_scene(*inputs)
    wind = Wind(22.5 * direction, knots * KNOT_MPS)
    surfaces = sectors_in_wind(scene, wind)
    model = turn_model(scene, wind)
    cell_m = inputs[2].grid.cell_m
    return feet_up_array(worst_heading(surfaces, scene.surface_amsl_m, cell_m, model))


def test_one_more_wind_is_tested_below_the_first_that_fails(limits):
    assert limits.between_kt == 1
    odd = [one for one in limits.directions if one.limit_kt is not None and one.limit_kt % 2]
    even = [one for one in limits.directions if one.fails_kt is not None and one.fails_kt % 2]
    assert odd or even, "the country is made so that some limit lies between two steps"
    for one in limits.directions:
        assert one.limit_kt is None or one.fails_kt == one.limit_kt + 1


def test_a_field_in_every_direction_is_asked_for_where_the_policy_does(two_fields, tmp_path):
    """The template's rule, switched on: all twelve directions, and two fields."""
    template = policy_template()
    lines = template[template.index('# [[rule]]\n# id = "school-field-in-every') :].splitlines()
    switched_on = "\n".join(line.removeprefix("#").lstrip() for line in lines[:24])
    project, layers, ground = two_fields
    plain = wind_limits(project, layers, ground, 2600, **FEW)
    assert plain.rules == ()
    path = tmp_path / "policy.toml"
    for severity, is_asked in (("policy", True), ("advisory", False)):
        rule = switched_on.replace('severity = "policy"', f'severity = "{severity}"')
        path.write_text(f"{template}\n{rule}\n", encoding="utf-8")
        asked = evolve(project, rule_sets=("us", "policy.toml"), rule_paths=(None, path))
        found = wind_limits(asked, layers, ground, 2600, **FEW)
        assert found.rules == (("A field in every direction",) if is_asked else ())
        assert np.all(found.cell_limit_kt <= plain.cell_limit_kt)
        assert np.any(found.cell_limit_kt < plain.cell_limit_kt) == is_asked


@pytest.mark.parametrize("direction", [0, 3, 10, 13])
def test_limits_are_those_of_brute_force(two_fields, limits, direction):
    is_in_area = area_cells(two_fields[1].area.rows[0].geometry, two_fields[2])
    held = is_in_area.copy()
    expected = np.full(held.shape, OUTSIDE)
    expected[is_in_area] = NOT_IN_CALM
    whole, failed = None, None
    one = limits.directions[direction]
    # Every second knot, and the one below the first of these that fails.
    first = one.fails_kt + one.fails_kt % 2
    for knots in sorted({*range(0, 41, 2), max(first - 1, 0)}):
        required = brute(two_fields, direction, knots)
        holds = (required != UNKNOWN_FT) & (required != UNREACHABLE_FT) & (required <= 2600)
        held &= holds
        expected[held] = knots
        if failed is None and not holds[is_in_area].all():
            failed = knots
            worst = required[is_in_area].max()
            share = holds[is_in_area].mean()
        if failed is None:
            whole = knots
    assert (one.limit_kt, one.fails_kt, one.is_unknown) == (whole, failed, False)
    np.testing.assert_array_equal(limits.cell_limit_kt[direction], expected[limits.window.slices])
    assert failed is not None, "the country is made so that some wind fails"
    assert one.required_amsl_ft == (None if worst == UNREACHABLE_FT else worst)
    assert one.share_kept == pytest.approx(share)
    assert one.field in ("West field", "NE field")
    x_m, y_m = two_fields[2].frame.to_local(one.lon, one.lat)
    assert brute(two_fields, direction, failed)[two_fields[2].grid.cell_of(x_m, y_m)] == worst


def test_the_limit_of_the_whole_is_the_least_of_its_parts(limits):
    for one, cells in zip(limits.directions, limits.cell_limit_kt, strict=True):
        least = cells[cells != OUTSIDE].min()
        assert (-1 if one.limit_kt is None else one.limit_kt) == least
        assert one.is_unknown is False


def test_higher_never_lowers_a_limit(two_fields):
    low = wind_limits(*two_fields, 2500, **FEW).cell_limit_kt
    high = wind_limits(*two_fields, 2700, **FEW).cell_limit_kt
    assert np.all(high >= low)
    assert np.any(high > low)


def test_too_high_is_refused(two_fields):
    with pytest.raises(InputError, match="planned_altitudes"):
        wind_limits(*two_fields, 5001)
    with pytest.raises(ValueError, match="every 0 kt"):
        wind_limits(*two_fields, 2600, step_kt=0)


def test_the_verdict_is_that_of_the_own_wind(two_fields, limits):
    assert limits.own_wind == Wind(210.0, 14 * KNOT_MPS)
    assert limits.verdict is limits.judge(202.5, 14.0)
    project, layers, ground = two_fields
    strong = evolve(project, wind=Wind(0.0, 40 * KNOT_MPS))
    assert wind_limits(strong, layers, ground, 2600, **FEW).verdict is Verdict.NOT_MET


def test_a_quarter_turn_of_the_country_turns_the_limits(tmp_path):
    """A field off to one side, seen from a square area; frame and grid are square, too."""
    found = []
    for name, field in (("n", box(-300, 500, 300, 1100)), ("e", box(500, -300, 1100, 300))):
        (tmp_path / name).mkdir()
        country = Country(tmp_path / name).terrain(half_m=4000.0)
        country.features("fields", [(field, {"name": "Field"})]).none(*NONE)
        found.append(wind_limits(*read(country), 2600, step_kt=5, highest_kt=30))
    north, east = (np.array([one.limit_kt for one in limits.directions]) for limits in found)
    np.testing.assert_array_equal(np.roll(north, 4), east)
    assert len(set(north.tolist())) > 2
    # Mirrored in the north-south axis, too: the field lies on it.
    np.testing.assert_array_equal(north[1:], north[:0:-1])


def test_without_a_field_nothing_holds(tmp_path):
    country = Country(tmp_path).terrain(half_m=4000.0)
    limits = wind_limits(*read(country.none("fields", *NONE)), 2600)
    assert {one.limit_kt for one in limits.directions} == {None}
    assert {one.fails_kt for one in limits.directions} == {0}
    assert {one.field for one in limits.directions} == {""}
    assert limits.verdict is Verdict.NOT_MET
    assert limits.share_of_area(0, 0) == 0.0


def test_unknown_ground_is_unknown_not_failing(tmp_path):
    def hole(x_m, y_m):
        return np.where((x_m > 700.0) & (y_m > 700.0), np.nan, 300.0)

    country = Country(tmp_path).terrain(hole, half_m=4000.0)
    country.features("fields", [(box(-4000, -4000, 500, 4000), {"name": "Plain"})]).none(*NONE)
    limits = wind_limits(*read(country), 3000, **FEW)
    assert all(one.limit_kt is None and one.is_unknown for one in limits.directions)
    assert all(one.required_amsl_ft is None for one in limits.directions)
    assert limits.verdict is Verdict.UNKNOWN
    assert (limits.cell_limit_kt[0] == UNKNOWN_IN_CALM).any()
    assert limits.judge(10.0, 0.0) is Verdict.UNKNOWN
    for one in limits.directions:
        x_m, y_m = FRAME.to_local(one.lon, one.lat)
        assert max(x_m, y_m) > 0.0, "where it is unknown, not anywhere"


def with_directions(limits, **changes):
    """Limits of 10 kt all round, but for some directions."""
    plain = [DirectionLimit(22.5 * k, 10, 12) for k in range(DIRECTIONS)]
    for name, one in changes.items():
        plain[int(name[1:])] = one
    return evolve(limits, directions=tuple(plain))


def test_between_two_directions_the_lesser_counts(limits):
    some = with_directions(limits, d1=DirectionLimit(22.5, 6, 8))
    assert some.judge(22.5, 6.0) is Verdict.MET
    assert some.judge(22.5, 6.5) is Verdict.NOT_MET
    assert some.judge(10.0, 6.5) is Verdict.NOT_MET
    assert some.judge(0.0, 10.0) is Verdict.MET
    assert some.judge(350.0, 10.0) is Verdict.MET
    unknown = with_directions(limits, d1=DirectionLimit(22.5, 6, 8, is_unknown=True))
    assert unknown.judge(10.0, 8.0) is Verdict.UNKNOWN
    assert unknown.judge(10.0, 11.0) is Verdict.NOT_MET


def test_the_year_is_summed_by_class(limits):
    some = with_directions(
        limits, d4=DirectionLimit(90.0, 4, 6), d8=DirectionLimit(180.0, 2, 4, is_unknown=True)
    )
    classes = (
        WindClass(0.0, 0.0, 0.1),  # calm
        WindClass(0.0, 10.0, 0.2),  # at the limit
        WindClass(0.0, 11.0, 0.05),  # above it
        WindClass(80.0, 10.0, 0.25),  # beside a lesser one
        WindClass(100.0, 4.0, 0.3),
        WindClass(180.0, 8.0, 0.06),  # not known
    )
    year = year_share(some, WindClimatology("wind.csv", "0" * 64, classes), "invented")
    assert year.holds == pytest.approx(0.6)
    assert year.unknown == pytest.approx(0.06)


def test_the_project_names_its_climatology(tmp_path):
    country = Country(tmp_path).terrain(half_m=4000.0)
    country.features("fields", [(box(-4000, -4000, 4000, 4000), {"name": "Plain"})]).none(*NONE)
    country.more('[climatology]\nfile = "wind.csv"\nsource = "invented"\n')
    with pytest.raises(InputError, match=r"climatology\.file"):
        read_project(country.project())
    (tmp_path / "wind.csv").write_text(
        "direction_deg_true,speed_kt,frequency\n,0,20\n90,15,70\n180,90,10\n", encoding="utf-8"
    )
    limits = wind_limits(*read(country), 3000, **FEW)
    assert [one.limit_kt for one in limits.directions] == [20] * DIRECTIONS
    assert limits.year is not None
    assert limits.year.holds == pytest.approx(0.9)
    assert limits.year.source == "invented"


def test_a_field_too_short_in_a_wind_does_not_count_in_it(tmp_path):
    """500 m of strip; on grass at 1,000 ft 482 m are needed into 14 kt, 523 m in calm."""
    country = Country(tmp_path).terrain(half_m=4000.0)
    country.features("fields", [(box(-60, -250, 60, 250), {"name": "Short"})]).none(*NONE)
    path = country.project(cell="25 m", around="1 NM", wind="360/14 kt", half_m=300.0)
    plain = path.read_text(encoding="utf-8")
    figure = 'landing_distance = { value = "1420 ft", source = "invented" }\n'
    for text, lost_at_kt in (
        (plain, None),
        (plain.replace("[aircraft]\n", f"[aircraft]\n{figure}"), 0),
    ):
        path.write_text(text, encoding="utf-8")
        project = read_project(path)
        layers, ground = read_layers(project, lambda _: None)
        assert [row.counts for row in glide_scene(project, layers, ground).measured] == [True]
        one = wind_limits(project, layers, ground, 3500, step_kt=10, highest_kt=10).directions[0]
        assert one.fails_kt == lost_at_kt
        assert one.field == ""
