"""One document that lists every rule, its sentence and its worked examples: HTML or Markdown."""

from __future__ import annotations

import html
import math
import re
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path
from typing import Final

from attrs import frozen

from areaplan.errors import InputError
from areaplan.render.whole_file import write_whole
from areaplan.rules.flying import Manoeuvre, WeatherMinimum
from areaplan.rules.model import Example, Rule, RuleSet
from areaplan.rules.text import (
    WEATHER_HEADING,
    asked_in_words,
    binding_in_words,
    manoeuvre_in_words,
    weather_in_words,
)
from areaplan.units import FOOT_M

_TITLE: Final = "The rules that areaplan holds"
_INTRODUCTION: Final = (
    "Planning aid only, not for navigation. Rules change: the text in force decides, and the pilot "
    "in command. Whatever is marked CONFIRM stands from memory or was not seen whole: read the "
    "current text before use.",
    "Worked examples: each is run as a test, by a plain judge and through the surfaces that the "
    "map is made of.",
)
_MARKDOWN_MARKS: Final = re.compile(r"([\\`*_{}\[\]<>#|~&])")
_STYLE: Final = """\
body { font: 11pt/1.4 Georgia, serif; max-width: 44em; margin: 2em auto; padding: 0 1em; }
h2 { border-top: 2px solid; padding-top: 0.4em; break-after: avoid; }
h3 { margin: 1.2em 0 0.2em; font-size: 1em; break-after: avoid; }
p, ul { margin: 0.2em 0; }
blockquote { margin: 0.3em 0 0.3em 1em; padding-left: 0.8em; border-left: 3px solid #888; }
.confirm { font-weight: bold; }
@media print { body { margin: 0; max-width: none; font-size: 9pt; } }
"""


@frozen
class _Part:
    """A piece of the document: a kind (h1, h2, h3, p, quote, item, confirm) and its text."""

    kind: str
    text: str


def write_rules_document(rule_sets: Sequence[RuleSet], path: Path) -> None:
    """Write every rule of the sets as one document: HTML or Markdown by the file's ending.

    The same bytes for the same sets; written beside its place and moved into it.

    Raises
    ------
    InputError
        Neither .html nor .md, or the folder is missing or can't be written to.
    """
    printers = {".html": document_html, ".md": document_markdown}
    printer = printers.get(path.suffix.lower())
    if printer is None:
        raise InputError.single(
            "command line",
            "--document",
            found=str(path),
            expected="a file ending in .html or .md",
            fix="write --document rules.html",
        )
    write_whole(path, printer(rule_sets), "the document", "--document")


def document_html(rule_sets: Sequence[RuleSet]) -> str:
    """The document as one HTML page that needs nothing else, ready to print."""
    tags = {"quote": "blockquote", "item": "li"}
    lines = []
    is_list = False
    for part in _parts(rule_sets):
        if (part.kind == "item") is not is_list:
            is_list = not is_list
            lines.append("<ul>" if is_list else "</ul>")
        tag = tags.get(part.kind, part.kind)
        text = html.escape(part.text)
        if part.kind == "confirm":
            lines.append(f'<p class="confirm">{text}</p>')
        else:
            lines.append(f"<{tag}>{text}</{tag}>")
    if is_list:
        lines.append("</ul>")
    return (
        '<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        f"<title>{html.escape(_TITLE)}</title>\n<style>\n{_STYLE}</style>\n</head>\n<body>\n"
        + "\n".join(lines)
        + "\n</body>\n</html>\n"
    )


def document_markdown(rule_sets: Sequence[RuleSet]) -> str:
    """The document as Markdown."""
    before = {"h1": "# ", "h2": "## ", "h3": "### ", "quote": "> ", "item": "- "}
    lines = []
    for part in _parts(rule_sets):
        text = _MARKDOWN_MARKS.sub(r"\\\1", part.text)
        lines.append(f"**{text}**" if part.kind == "confirm" else before.get(part.kind, "") + text)
    return "\n\n".join(lines) + "\n"


def _parts(rule_sets: Sequence[RuleSet]) -> Iterator[_Part]:
    yield _Part("h1", _TITLE)
    for text in _INTRODUCTION:
        yield _Part("p", text)
    printed: dict[Rule | WeatherMinimum, str] = {}
    for one in rule_sets:
        yield _Part("h2", f"{one.title} [{one.id}]")
        yield _Part("p", f"Issued by: {one.authority}. SHA-256: {one.sha256}.")
        to_confirm = sum(1 for rule in one.rules if rule.confirm)
        yield _Part("p", f"{len(one.rules)} rules, {to_confirm} of them to be confirmed.")
        for note in one.notes:
            yield _Part("item", note)
        for rule in one.rules:
            yield from _elsewhere(rule, one, printed) or _rule_parts(rule)
        if one.weather:
            yield _Part("h3", WEATHER_HEADING)
        for row in one.weather:
            yield from _elsewhere(row, one, printed) or _row_parts(row, weather_in_words(row))
        for manoeuvre in one.manoeuvres:
            yield from _row_parts(manoeuvre, manoeuvre_in_words(manoeuvre))


def _elsewhere(
    row: Rule | WeatherMinimum, one: RuleSet, printed: dict[Rule | WeatherMinimum, str]
) -> list[_Part]:
    """A line for a rule that another set has shown whole; nothing for a new one."""
    owner = printed.setdefault(row, one.id)
    if owner == one.id:
        return []
    return [_Part("p", f"{row.title} [{row.id}]: as in the set {owner}.")]


def _rule_parts(rule: Rule) -> list[_Part]:
    return [
        _Part("h3", f"{rule.title} [{rule.id}]"),
        _Part("p", binding_in_words(rule)),
        _Part("p", asked_in_words(rule)),
        *_source_parts(rule),
        *(_Part("item", _example_words(example)) for example in rule.examples),
    ]


def _row_parts(row: WeatherMinimum | Manoeuvre, words: str) -> list[_Part]:
    return [_Part("h3", f"{row.title} [{row.id}]"), _Part("p", words), *_source_parts(row)]


def _source_parts(row: Rule | WeatherMinimum | Manoeuvre) -> list[_Part]:
    parts = [
        _Part("quote", f"“{row.quote}”"),
        _Part("p", f"{row.citation}. Last checked {row.last_checked.isoformat()}."),
    ]
    if row.reading:
        parts.append(_Part("p", f"Read as: {row.reading}"))
    if row.confirm:
        parts.append(_Part("confirm", f"CONFIRM: {row.confirm}"))
    return parts


def _example_words(example: Example) -> str:
    things = [
        f"{thing.counted} with its top at {_length(thing.top_amsl_m)} AMSL, "
        f"{_length(thing.horizontal_distance_m)} away"
        for thing in example.things
    ]
    situation = "; ".join(
        [f"over {example.ground} ground at {_length(example.terrain_amsl_m)} AMSL", *things]
    )
    return f"Example ({example.source}): {situation}: {', '.join(_results(example))}."


def _results(example: Example) -> Iterable[str]:
    floor_m = example.expected_floor_amsl_m
    if floor_m is not None:
        if math.isinf(floor_m):
            yield "closed at every altitude" if floor_m > 0.0 else "nothing is asked"
        else:
            yield f"lowest altitude {_length(floor_m)} AMSL"
    if example.altitude_amsl_m is not None:
        answer = "allowed" if example.is_allowed else "not allowed"
        yield f"{_length(example.altitude_amsl_m)} AMSL is {answer}"


def _length(value_m: float) -> str:
    """Feet and metres to the tenth, without needless zeros."""
    feet, metres = (f"{value:,.1f}".removesuffix(".0") for value in (value_m / FOOT_M, value_m))
    return f"{feet} ft ({metres} m)"
