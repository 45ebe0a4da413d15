"""Reads rule files: the built-in sets of the authorities, and the files that schools write."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from importlib import resources
from pathlib import Path
from typing import Final

from attrs import evolve

from areaplan.errors import Fault, InputError
from areaplan.fault_words import describe, nearest_fix, one_of
from areaplan.rules._flying_reader import read_manoeuvres, read_weather
from areaplan.rules._rule_reader import read_rules
from areaplan.rules.model import RuleSet
from areaplan.toml_tables import Faults, Table, parse_toml

_SUFFIX: Final = ".toml"


def builtin_rule_sets() -> tuple[str, ...]:
    """Names of the rule sets that come with areaplan, in alphabetical order."""
    data = resources.files("areaplan.rules").joinpath("data")
    names = (entry.name for entry in data.iterdir())
    return tuple(sorted(n.removesuffix(_SUFFIX) for n in names if n.endswith(_SUFFIX)))


def policy_template() -> str:
    """Text of a school's policy file to begin from, explained line by line."""
    return (
        resources.files("areaplan.rules")
        .joinpath("policy_template.toml")
        .read_text(encoding="utf-8")
    )


def load_rule_set(name: str, path: Path | None = None) -> RuleSet:
    """Read one rule set.

    Parameters
    ----------
    name : str
        Name of a built-in set; with a path, the file as the project wrote it.
    path : Path or None
        The file, None for a built-in set.

    Raises
    ------
    InputError
        No such set or file, not TOML, or any key missing, unknown or wrong; with every fault.
    """
    place = f"built-in rules {name}" if path is None else str(path)
    return _built(_read(name, path, place), place, path)


def builtin_manoeuvres() -> RuleSet:
    """The manoeuvres that come with areaplan: completion heights of handbook and test standards."""
    file = resources.files("areaplan.rules").joinpath("manoeuvres", "handbook.toml")
    return _built(file.read_bytes(), "built-in manoeuvres", None)


def _built(content: bytes, place: str, path: Path | None) -> RuleSet:
    values = parse_toml(
        place,
        content,
        expected="a TOML file in UTF-8",
        fix="start from the policy template, and put quotes round every text",
    )
    top = Table(values, "", Faults(place))
    rule_set = RuleSet(
        id=top.prose("id"),
        title=top.prose("title"),
        authority=top.prose("authority"),
        rules=read_rules(top),
        weather=read_weather(top),
        manoeuvres=read_manoeuvres(top),
        notes=top.passages("notes"),
        types_ruled_by_class=tuple(code.upper() for code in top.passages("types_ruled_by_class")),
        path=path,
        sha256=hashlib.sha256(content).hexdigest(),
    )
    # Only built-in sets are made of others: a school's file adds to the law, it does not carry it.
    included = top.passages("includes") if path is None else ()
    top.refuse_unknown("a rule set")
    if path is not None and rule_set.id in builtin_rule_sets():
        fix = "give the file an id of its own"
        top.note("id", describe(rule_set.id), "no built-in set's name", fix)
    if top.faults.noted:
        raise InputError(top.faults.noted)
    return _with_included(rule_set, [load_rule_set(name) for name in included])


def _with_included(rule_set: RuleSet, included: Sequence[RuleSet]) -> RuleSet:
    """The rules of other sets before a set's own."""
    if not included:
        return rule_set
    parts = (*included, rule_set)
    digests = "".join(one.sha256 for one in parts)
    return evolve(
        rule_set,
        rules=tuple(rule for one in parts for rule in one.rules),
        weather=tuple(row for one in parts for row in one.weather),
        notes=tuple(dict.fromkeys(note for one in (rule_set, *included) for note in one.notes)),
        types_ruled_by_class=tuple(
            dict.fromkeys(code for one in parts for code in one.types_ruled_by_class)
        ),
        sha256=hashlib.sha256(digests.encode("ascii")).hexdigest(),
    )


def load_rule_sets(names: Sequence[str], paths: Sequence[Path | None]) -> tuple[RuleSet, ...]:
    """Read several rule sets, in order, as a project names them.

    Parameters
    ----------
    names, paths : sequences of the same length
        As for `load_rule_set`.

    Raises
    ------
    InputError
        Any fault of any of them, or the same rule identifier in two; all at once.
    """
    rule_sets: list[RuleSet] = []
    faults: list[Fault] = []
    for name, path in zip(names, paths, strict=True):
        try:
            rule_sets.append(load_rule_set(name, path))
        except InputError as error:
            faults.extend(error.faults)
    owners: dict[str, str] = {}
    for rule_set in rule_sets:
        for rule in rule_set.rules:
            owner = owners.setdefault(rule.id, rule_set.id)
            if owner != rule_set.id:
                place = str(rule_set.path or f"built-in rules {rule_set.id}")
                expected = f"an identifier that the set {owner!r} does not use"
                fix = "rename one of the two"
                faults.append(Fault(place, f"rule[{rule.id}].id", "duplicate", expected, fix))
    if len({one.id for one in rule_sets}) != len(rule_sets):
        faults.append(
            Fault(", ".join(names), "id", "the same rule set twice", "each once", "take one out")
        )
    if faults:
        raise InputError(faults)
    return tuple(rule_sets)


def _read(name: str, path: Path | None, place: str) -> bytes:
    known = builtin_rule_sets()
    if path is not None:
        try:
            return path.read_bytes()
        except OSError as error:
            found = error.strerror or type(error).__name__
            near = nearest_fix(name, known, otherwise="")
            fix = "correct the path" + (f", or {near}" if near else "")
            raise InputError.single(
                place, "", found=found, expected="a readable rule file", fix=fix
            ) from error
    if name not in known:
        fix = nearest_fix(name, known, otherwise=f"use one of these, or a file *{_SUFFIX}")
        raise InputError.single(place, "", found="no such set", expected=one_of(known), fix=fix)
    return resources.files("areaplan.rules").joinpath("data", name + _SUFFIX).read_bytes()
