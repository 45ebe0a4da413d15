"""Reads rule files: the built-in sets of the authorities, and the files that schools write."""

from __future__ import annotations

import hashlib
import tomllib
from collections.abc import Sequence
from difflib import get_close_matches
from importlib import resources
from pathlib import Path
from typing import Any, Final

from areaplan.errors import Fault, InputError
from areaplan.rules._rule_reader import read_rules
from areaplan.rules._table_reader import TableReader
from areaplan.rules.model import RuleSet

_SUFFIX: Final = ".toml"
_NEAR: Final = 0.4  # likeness from which a built-in set's name is offered instead of a mistyped one
_SET_KEYS: Final = ("id", "title", "authority", "notes", "types_ruled_by_class", "rule")


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
    content = _read(name, path, place)
    faults: list[Fault] = []
    top = TableReader(place, "", _parse(content, place), faults)
    top.refuse_other_keys(_SET_KEYS, "a rule set")
    rule_set = RuleSet(
        id=top.text("id"),
        title=top.text("title"),
        authority=top.text("authority"),
        rules=read_rules(top),
        notes=top.texts("notes"),
        types_ruled_by_class=tuple(code.upper() for code in top.texts("types_ruled_by_class")),
        path=path,
        sha256=hashlib.sha256(content).hexdigest(),
    )
    if path is not None and rule_set.id in builtin_rule_sets():
        fix = "give the file an id of its own"
        top.fault("id", found=repr(rule_set.id), expected="no built-in set's name", fix=fix)
    if faults:
        raise InputError(faults)
    return rule_set


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
    if path is not None:
        try:
            return path.read_bytes()
        except OSError as error:
            found = error.strerror or type(error).__name__
            near = get_close_matches(name.lower(), builtin_rule_sets(), n=1, cutoff=_NEAR)
            fix = "correct the path" + (f', or did you mean "{near[0]}"?' if near else "")
            raise InputError.single(
                place, "", found=found, expected="a readable rule file", fix=fix
            ) from error
    known = builtin_rule_sets()
    if name not in known:
        near = get_close_matches(name.lower(), known, n=1, cutoff=_NEAR)
        fix = f'did you mean "{near[0]}"?' if near else f"use one of these, or a file *{_SUFFIX}"
        expected = "one of " + ", ".join(f'"{word}"' for word in known)
        raise InputError.single(place, "", found="no such set", expected=expected, fix=fix)
    return resources.files("areaplan.rules").joinpath("data", name + _SUFFIX).read_bytes()


def _parse(content: bytes, place: str) -> dict[str, Any]:
    try:
        return tomllib.loads(content.decode("utf-8"))
    except (UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        fix = "start from the policy template, and put quotes round every text"
        raise InputError.single(
            place, "", found=str(error), expected="a TOML file in UTF-8", fix=fix
        ) from error
