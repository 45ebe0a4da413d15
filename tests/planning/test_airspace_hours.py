"""Hours of activity: active unless the project proves otherwise for the planned time."""

import pytest

from areaplan.errors import InputError
from areaplan.planning.evaluation import evaluate
from areaplan.planning.point import answer_point
from areaplan.planning.project_file import read_project
from tests.planning.builder import Country, box, lonlat
from tests.sources.aixm_writing import (
    activation,
    airspace,
    component,
    limits,
    message,
    sheet,
    square,
)  # fmt: skip

ALL_AROUND = box(-9000, -9000, 9000, 9000)
PLANNED = "[time]\nplanned = {}\n"
# 25 November 2026 is a Wednesday.
NOON = "2026-11-25T12:00:00Z"
OPEN, CLOSED = (1500, None), (5100, None)  # the ground is at 1,000 ft, the area ends at 5,000 ft


def declared(name="R-1", reason="notice A0012/26", begins="10:00", ends="18:00", **more):
    day = "2026-11-25T"
    lines = {"airspace": f'"{name}"', "reason": f'"{reason}"',
             "from": f"{day}{begins}:00Z", "to": f"{day}{ends}:00Z", **more}  # fmt: skip
    return "[[inactive]]\n" + "".join(f"{key} = {value}\n" for key, value in lines.items())


def country(folder, *, hours="", rows=None):
    made = Country(folder).terrain()
    made.features("fields", [(ALL_AROUND, {"name": "The plain"})])
    made.none("obstacles", "structures", "congested", "assemblies")
    zone = {"name": "R-1", "type": "R", "lower": "SFC", "upper": "5000 ft AMSL", "hours": hours}
    made.features("airspace", rows or [(ALL_AROUND, zone)])
    return made


def published(folder, *sheets, status="ACTIVE", name="XR1"):
    """The same volume as AIXM with activation."""
    west_south, east_north = (-9000, -9000), (9000, 9000)
    around = (west_south, (9000, -9000), east_north, (-9000, 9000), west_south)
    corners = [lonlat(x, y)[::-1] for x, y in around]
    zone = airspace(
        component(limits(upper=("5000", "FT", "MSL")) + square(corners=corners)),
        activation(*sheets, status=status),
        designator=name,
    )
    (folder / "airspace.xml").write_text(message(zone), encoding="utf-8")
    made = Country(folder).terrain()
    made.features("fields", [(ALL_AROUND, {"name": "The plain"})])
    made.none("obstacles", "structures", "congested", "assemblies")
    return made.more(
        '[[source]]\nkind = "airspace"\nfiles = ["airspace.xml"]\nedition = "test"\n'
        'covers = "all"\n'
    )


def judged(made, *more):
    plan = evaluate(read_project(made.more("".join(more)).project()))
    lon, lat = lonlat(0, 0)
    bands = answer_point(plan, lat, lon, 2000).bands
    return plan, (bands[0].floor_amsl_ft, bands[0].ceiling_amsl_ft)


def test_published_hours_as_words_are_shown_and_open_nothing(tmp_path):
    hours = "0800 - 2200, DAILY"
    plan, band = judged(country(tmp_path, hours=hours), PLANNED.format("2026-11-25T03:00:00Z"))
    assert band == CLOSED
    (volume,) = plan.volumes
    assert volume.is_blocking
    assert volume.hours == hours
    assert hours in volume.reason


def test_a_declaration_that_holds_for_the_planned_time_opens_with_its_reason(tmp_path):
    plan, band = judged(country(tmp_path), PLANNED.format(NOON), declared())
    assert band == OPEN
    (volume,) = plan.volumes
    assert not volume.is_blocking
    assert "notice A0012/26" in volume.reason
    assert "2026-11-25T18:00" in volume.reason
    assert any("R-1 counts as open" in warning for warning in plan.warnings)


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ((declared(),), "needs a planned time"),
        ((PLANNED.format(NOON), declared(begins="12:01")), "does not hold"),
        ((PLANNED.format(NOON), declared(ends="13:59")), "does not hold"),
        ((PLANNED.format("2026-11-25T12:00:00-05:00"), declared()), "does not hold"),
        ((PLANNED.format(NOON), declared(name="R-2")), "names no airspace"),
    ],
)
def test_a_declaration_that_proves_nothing_leaves_it_active_and_is_told(tmp_path, more, words):
    plan, band = judged(country(tmp_path), *more)
    assert band == CLOSED
    assert any("inactive" in warning and words in warning for warning in plan.warnings)


def test_of_several_declarations_one_that_holds_is_enough(tmp_path):
    more = PLANNED.format(NOON), declared(ends="11:00"), declared(reason="the second")
    plan, band = judged(country(tmp_path), *more)
    assert band == OPEN
    assert "the second" in plan.volumes[0].reason


def test_only_the_volume_that_is_named_opens(tmp_path):
    rows = [
        (ALL_AROUND, {"name": name, "type": "R", "lower": "SFC", "upper": f"{top} ft AMSL"})
        for name, top in (("R-1", 5000), ("R-1A", 3000))
    ]
    plan, band = judged(country(tmp_path, rows=rows), PLANNED.format(NOON), declared())
    assert band == (3100, None)
    assert [volume.is_blocking for volume in plan.volumes] == [False, True]


@pytest.mark.parametrize(
    ("planned", "is_open"),
    [
        (None, False),
        (NOON, False),
        ("2026-11-25T04:30:00Z", True),
        ("2026-11-25T05:30:00Z", False),  # a lesson of two hours would run into them
        ("2026-11-25T17:30:00Z", False),  # within an hour of their end
        ("2026-11-25T18:30:00Z", True),
        ("2026-11-25T14:30:00-05:00", True),
        ("2026-11-25T11:30:00-05:00", False),
    ],
)
def test_published_hours_that_a_machine_can_read_open_only_well_outside(tmp_path, planned, is_open):
    made = published(tmp_path, sheet("WED"), sheet("FRI"))
    plan, band = judged(made, PLANNED.format(planned) if planned else "")
    assert band == (OPEN if is_open else CLOSED)
    (volume,) = plan.volumes
    assert volume.is_blocking is not is_open
    assert ("inactive by published hours" in volume.reason) is is_open
    assert "WED 07:00-17:00" in volume.reason


def test_published_hours_with_one_word_not_understood_open_nothing(tmp_path):
    made = published(tmp_path, sheet("FRI"), sheet("HOL"))
    assert judged(made, PLANNED.format(NOON))[1] == CLOSED


def test_a_published_status_of_inactive_proves_nothing(tmp_path):
    made = published(tmp_path, status="INACTIVE")
    assert judged(made, PLANNED.format(NOON))[1] == CLOSED


def test_permissions_stay_as_they_are(tmp_path):
    text = '[[permission]]\nairspace = "R-1"\nreason = "letter"\nexpires = 2027-03-31\n'
    plan, band = judged(country(tmp_path, hours="daily"), text)
    assert band == OPEN
    assert plan.volumes[0].reason == "permission: letter until 2027-03-31"


def test_the_published_accuracy_of_a_boundary_widens_it(tmp_path):
    """2 km stated (ICAO Annex 15, danger areas) against a margin of 100 m."""
    zone = {"name": "R-1", "type": "R", "lower": "SFC", "upper": "5000 ft AMSL"}
    side = box(2000, -9000, 9000, 9000)
    for number, (accuracy, band) in enumerate(
        (("1900 m", OPEN), ("2100 m", CLOSED), ("10 m", OPEN))
    ):
        folder = tmp_path / str(number)
        folder.mkdir()
        made = country(folder, rows=[(side, {**zone, "accuracy": accuracy})])
        assert judged(made)[1] == band


def test_a_doubt_above_every_planned_altitude_is_closed_from_its_floor_up(tmp_path):
    odd = {"name": "Odd", "type": "ZZZ", "lower": "FL 150", "upper": "FL 195"}
    plan, band = judged(country(tmp_path, rows=[(ALL_AROUND, odd)]))
    assert band[0] == 1500
    assert 13_900 < band[1] < 14_100  # FL 150 at 980 hPa, less 100 ft
    assert plan.volumes[0].entry == "unknown"
    assert plan.volumes[0].is_blocking


def test_limits_that_cannot_both_be_true_make_it_unknown_and_are_told(tmp_path):
    swapped = {"name": "R-1", "type": "R", "lower": "6000 ft AMSL", "upper": "FL 40"}
    plan = evaluate(read_project(country(tmp_path, rows=[(ALL_AROUND, swapped)]).project()))
    assert plan.verdict == "UNKNOWN"
    assert any("R-1" in w and "above its ceiling" in w for w in plan.warnings)


def test_the_day_comes_from_the_planned_time_where_none_is_stated(tmp_path):
    path = country(tmp_path).more(PLANNED.format("2027-02-03T23:30:00-05:00")).project()
    path.write_text(path.read_text().replace("day = 2026-11-25\n", ""))
    project = read_project(path)
    assert project.day.isoformat() == "2027-02-03"
    assert {spec.day for spec in project.sources} == {project.day}


@pytest.mark.parametrize(
    ("more", "key"),
    [
        (PLANNED.format('"noon"'), "time.planned"),
        (PLANNED.format("2026-11-25T12:00:00"), "time.planned"),
        (PLANNED.format("2026-11-25"), "time.planned"),
        (PLANNED.format("0001-01-01T00:00:00+14:00"), "time.planned"),
        (PLANNED.format("2026-11-26T12:00:00Z"), "time.planned"),
        ("[time]\nplaned = 2026-11-25T12:00:00Z\n", "time.planed"),
        ("[time]\n", "time.planned"),
        ("time = 3\n[x]\n", "time"),
        (declared(reason=""), "inactive[1].reason"),
        (declared(name=""), "inactive[1].airspace"),
        (declared(ends="09:00"), "inactive[1].to"),
        (declared(to="2026-11-25"), "inactive[1].to"),
        (declared(until="2026-11-25T12:00:00Z"), "inactive[1].until"),
        ('[[inactive]]\nairspace = "R-1"\nreason = "x"\n', "inactive[1].from"),
    ],
)
def test_faults_of_times_and_declarations_are_told_with_their_key(tmp_path, more, key):
    made = country(tmp_path)
    if more.startswith("time = "):
        path = made.project()
        path.write_text(f"time = 3\n{path.read_text()}")
    else:
        path = made.more(more).project()
    with pytest.raises(InputError) as error:
        read_project(path)
    assert key in [fault.key for fault in error.value.faults]
