"""The day sheet's figures against handbook problems, and the day in place of the project's own."""

from datetime import datetime

import pytest
from attrs import evolve

from areaplan.errors import InputError
from areaplan.planning.day import LOWEST_GROUND, Station, day_sheet
from areaplan.planning.day_air import AirRow, air_row, glide_rows
from areaplan.planning.day_conditions import (
    SETTING_SLACK_PA,
    Conditions,
    project_on_day,
    require_usable,
)
from areaplan.planning.day_fields import wind_on
from areaplan.planning.plan import Verdict
from areaplan.planning.project import WindAloft
from areaplan.planning.project_file import read_project
from areaplan.units import (
    FOOT_M,
    KNOT_MPS,
    NAUTICAL_MILE_M,
    Wind,
    parse_pressure,
    parse_temperature,
    parse_wind,
)
from tests.planning.builder import GROUND_FT, Country, box, plain_country

TIME = datetime.fromisoformat("2026-11-25T15:00+01:00")


def conditions(wind="calm", altimeter="1013.25 hPa", temperature="15C", **more):
    values = {
        "time": TIME,
        "wind": parse_wind(wind),
        "altimeter_setting_pa": parse_pressure(altimeter),
        "temperature_k": parse_temperature(temperature),
    }
    return Conditions(**(values | more))


@pytest.fixture(scope="module")
def project(tmp_path_factory):
    return read_project(plain_country(tmp_path_factory.mktemp("day")).project())


@pytest.fixture(scope="module")
def sheet(project):
    return day_sheet(project, conditions("240/12 kt", "30.10inHg", "12C"))


def test_density_altitude_of_the_handbook_problem(project):
    """FAA-H-8083-25 (PHAK): elevation 5,883 ft, 30.10 inHg, 70 degF: 5,718 ft and 7,700 ft."""
    asked = conditions(altimeter="30.10inHg", temperature="70F")
    today = project_on_day(project, asked, 5_883 * FOOT_M)
    row = air_row("station", 5_883, asked, today)
    assert row.pressure_altitude_ft == pytest.approx(5_718, abs=1)
    assert row.density_altitude_ft == pytest.approx(7_700, abs=50)
    assert row.temperature_c == pytest.approx((70 - 32) / 1.8, abs=0.05)


def test_low_pressure_of_the_handbook_figure(project):
    """The same handbook's table: at sea level 29.70 inHg is +205 ft of pressure altitude."""
    asked = conditions(altimeter="29.70inHg")
    row = air_row("sea", 0, asked, project_on_day(project, asked, 0.0))
    assert row.pressure_altitude_ft == pytest.approx(205, abs=1)


def test_true_airspeed_of_the_flight_computer_lesson(project):
    """CAS 110 kt at 7,000 ft pressure altitude and 16 degC: TAS 126 kt (slide rule, 1 kt)."""
    faster = evolve(project, aircraft=evolve(project.aircraft, manoeuvre_speed_mps=110 * KNOT_MPS))
    asked = conditions(temperature="16C")
    today = project_on_day(faster, asked, 7_000 * FOOT_M)
    assert air_row("", 7_000, asked, today).manoeuvre_tas_kt == pytest.approx(126, abs=1)


def test_glide_ratio_into_and_down_the_wind():
    """65 kt at 9:1 against and with 20 kt: 6.21 and 11.79 (facts, DERIVED), never rounded up."""
    air = [AirRow("", 0, 0, 0, 15.0, 65.0, 80.0)]
    rows = {row.way: row for row in glide_rows([parse_wind("300/20 kt")], air, 9.0)}
    assert rows["into wind"].ratio_over_ground == 6.2
    assert rows["downwind"].ratio_over_ground == 11.7
    assert (rows["into wind"].track_deg_true, rows["downwind"].track_deg_true) == (300.0, 120.0)
    assert rows["across"].track_deg_true == 30.0
    for way, ratio in (("into wind", 6.21), ("downwind", 11.79)):
        assert rows[way].loss_ft_per_nm == pytest.approx(NAUTICAL_MILE_M / FOOT_M / ratio, abs=3)


def test_one_row_in_a_calm_and_none_without_headway():
    air = [AirRow("", 0, 0, 0, 15.0, 65.0, 80.0), AirRow("", 0, 0, 0, 15.0, 70.0, 80.0)]
    (calm,) = glide_rows([Wind(0.0, 0.0)], air, 9.0)
    assert calm.ratio_over_ground == pytest.approx(9.0)
    gale = glide_rows([parse_wind("300/64.9 kt")], air, 9.0)[0]
    assert gale.ratio_over_ground is None  # at 65 kt the horizontal part is less than the wind
    assert gale.loss_ft_per_nm is None


def test_the_worse_airspeed_decides_each_way():
    air = [AirRow("", 0, 0, 0, 15.0, 65.0, 80.0), AirRow("", 0, 0, 0, 15.0, 72.0, 80.0)]
    slow, fast = air[:1], air[1:]
    wind = [parse_wind("300/20 kt")]
    for both, one, other in zip(
        *(glide_rows(wind, rows, 9.0) for rows in (air, slow, fast)), strict=True
    ):
        assert both.loss_ft_per_nm == max(one.loss_ft_per_nm, other.loss_ft_per_nm)


def test_the_day_stands_in_for_the_projects_own(sheet, project):
    today = sheet.plan.project
    assert str(today.wind) == "240/12 kt"
    assert (today.day, today.planned_time) == (TIME.date(), TIME)
    assert {spec.day for spec in today.sources} == {TIME.date()}
    setting = parse_pressure("30.10inHg")
    margins = today.margins
    assert margins.qnh_lowest_pa == pytest.approx(setting - SETTING_SLACK_PA)
    assert margins.qnh_highest_pa == pytest.approx(setting + SETTING_SLACK_PA)
    assert evolve(margins, qnh_lowest_pa=0.0, qnh_highest_pa=0.0) == evolve(
        project.margins, qnh_lowest_pa=0.0, qnh_highest_pa=0.0
    )
    assert str(project.wind) == "calm"


def test_temperature_is_compared_where_it_was_taken(project):
    asked = conditions(temperature="15C")
    assert project_on_day(project, asked, 0.0).isa_deviation_k == pytest.approx(0.0, abs=1e-9)
    high = project_on_day(project, asked, 1_000.0).isa_deviation_k
    assert high == pytest.approx(6.5)  # USSA-76: 6.5 K for each 1,000 m


def test_without_a_station_the_lowest_ground_stands_in(sheet):
    assert sheet.station.name == LOWEST_GROUND
    assert sheet.air[0].altitude_amsl_ft == pytest.approx(GROUND_FT, abs=1)
    assert any("--station" in words for words in sheet.notes)
    assert [row.altitude_amsl_ft for row in sheet.air[1:]] == [2000]


def test_a_station_or_the_aerodrome_of_the_briefing(project, tmp_path):
    given = day_sheet(project, conditions(), Station("the field", 200.0))
    assert given.station.name == "the field"
    assert not any("--station" in words for words in given.notes)
    written = plain_country(tmp_path).more(
        '[briefing]\naerodrome = { name = "Invented field", lat = 10.0, lon = 20.1, '
        'elevation = "900 ft AMSL" }\n'
    )
    sheet = day_sheet(read_project(written.project()), conditions())
    assert sheet.station.name == "Invented field"
    assert sheet.station.elevation_amsl_m == pytest.approx(900 * FOOT_M)


def test_fields_lean_and_land_into_the_wind(sheet):
    (field,) = sheet.fields
    assert field.counts
    assert field.leaning_share == 1.0
    assert field.into_wind_deg_true == 240
    assert field.landing_deg_magnetic == pytest.approx(
        (field.landing_deg_true - sheet.variation.deg_east) % 360.0
    )
    assert (field.headwind_kt, field.crosswind_kt) == pytest.approx(
        wind_on(sheet.plan.project.wind, field.landing_deg_true)
    )


def test_winds_along_and_across_a_strip():
    """Wind 30 degrees right of the nose: half of it across, sine and cosine tables."""
    ahead, across = wind_on(parse_wind("060/20 kt"), 30)
    assert (ahead, across) == pytest.approx((17.32, 10.0), abs=0.01)
    assert wind_on(parse_wind("360/20 kt"), 30)[1] == pytest.approx(-10.0)
    assert wind_on(parse_wind("210/20 kt"), 30)[0] == pytest.approx(-20.0)


def test_wind_changes_the_verdict(tmp_path):
    """A small field, reached from the whole area in a calm and not in a strong wind."""
    country = Country(tmp_path).terrain()
    country.features("fields", [(box(-700, -700, 700, 700), {"name": "Middle"})])
    country.none("obstacles", "structures", "airspace", "congested", "assemblies")
    project = read_project(country.none("noise-sensitive").project(planned='["2500 ft AMSL"]'))
    calm = day_sheet(project, conditions())
    windy = day_sheet(project, conditions("270/35 kt"))
    assert calm.plan.verdict is Verdict.MET
    assert windy.plan.verdict is Verdict.NOT_MET
    assert windy.plan.planned[0].safe_share < calm.plan.planned[0].safe_share


def test_winds_aloft_are_asked_for_and_used(project, sheet):
    assert any("--aloft" in words for words in sheet.notes)
    row = WindAloft(3_000 * FOOT_M, parse_wind("250/25 kt"), "forecast")
    with_aloft = day_sheet(project, conditions("240/12 kt", winds_aloft=(row,)))
    assert not any("--aloft" in words for words in with_aloft.notes)
    assert with_aloft.plan.project.winds_aloft == (row,)
    assert len(with_aloft.glide) == 6
    assert with_aloft.plan.planned[0].safe_share <= sheet.plan.planned[0].safe_share


def test_at_night_it_says_so(project):
    late = day_sheet(project, conditions(time=TIME.replace(hour=23)))
    assert any(words.startswith("NOT BY DAY") for words in late.notes)


def test_past_the_magnetic_model_bearings_are_unknown(project):
    later = day_sheet(project, conditions("240/12 kt", time=TIME.replace(year=2031)))
    assert later.variation.deg_east is None
    assert later.fields[0].landing_deg_magnetic is None
    assert later.fields[0].landing_deg_true is not None


def row_at(feet, wind="250/25 kt"):
    return WindAloft(feet * FOOT_M, parse_wind(wind), "forecast")


@pytest.mark.parametrize(
    ("changed", "option"),
    [
        ({"time": datetime(2026, 11, 25, 15)}, "--time"),
        ({"wind": "240/65 kt"}, "--wind"),
        ({"winds_aloft": (row_at(1_500),)}, "--aloft"),
        ({"winds_aloft": (row_at(3_000), row_at(3_000))}, "--aloft"),
        ({"winds_aloft": (row_at(3_000, "240/70 kt"),)}, "--aloft"),
    ],
)
def test_unusable_conditions_are_told(project, changed, option):
    with pytest.raises(InputError) as caught:
        require_usable(conditions(**changed), project)
    assert [fault.key for fault in caught.value.faults] == [option]


def test_a_temperature_of_another_planet(project):
    with pytest.raises(InputError, match="--temperature"):
        project_on_day(project, conditions(temperature="-50C"), 0.0)


@pytest.mark.parametrize(
    ("text", "kelvin"), [("0C", 273.15), ("-40 degF", 233.15), ("59F", 288.15), ("12 °C", 285.15)]
)
def test_temperatures(text, kelvin):
    """-40 is the same on both scales; 59 degF is the standard 15 degC (USSA-76)."""
    assert parse_temperature(text) == pytest.approx(kelvin)


@pytest.mark.parametrize("text", ["12", "12 K", "", "99C", "-140F", 12])
def test_no_temperature(text):
    with pytest.raises(ValueError, match="such as"):
        parse_temperature(text)
