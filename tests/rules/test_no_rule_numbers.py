"""The numbers of the rules stand in the rule files, and in no Python file that judges."""

import ast
import math
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

import areaplan
from areaplan.rules.loading import builtin_manoeuvres, builtin_rule_sets, load_rule_set
from areaplan.units import FOOT_M, NAUTICAL_MILE_M, STATUTE_MILE_M, parse_length

PACKAGE = Path(areaplan.__file__).parent
# Readers, maps and commands may say "every 500 ft" of a ruler or an axis; these rooms decide.
JUDGING_ROOMS = ("rules", "engine", "planning")
# Longest first: a name ends in one unit only.
SUFFIXES_M = {
    "NAUTICAL_MILE_M": NAUTICAL_MILE_M,
    "STATUTE_MILE_M": STATUTE_MILE_M,
    "FOOT_M": FOOT_M,
    "_ft": FOOT_M,
    "_FT": FOOT_M,
    "_nm": NAUTICAL_MILE_M,
    "_NM": NAUTICAL_MILE_M,
    "_m": 1.0,
    "_M": 1.0,
}
# An altitude above mean sea level is no distance from anything, so no rule's number.
QUANTITY = re.compile(r"(?<![\w.,])([0-9][0-9,.]*) ?(ft|m|km|NM|SM)\b(?! A?MSL)")
# Equal to a rule's number by chance: limits and defaults of what a person may put into a project
# file, and how far above the planned altitude the table of altitudes goes on.
COINCIDENCES = {
    ("planning/_field_keys.py", "300 m"),
    ("planning/_source_tables.py", "2000 ft"),
    ("planning/project_file.py", "2000 ft"),
    ("planning/judging.py", "ABOVE_PLANNED_FT 1000"),
    ("planning/glide.py", "FOOT_M 3000.0"),  # how far above the planned altitude air is looked up
}
MICROMETRE_M = 1e-6


def rule_lengths_m() -> set[float]:
    return {
        length
        for name in builtin_rule_sets()
        for rule in load_rule_set(name).rules
        for length in (rule.height_m, rule.radius_m)
        if length and math.isfinite(length)
    } | {
        length
        for row in builtin_manoeuvres().manoeuvres
        for length in (row.completion_agl_m, row.top_agl_m, row.above_highest_m, row.within_m)
        if length
    }


def is_rule_length(value_m: float) -> bool:
    return any(abs(value_m - length) < MICROMETRE_M for length in rule_lengths_m())


def rule_numbers_in(source: str) -> list[str]:
    """Every rule's number that stands in a Python text, as written there."""
    tree = ast.parse(source)
    docstrings = {
        id(node.value)
        for node in ast.walk(tree)
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)
    }
    found = []
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and id(node) not in docstrings:
            found += _in_constant(node.value)
        for name, value in (*_named(node), *_multiplied(node)):
            unit = next((unit for suffix, unit in SUFFIXES_M.items() if name.endswith(suffix)), 0)
            if unit and is_rule_length(value * unit):
                found.append(f"{name} {value}")
    return found


def _in_constant(value: object) -> list[str]:
    # Whole metres below a kilometre may be degrees or anything else: their name must tell.
    if isinstance(value, float) and (value % 1.0 or value >= 1000.0) and is_rule_length(value):
        return [str(value)]
    if not isinstance(value, str):
        return []
    quantities = [f"{number.rstrip(',.')} {unit}" for number, unit in QUANTITY.findall(value)]
    return [text for text in quantities if is_rule_length(parse_length(text))]


def _named(node: ast.AST) -> Iterator[tuple[str, float]]:
    """Numbers given to a name: assignments, keywords and defaults of parameters."""
    pairs: list[tuple[str, ast.expr | None]] = []
    if isinstance(node, ast.Assign):
        pairs = [(one.id, node.value) for one in node.targets if isinstance(one, ast.Name)]
    elif isinstance(node, ast.AnnAssign) and isinstance(node.target, ast.Name):
        pairs = [(node.target.id, node.value)]
    elif isinstance(node, ast.keyword) and node.arg:
        pairs = [(node.arg, node.value)]
    elif isinstance(node, ast.arguments):
        positional = [*node.posonlyargs, *node.args]
        with_default = positional[len(positional) - len(node.defaults) :]
        pairs = [
            *((arg.arg, value) for arg, value in zip(with_default, node.defaults, strict=True)),
            *(
                (arg.arg, value)
                for arg, value in zip(node.kwonlyargs, node.kw_defaults, strict=True)
            ),
        ]
    for name, value in pairs:
        if isinstance(value, ast.Constant) and isinstance(value.value, int | float):
            yield name, value.value


def _multiplied(node: ast.AST) -> Iterator[tuple[str, float]]:
    if isinstance(node, ast.BinOp) and isinstance(node.op, ast.Mult):
        for number, unit in ((node.left, node.right), (node.right, node.left)):
            is_number = isinstance(number, ast.Constant) and isinstance(number.value, int | float)
            if is_number and isinstance(unit, ast.Name):
                yield unit.id, number.value


def test_the_rule_files_do_hold_numbers() -> None:
    feet = {round(length / FOOT_M) for length in rule_lengths_m()}
    assert {500, 1000, 1500, 2000} <= feet
    assert 4 * NAUTICAL_MILE_M in rule_lengths_m()


@pytest.mark.parametrize(
    "source",
    [
        "height_m = 152.4",
        "radius_m = 609.6 + 1",
        "limit = 1000 * FOOT_M",
        "limit = NAUTICAL_MILE_M * 4",
        "limit = parse_length('500 ft')",
        "limit = parse_length('4.0 NM')",
        "message = 'stay 2,000 ft away'",
        "def f(radius_m: float = 300.0): ...",
        "def f(*, height_ft=1000): ...",
        "f(radius_m=150)",
        "RADIUS_M: Final = 600.0",
        "floor_ft = 500",
        "x = 1852.0 + 7408.0",
    ],
)
def test_the_search_finds_a_number(source: str) -> None:
    assert rule_numbers_in(source)


@pytest.mark.parametrize(
    "source",
    [
        '"""Such as 500 ft."""',
        "step = 25.0",
        "x = 3 * FOOT_M",
        "t = '700 ft'",
        "a = '2000 ft AMSL'",
    ],
)
def test_the_search_leaves_other_numbers_alone(source: str) -> None:
    assert not rule_numbers_in(source)


@pytest.mark.parametrize(
    "path",
    sorted(path for room in JUDGING_ROOMS for path in (PACKAGE / room).rglob("*.py")),
    ids=lambda path: str(path.relative_to(PACKAGE)),
)
def test_no_number_of_a_rule_stands_in_python(path: Path) -> None:
    name = path.relative_to(PACKAGE).as_posix()
    numbers = rule_numbers_in(path.read_text(encoding="utf-8"))
    assert [text for text in numbers if (name, text) not in COINCIDENCES] == []
