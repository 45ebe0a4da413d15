"""Rules, the school's settings and the files that are not the same in two projects."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, Final

from attrs import asdict, fields, frozen

from areaplan.planning.changes_things import Change
from areaplan.planning.limits import sets_in_force
from areaplan.planning.plan import Plan
from areaplan.planning.project import Project
from areaplan.rules.loading import load_rule_sets
from areaplan.rules.model import Rule
from areaplan.sources.layers import SourceRecord

# Not what a rule asks: when somebody last looked, and the examples that test it.
_BESIDE_THE_POINT: Final = frozenset({"last_checked", "examples", "choice_examples"})
# Told in other words: `height_m` by `height_text`, and so on.
_TOLD_BY_TEXT: Final = {
    "height_m": "height_text",
    "radius_m": "radius_text",
    "wind_mps": "wind_text",
    "visibility_m": "visibility_text",
    "ceiling_agl_m": "ceiling_text",
}
_GROUPS: Final = ("aircraft", "margins", "fields")
_SINGLE: Final = (
    "planned_altitudes_amsl_ft",
    "wind",
    "winds_aloft",
    "isa_deviation_k",
    "rule_sets",
    "activities",
    "flight",
    "permissions",
    "inactive",
    "planned_time",
    "gates",
    "routes",
    "cell_m",
    "around_m",
)


@frozen
class RuleChange:
    """A rule in force that was added, dropped or changed; `words` as "what: old -> new"."""

    rule: str
    title: str
    change: Change
    words: tuple[str, ...]
    quote: str


@frozen
class SourceChange:
    """A file that was added, dropped or replaced, with its editions."""

    kind: str
    paths: tuple[str, ...]
    change: Change
    words: tuple[str, ...]


def compare_rules(old: Project, new: Project) -> tuple[RuleChange, ...]:
    """Rules in force in either project, by their identifiers.

    Raises
    ------
    InputError
        A rule file has become unusable since.
    """
    before, after = _rules(old), _rules(new)
    found = []
    for name in dict.fromkeys([*before, *after]):
        was, now = before.get(name), after.get(name)
        if was is None and now is not None:
            found.append(RuleChange(name, now.title, Change.ADDED, (), now.quote))
        elif now is None and was is not None:
            found.append(RuleChange(name, was.title, Change.REMOVED, (), was.quote))
        elif was is not None and now is not None:
            words = tuple(_rule_words(was, now))
            if words:
                found.append(RuleChange(name, now.title, Change.CHANGED, words, now.quote))
    return tuple(found)


def _rules(project: Project) -> Mapping[str, Rule]:
    sets = sets_in_force(load_rule_sets(project.rule_sets, project.rule_paths), project)
    return {rule.id: rule for one in sets for rule in one.rules}


def _rule_words(was: Rule, now: Rule) -> Iterator[str]:
    told_by_text = {
        name for name, text in _TOLD_BY_TEXT.items() if getattr(was, text) != getattr(now, text)
    }
    for one in fields(Rule):
        old, new = getattr(was, one.name), getattr(now, one.name)
        if one.name in _BESIDE_THE_POINT or one.name in told_by_text or old == new:
            continue
        yield f"{one.name.removesuffix('_text')}: {_plain(old)} -> {_plain(new)}"


def compare_settings(old: Project, new: Project) -> tuple[str, ...]:
    """What the school asks and assumes, where it differs, as "what: old -> new"."""
    said = []
    for group in _GROUPS:
        before, after = (asdict(getattr(project, group), recurse=False) for project in (old, new))
        said += [
            f"{group}, {name}: {_plain(value)} -> {_plain(after[name])}"
            for name, value in before.items()
            if value != after[name]
        ]
    said += [
        f"{name}: {_plain(getattr(old, name))} -> {_plain(getattr(new, name))}"
        for name in _SINGLE
        if getattr(old, name) != getattr(new, name)
    ]
    return tuple(said)


def _plain(value: Any) -> str:
    if value is None or value == "" or value == ():
        return "nothing"
    if isinstance(value, float):
        return f"{value:g}"
    if isinstance(value, tuple | list):
        return ", ".join(map(_plain, value))
    if isinstance(value, Mapping):
        return "; ".join(f"{key}: {_plain(one)}" for key, one in value.items())
    return str(value)


def compare_sources(old: Plan, new: Plan) -> tuple[SourceChange, ...]:
    """Files by kind and name: which are new, gone, or not the same bytes or edition any more."""
    before, after = _sources(old), _sources(new)
    found = []
    for key in dict.fromkeys([*before, *after]):
        was, now = before.get(key), after.get(key)
        kind, paths = key
        if was is None or now is None:
            change = Change.ADDED if was is None else Change.REMOVED
            found.append(SourceChange(kind, paths, change, ()))
            continue
        words = tuple(_source_words(was, now))
        if words:
            found.append(SourceChange(kind, paths, Change.CHANGED, words))
    return tuple(found)


def _sources(plan: Plan) -> dict[tuple[str, tuple[str, ...]], SourceRecord]:
    return {(record.kind.value, record.paths): record for record in plan.sources}


def _source_words(was: SourceRecord, now: SourceRecord) -> Iterator[str]:
    if was.edition != now.edition:
        yield f"edition: {was.edition or 'none'} -> {now.edition or 'none'}"
    if was.sha256 != now.sha256:
        yield "another file"
    if was.expires != now.expires:
        yield f"expires: {was.expires or 'not told'} -> {now.expires or 'not told'}"
    if (was.rows_used, was.rows_rejected) != (now.rows_used, now.rows_rejected):
        yield f"rows: {was.counts} -> {now.counts}"
