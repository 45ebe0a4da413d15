"""Settings that changed, told by the keys of the project file and in its units."""

from datetime import UTC, date, datetime

import attrs
import pytest
from hypothesis import given
from hypothesis import strategies as st

from areaplan.planning.gates import Gate, Route, Use
from areaplan.planning.project import (
    Aircraft,
    FieldLimits,
    Inactive,
    Margins,
    Permission,
    Project,
    StatedWeather,
)
from areaplan.planning.project_file import read_project
from areaplan.planning.rules_told import told_changes
from areaplan.planning.setting_words import SETTINGS, settings_told
from areaplan.planning.starter import scenario_directory
from areaplan.rules.asking import Flight
from areaplan.units import (
    Height,
    HeightReference,
    parse_length,
    parse_pressure,
    parse_share,
    parse_slope,
    parse_speed,
)
from areaplan.units import parse_wind as wind
from tests.planning.project_text import PROJECT, folder_with_files, read

REST = PROJECT.replace('[margins]\narrival_height = "400 ft"\n', "")
GROUPS = {"aircraft": Aircraft, "margins": Margins, "fields": FieldLimits}
# What names or finds the project, is judged elsewhere in a comparison, or is no setting.
NO_SETTINGS = {
    "path", "sha256", "name", "school", "day", "rule_paths", "sources", "briefing", "section",
    "wind_source", "climatology",
}  # fmt: skip


@pytest.fixture(scope="module")
def project():
    return read_project(scenario_directory() / "project.toml")


def changes(project, group, name, *values):
    """What is told of a setting that goes from one value to another."""
    told = []
    for value in values:
        holder = attrs.evolve(getattr(project, group) if group else project, **{name: value})
        told.append(settings_told(attrs.evolve(project, **{group: holder}) if group else holder))
    return tuple(f"{label}: {was} -> {now}" for label, was, now in told_changes(*told))


def test_every_attribute_has_words_and_every_word_an_attribute():
    for group, holder in GROUPS.items():
        named = {name for one, name in SETTINGS if one == group}
        assert named == {one.name for one in attrs.fields(holder)}, group
    named = {name for one, name in SETTINGS if one == ""}
    assert named == {one.name for one in attrs.fields(Project)} - NO_SETTINGS - set(GROUPS)


def test_the_keys_are_those_that_a_project_file_takes(tmp_path):
    """Each key stands in a file that the reader takes without a fault."""
    text = REST
    for group in ("margins", "fields"):
        keys = [one.key.replace(" ", "_") for (each, _), one in SETTINGS.items() if each == group]
        assert f"[{group}]" not in REST
        values = {"count_candidates": "false", "arrival": '"height"'}
        lines = [f"{key} = {values[key]}" for key in keys if key in values]
        lines += [f"{key} = {value}" for key, value in EXAMPLES.items() if key in keys]
        assert len(lines) == len(keys), group
        text += f"\n[{group}]\n" + "\n".join(lines) + "\n"
    project = read(folder_with_files(tmp_path), text)
    assert project.margins.airspace_lateral_m == pytest.approx(0.3 * 1852.0)


EXAMPLES = {
    "airspace_lateral": '"0.3 NM"', "airspace_vertical": '"100 ft"', "glide_clearance": '"100 ft"',
    "arrival_height": '"300 ft"', "reaction_time": '"4 s"', "turn_bank": '"30 deg"',
    "qnh_lowest": '"980 hPa"', "qnh_highest": '"1040 hPa"', "width": '"30 m"',
    "least_length": '"300 m"', "approach_slope": '"1:10"', "steepest": '"4 %"',
    "roughest": '"0.5 m"', "wire_clearance": '"30 m"',
}  # fmt: skip


@pytest.mark.parametrize(
    ("group", "name", "old", "new", "said"),
    [
        ("fields", "least_length_m", 250.0, 300.0, "fields, least length: 250 m -> 300 m"),
        ("fields", "approach_slope", 0.1, 0.05, "fields, approach slope: 1:10 -> 1:20"),
        ("fields", "steepest", 0.04, 0.035, "fields, steepest: 4 % -> 3.5 %"),
        ("fields", "is_key_asked", False, True, "fields, arrival: height -> key"),
        (
            "margins",
            "airspace_lateral_m",
            parse_length("0.25 NM"),
            parse_length("0.3 NM"),
            "margins, airspace lateral: 0.25 NM -> 0.3 NM",
        ),
        ("margins", "qnh_lowest_pa", 98_000.0, 97_500.0, "margins, qnh lowest: 980 hPa -> 975 hPa"),
        (
            "aircraft",
            "best_glide_speed_mps",
            parse_speed("65 kt"),
            parse_speed("68 kt"),
            "aircraft, best glide speed: 65 kt -> 68 kt",
        ),
        ("aircraft", "glide_derating", 0.2, 0.25, "aircraft, glide derating: 20 % -> 25 %"),
        (
            "aircraft",
            "landing_distance_m",
            None,
            parse_length("1300 ft"),
            "aircraft, landing distance: nothing -> 1300 ft",
        ),
        ("", "wind", wind("210/22 kt"), wind("160/22 kt"), "wind: 210/22 kt -> 160/22 kt"),
        (
            "",
            "planned_altitudes_amsl_ft",
            (2100,),
            (2100, 2800),
            "planned altitudes: 2100 ft AMSL -> 2100 ft AMSL; 2800 ft AMSL",
        ),
        ("", "flight", Flight.BOTH, Flight.SOLO, "flight: both -> solo"),
        ("", "cell_m", 25.0, 50.0, "grid, cell: 25 m -> 50 m"),
        ("", "isa_deviation_k", 0.0, -12.5, "isa deviation: 0 degC -> -12.5 degC"),
        (
            "",
            "permissions",
            (),
            (Permission("R-0001", "letter", date(2027, 3, 1)),),
            "permissions: nothing -> R-0001 (letter, until 2027-03-01)",
        ),
        (
            "",
            "gates",
            (Gate("Mill", 41.2, -100.1, 2000, Use.IN),),
            (),
            "gates: Mill at 41.200000 -100.100000, 2000 ft AMSL, in -> nothing",
        ),
        (
            "",
            "routes",
            (),
            (Route("North", ((-100.1, 41.2), (-100.0, 41.3)), ("", "Mill"), 2000),),
            "routes: nothing -> North [41.200000 -100.100000] [Mill], 2000 ft AMSL, both",
        ),
    ],
)
def test_old_and_new_with_their_units(project, group, name, old, new, said):
    assert changes(project, group, name, old, new) == (said,)
    assert changes(project, group, name, new, new) == ()


def test_each_value_is_told_under_a_label_of_its_own(project):
    labels = [one.label for one in settings_told(project)]
    assert len(set(labels)) == len(labels)


def test_times_carry_their_offset(project):
    when = datetime(2026, 11, 25, 15, 0, tzinfo=UTC)
    (said,) = changes(project, "", "planned_time", None, when)
    assert said == "planned time: nothing -> 2026-11-25 15:00+00:00"
    quiet = Inactive("R-0001", "notice 7", when, when.replace(hour=18))
    (said,) = changes(project, "", "inactive", (), (quiet,))
    assert said.endswith("R-0001 from 2026-11-25 15:00+00:00 to 2026-11-25 18:00+00:00 (notice 7)")


def test_stated_weather_is_a_setting(project):
    fog = StatedWeather(1500.0, "1500 m", Height(180.0, HeightReference.AGL), "180 m AGL", "report")
    (said,) = changes(project, "", "weather", None, fog)
    assert said.startswith("weather: nothing -> ")
    assert "1500 m" in said


def test_sources_of_figures_are_told_one_by_one(project):
    old = {"stall_speed": "page 2", "best_glide_ratio": "page 3"}
    new = {"stall_speed": "page 2", "best_glide_ratio": "page 4", "crosswind_limit": "page 9"}
    assert changes(project, "aircraft", "figure_sources", old, new) == (
        "aircraft, source of best glide ratio: page 3 -> page 4",
        "aircraft, source of crosswind limit: nothing -> page 9",
    )


@given(st.floats(0.05, 5000.0), st.floats(1e-10, 1e-3))
def test_two_figures_are_never_told_as_one(project, value, apart):
    (said,) = changes(project, "fields", "roughest_m", value, value * (1.0 + apart))
    told = said.removeprefix("fields, roughest: ").split(" -> ")
    assert [float(one.split()[0]) for one in told] == pytest.approx([value] * 2, rel=1e-3)


def test_a_printed_figure_reads_back_as_the_value(project):
    """The printed words are a value that the project file's own parsers take."""
    for (group, name), parse, text in (
        (("fields", "least_length_m"), parse_length, "317 m"),
        (("fields", "approach_slope"), parse_slope, "1:15"),
        (("margins", "glide_clearance_m"), parse_length, "123 ft"),
        (("margins", "qnh_highest_pa"), parse_pressure, "1031.5 hPa"),
        (("aircraft", "stall_speed_mps"), parse_speed, "41.5 kt"),
        (("aircraft", "glide_derating"), parse_share, "17.5 %"),
    ):
        (said,) = changes(project, group, name, parse(text) * 2, parse(text))
        assert said.endswith(f" -> {text}")
        assert parse(said.rpartition(" -> ")[2]) == pytest.approx(parse(text), rel=1e-12)
