"""Rules, the school's settings and the files that are not the same in two projects."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from attrs import frozen

from areaplan.planning.changes_things import Change
from areaplan.planning.result import Result
from areaplan.planning.rules_told import RuleTold, told_changes
from areaplan.sources.layers import SourceRecord

# Told in other words: `height_m` by `height_text`, and so on.
_TOLD_BY_TEXT: Final = {
    "height_m": "height_text",
    "radius_m": "radius_text",
    "wind_mps": "wind_text",
    "visibility_m": "visibility_text",
    "ceiling_agl_m": "ceiling_text",
}


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


def compare_rules(old: Result, new: Result) -> tuple[RuleChange, ...]:
    """Rules in force on either side, by their identifiers."""
    before, after = ({one.rule: one for one in side.rules} for side in (old, new))
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


def _rule_words(was: RuleTold, now: RuleTold) -> Iterator[str]:
    changed = list(told_changes(was.told, now.told))
    labels = {label for label, _, _ in changed}
    for label, before, after in changed:
        if _TOLD_BY_TEXT.get(label) not in labels:
            yield f"{label.removesuffix('_text')}: {_then(before, after)}"


def compare_settings(old: Result, new: Result) -> tuple[str, ...]:
    """What the school asks and assumes, where it differs, as "what: old -> new"."""
    changed = told_changes(old.settings, new.settings)
    return tuple(f"{label}: {_then(before, after)}" for label, before, after in changed)


def _then(before: str, after: str) -> str:
    unseen = " (the difference is smaller than what is written here)" if before == after else ""
    return f"{before} -> {after}{unseen}"


def compare_sources(old: Result, new: Result) -> tuple[SourceChange, ...]:
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


def _sources(result: Result) -> dict[tuple[str, tuple[str, ...]], SourceRecord]:
    return {(record.kind.value, record.paths): record for record in result.sources}


def _source_words(was: SourceRecord, now: SourceRecord) -> Iterator[str]:
    if was.edition != now.edition:
        yield f"edition: {was.edition or 'none'} -> {now.edition or 'none'}"
    if was.sha256 != now.sha256:
        yield "another file"
    if was.expires != now.expires:
        yield f"expires: {was.expires or 'not told'} -> {now.expires or 'not told'}"
    if (was.rows_used, was.rows_rejected) != (now.rows_used, now.rows_rejected):
        yield f"rows: {was.counts} -> {now.counts}"
