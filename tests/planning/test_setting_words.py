"""Settings that changed, told by the keys of the project file and in its units."""

from datetime import UTC, date, datetime

import attrs
import pytest
from hypothesis import given
from hypothesis import strategies as st

from areaplan.planning.gates import Gate, Route, Use
from areaplan.planning.project import Aircraft, FieldLimits, Inactive, Margins, Permission, Project
from areaplan.planning.setting_words import SETTINGS, setting_words
from areaplan.rules.asking import Flight
from areaplan.units import parse_length, parse_pressure, parse_share, parse_slope, parse_speed
from areaplan.units import parse_wind as wind
from tests.planning.project_text import PROJECT, folder_with_files, read

REST = PROJECT.replace('[margins]\narrival_height = "400 ft"\n', "")
GROUPS = {"aircraft": Aircraft, "margins": Margins, "fields": FieldLimits}
# What names or finds the project, is judged elsewhere in a comparison, or is no setting.
NO_SETTINGS = {
    "path", "sha256", "name", "school", "day", "rule_paths", "sources", "briefing", "section",
    "wind_source", "climatology",
}  # fmt: skip


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
def test_old_and_new_with_their_units(group, name, old, new, said):
    assert setting_words(group, name, old, new) == (said,)
    assert setting_words(group, name, new, new) == ()


def test_times_carry_their_offset():
    when = datetime(2026, 11, 25, 15, 0, tzinfo=UTC)
    (said,) = setting_words("", "planned_time", None, when)
    assert said == "planned time: nothing -> 2026-11-25 15:00+00:00"
    quiet = Inactive("R-0001", "notice 7", when, when.replace(hour=18))
    (said,) = setting_words("", "inactive", (), (quiet,))
    assert said.endswith("R-0001 from 2026-11-25 15:00+00:00 to 2026-11-25 18:00+00:00 (notice 7)")


def test_sources_of_figures_are_told_one_by_one():
    old = {"stall_speed": "page 2", "best_glide_ratio": "page 3"}
    new = {"stall_speed": "page 2", "best_glide_ratio": "page 4", "crosswind_limit": "page 9"}
    assert setting_words("aircraft", "figure_sources", old, new) == (
        "aircraft, source of best glide ratio: page 3 -> page 4",
        "aircraft, source of crosswind limit: nothing -> page 9",
    )


@given(st.floats(0.05, 5000.0), st.floats(1e-10, 1e-3))
def test_two_figures_are_never_told_as_one_without_saying_so(value, apart):
    other = value * (1.0 + apart)
    (said,) = setting_words("fields", "roughest_m", value, other)
    old, new = said.removeprefix("fields, roughest: ").split(" -> ")
    assert old != new or "smaller than what is written" in said
    assert float(old.split()[0]) == pytest.approx(value, rel=1e-3)


def test_a_time_that_differs_by_less_than_is_written():
    when = datetime(2026, 11, 25, 15, 0, tzinfo=UTC)
    (said,) = setting_words("", "planned_time", when, when.replace(second=9))
    assert said.endswith("15:00+00:00 (the difference is smaller than what is written here)")


def test_a_printed_figure_reads_back_as_the_value():
    """The printed words are a value that the project file's own parsers take."""
    for (group, name), parse, text in (
        (("fields", "least_length_m"), parse_length, "317 m"),
        (("fields", "approach_slope"), parse_slope, "1:15"),
        (("margins", "glide_clearance_m"), parse_length, "123 ft"),
        (("margins", "qnh_highest_pa"), parse_pressure, "1031.5 hPa"),
        (("aircraft", "stall_speed_mps"), parse_speed, "41.5 kt"),
        (("aircraft", "glide_derating"), parse_share, "17.5 %"),
    ):
        (said,) = setting_words(group, name, parse(text) * 2, parse(text))
        assert said.endswith(f" -> {text}")
        assert parse(said.rpartition(" -> ")[2]) == pytest.approx(parse(text), rel=1e-12)


def test_no_words_is_a_mistake_of_ours():
    with pytest.raises(KeyError):
        setting_words("fields", "no_such", 1.0, 2.0)
