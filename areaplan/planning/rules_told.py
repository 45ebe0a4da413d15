"""Rules in force in plain words, by which two projects are compared."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from typing import Any, Final

from attrs import fields, frozen
from cattrs.preconf.json import make_converter

from areaplan.planning.limits import sets_in_force
from areaplan.planning.project import Project
from areaplan.rules.loading import load_rule_sets
from areaplan.rules.model import Rule
from areaplan.rules.sourced import Sourced

# Not what a rule asks: when somebody last looked, and the examples that test it.
_BESIDE_THE_POINT: Final = frozenset({"last_checked", "examples", "choice_examples"})
NOTHING: Final = "nothing"
_PLAIN: Final = make_converter()


@frozen
class Told:
    """One value: its label, its words, and all that two values are told apart by.

    Attributes
    ----------
    label : str
    words : str
        As people read it; a number to six digits, so two values may share their words.
    exact : str
        The whole value as JSON: equal where, and only where, the values are.
    """

    label: str
    words: str
    exact: str


@frozen
class RuleTold:
    """A rule in force: its identifier, and what it says under the names of `Rule`'s attributes."""

    rule: str
    told: tuple[Told, ...]

    @property
    def title(self) -> str:
        """A few plain words."""
        return self._words("title")

    @property
    def quote(self) -> str:
        """The decisive words of the law or policy."""
        return self._words("quote")

    def _words(self, label: str) -> str:
        return next((one.words for one in self.told if one.label == label), "")


def rules_told(project: Project) -> tuple[RuleTold, ...]:
    """The rules in force, in the order of their sets.

    Raises
    ------
    InputError
        A rule file is unusable.
    """
    sets = sets_in_force(load_rule_sets(project.rule_sets, project.rule_paths), project)
    where_it_stands = [one.name for one in fields(Sourced)]
    what_it_asks = [one.name for one in fields(Rule) if one.name not in where_it_stands]
    names = [one for one in what_it_asks + where_it_stands if one not in _BESIDE_THE_POINT]
    return tuple(
        RuleTold(rule.id, tuple(_told(name, getattr(rule, name)) for name in names))
        for one in sets
        for rule in one.rules
    )


def told_changes(before: Sequence[Told], after: Sequence[Told]) -> Iterator[tuple[str, str, str]]:
    """Label and words, before and now, of every value that is not the same.

    A value that only one side holds, because another version of areaplan made the other, is said
    to be not recorded there.
    """
    old, new = ({one.label: one for one in side} for side in (before, after))
    for label in dict.fromkeys([*old, *new]):
        was, now = old.get(label, _NOT_RECORDED), new.get(label, _NOT_RECORDED)
        if was.exact != now.exact:
            yield label, was.words, now.words


_NOT_RECORDED: Final = Told("", "not recorded", "")


def _told(label: str, value: Any) -> Told:
    return Told(label, _words(value), exact_words(value))


def _words(value: Any) -> str:
    if value is None or value == "" or value == ():
        return NOTHING
    if isinstance(value, float):
        return f"{value:g}"
    if isinstance(value, tuple | list):
        return ", ".join(map(_words, value))
    if isinstance(value, Mapping):
        return "; ".join(f"{key}: {_words(one)}" for key, one in value.items())
    return str(value)


def exact_words(value: Any) -> str:
    """A value as JSON: equal where, and only where, two values are."""
    plain = _same_numbers(_PLAIN.unstructure(value))
    return json.dumps(plain, sort_keys=True, ensure_ascii=False)


def _same_numbers(value: Any) -> Any:
    """Numbers that are equal, such as 25 and 25.0, written alike."""
    if isinstance(value, float) and value.is_integer():
        return int(value)
    if isinstance(value, tuple | list):
        return [_same_numbers(one) for one in value]
    if isinstance(value, Mapping):
        return {key: _same_numbers(one) for key, one in value.items()}
    return value
