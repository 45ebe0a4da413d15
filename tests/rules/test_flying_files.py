"""Visual weather tables and manoeuvre files: against the printed tables, and every fault told."""

import csv
import re
from datetime import date
from pathlib import Path

import pytest

from areaplan.errors import InputError
from areaplan.rules.asking import Activity, Flight
from areaplan.rules.flying import Manoeuvre, WeatherMinimum
from areaplan.rules.loading import (
    builtin_manoeuvres,
    builtin_rule_sets,
    load_rule_set,
    policy_template,
)
from areaplan.rules.model import Rule, RuleKind
from areaplan.units import FOOT_M, KNOT_MPS, STATUTE_MILE_M, parse_altitude_amsl, parse_length

AUTHORITIES = Path(__file__).parents[1] / "authorities"
SETS_OF_TABLE = {"91.155": ("us",), "S5-1": ("eu", "icao", "uk", "icao-eu")}


def printed_rows() -> list[dict[str, str]]:
    lines = (AUTHORITIES / "vfr_minima.csv").read_text(encoding="utf-8").splitlines()
    return list(csv.DictReader(line for line in lines if not line.startswith("#")))


def layer_at(name: str, letter: str, altitude_m: float, ground_m: float) -> WeatherMinimum:
    rows = [row for row in load_rule_set(name).weather if letter in row.airspace_classes]
    return next(row for row in rows if row.holds_at(altitude_m, ground_m))


@pytest.mark.parametrize("row", printed_rows(), ids=lambda row: "-".join(row.values()))
def test_the_table_as_printed(row: dict[str, str]) -> None:
    for name in SETS_OF_TABLE[row["table"]]:
        altitude_m, ground_m = (parse_altitude_amsl(row[key]) for key in ("altitude", "ground"))
        found = layer_at(name, row["class"], altitude_m, ground_m)
        assert found.visibility_m == parse_length(row["visibility"])
        assert found.below_cloud_m == parse_length(row["below"])
        assert found.above_cloud_m == parse_length(row["above"])
        assert found.beside_cloud_m == parse_length(row["beside"])


def every_row() -> list:
    rows = [(name, row) for name in builtin_rule_sets() for row in load_rule_set(name).weather]
    rows += [("manoeuvres", row) for row in builtin_manoeuvres().manoeuvres]
    return [pytest.param(row, id=f"{name}-{row.id}") for name, row in rows]


@pytest.mark.parametrize("row", every_row())
def test_a_row_says_where_it_comes_from(row: WeatherMinimum | Manoeuvre) -> None:
    assert all((row.title, row.document, row.section, row.edition))
    assert date(2026, 1, 1) <= row.last_checked <= date(2027, 12, 31)
    assert len(row.quote) >= 20
    assert row.confirm or not re.search(
        "memory|common practice", f"{row.edition} {row.quote}", re.I
    )


@pytest.mark.parametrize("row", every_row())
def test_the_numbers_of_a_row_stand_in_its_sentence(row: WeatherMinimum | Manoeuvre) -> None:
    quoted = set(re.findall(r"[0-9]+", re.sub(r"(?<=[0-9])[ ,](?=[0-9]{3}\b)", "", row.quote)))
    if isinstance(row, WeatherMinimum):
        texts = [row.visibility_text, row.below_cloud_text, row.above_cloud_text]
        texts += [row.beside_cloud_text]
    else:
        texts = [row.completion_text, row.top_text, row.above_highest_text]
    for text in texts:
        numbers = re.findall(r"[0-9]+", text.replace(",", ""))
        assert set(numbers) - {"0"} <= quoted, text


def test_the_completion_heights() -> None:
    """Handbook FAA-H-8083-3C chapter 10; test standards FAA-S-8081-14 and FAA-S-ACS-6."""
    rows = {row.id: row for row in builtin_manoeuvres().manoeuvres}
    high = {"slow-flight", "power-off-stall", "power-on-stall", "steep-turns", "steep-spiral"}
    high |= {"chandelle", "lazy-eight"}
    low_too = {"ground-reference", "eights-on-pylons"}
    assert set(rows) == high | low_too | {"aerobatic"}
    assert {rows[name].completion_agl_m for name in high} == {1500 * FOOT_M}
    low = rows["ground-reference"]
    assert (low.completion_agl_m, low.top_agl_m) == (600 * FOOT_M, 1000 * FOOT_M)
    assert {rows[name].above_highest_m for name in low_too} == {500 * FOOT_M}
    assert rows["eights-on-pylons"].completion_agl_m is None  # the pivotal height sets its altitude
    assert rows["aerobatic"].completion_agl_m is None
    assert rows["aerobatic"].activity is Activity.AEROBATIC
    for row in rows.values():
        is_own = "school declares" in row.heights_source
        assert is_own == ("common practice" in row.heights_source)
        assert is_own or "tolerance" in row.heights_source


def policy(tmp_path: Path, text: str) -> Path:
    path = tmp_path / "policy.toml"
    path.write_text(text, encoding="utf-8")
    return path


def rules_of(tmp_path: Path) -> dict[str, Rule]:
    path = policy(tmp_path, policy_template())
    return {rule.id: rule for rule in load_rule_set("policy.toml", path).rules}


def test_the_template_s_wind_weather_and_solo_rules(tmp_path: Path) -> None:
    rules = rules_of(tmp_path)
    assert rules["school-wind"].wind_mps == pytest.approx(25 * KNOT_MPS)
    assert rules["school-wind-solo"].applies_to is Flight.SOLO
    weather = rules["school-weather"]
    assert weather.kind is RuleKind.WEATHER_LIMIT
    assert weather.visibility_m == pytest.approx(5 * STATUTE_MILE_M)
    assert weather.ceiling_agl_m == pytest.approx(2500 * FOOT_M)


def test_who_flies_decides_which_rules_hold(tmp_path: Path) -> None:
    rules = rules_of(tmp_path)
    training = ("training",)
    held = {
        flight: {name for name, rule in rules.items() if rule.is_in_force(training, flight)}
        for flight in Flight
    }
    assert held[Flight.BOTH] == set(rules)
    assert held[Flight.SOLO] == set(rules) - {"school-wind"}
    assert held[Flight.DUAL] == set(rules) - {"school-wind-solo", "school-solo-height"}


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ('wind = "25 kt"', "wind = 25", "the bare number 25"),
        ('wind = "25 kt"', 'wind = "0 kt"', "more than 0"),
        ('wind = "25 kt"', "", "wind: not given"),
        ('wind = "25 kt"', 'wind = "25 kt"\nheight = "5 ft"', "unknown key"),
        ('visibility = "5 SM"\nceiling = "2,500 ft"', "", "visibility or ceiling"),
        ('ceiling = "2,500 ft"', 'ceiling = "2,500"', "ceiling"),
        ('applies_to = "dual"', 'applies_to = "duel"', 'did you mean "dual"'),
        ('completion = "2,000 ft"', 'completion = "2,000"', "completion"),
        ('completion = "2,000 ft"', 'completion = "2,000 ft"\ntop = "1,000 ft"', "swap the two"),
        ('height_used = "500 ft"', "", "height_used: not given"),
        ('height_used = "500 ft"', 'height_used = "500 ft"\nwithin = "1 km"', "above_highest"),
        ('height_used = "500 ft"', 'height_used = "500 ft"\nfloor = "1 km"', "unknown key"),
        ('height_used = "500 ft"', 'height_used = "500 ft"\nblock_lowest = "1 ft"', "AMSL"),
    ],
)
def test_a_fault_is_told_with_its_key(tmp_path: Path, old: str, new: str, words: str) -> None:
    text = policy_template()
    assert text.count(old) == 1
    path = policy(tmp_path, text.replace(old, new))
    with pytest.raises(InputError) as caught:
        load_rule_set("policy.toml", path)
    assert words in str(caught.value)


def test_a_manoeuvre_may_stand_once_for_dual_and_once_for_solo(tmp_path: Path) -> None:
    start = policy_template().index("[[manoeuvre]]")
    again = policy_template()[start:]
    with pytest.raises(InputError, match=r"duplicate"):
        load_rule_set("policy.toml", policy(tmp_path, policy_template() + "\n" + again))
    other = again.replace('applies_to = "solo"', 'applies_to = "dual"')
    rows = load_rule_set("policy.toml", policy(tmp_path, policy_template() + "\n" + other))
    assert [row.applies_to for row in rows.manoeuvres] == [Flight.SOLO, Flight.DUAL]


@pytest.mark.parametrize(
    ("key", "value", "words"),
    [
        ("airspace_classes", '["H"]', "airspace_classes"),
        ("visibility", '"0 SM"', "more than 0"),
        ("below_cloud", '"500"', "below_cloud"),
        ("top_agl", '"1,200 ft"', "is_top_inclusive: not given"),
        ("nonsense", "1", "unknown key"),
    ],
)
def test_a_fault_in_a_weather_table_is_told(
    tmp_path: Path, key: str, value: str, words: str
) -> None:
    keys = {
        "id": '"w"',
        "title": '"w"',
        "airspace_classes": '["E"]',
        "visibility": '"3 SM"',
        "below_cloud": '"500 ft"',
        "above_cloud": '"1,000 ft"',
        "beside_cloud": '"2,000 ft"',
        "document": '"d"',
        "section": '"s"',
        "edition": '"e"',
        "last_checked": "2026-11-25",
        "quote": '"q"',
    }

    def text() -> str:
        lines = "\n".join(f"{name} = {one}" for name, one in keys.items())
        return f"{policy_template()}\n[[weather]]\n{lines}\n"

    assert len(load_rule_set("policy.toml", policy(tmp_path, text())).weather) == 1
    keys[key] = value
    with pytest.raises(InputError) as caught:
        load_rule_set("policy.toml", policy(tmp_path, text()))
    assert words in str(caught.value)
