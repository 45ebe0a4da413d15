"""One document that lists every rule, its sentence and its worked examples."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from pathlib import Path
from typing import Final, TypeAlias, TypeVar

from areaplan.render.document.markdown import document_as_markdown
from areaplan.render.document.model import (
    Block,
    Bullets,
    Document,
    Part,
    Section,
    Terms,
)
from areaplan.render.document.writing import require_printer, write_document
from areaplan.render.rule_blocks import (
    by_asker,
    example_blocks,
    quoted_manoeuvre,
    quoted_rule,
    quoted_weather,
)
from areaplan.render.whole_file import write_whole
from areaplan.rules.flying import Manoeuvre, WeatherMinimum
from areaplan.rules.model import Rule, RuleSet
from areaplan.rules.text import MANOEUVRES_HEADING, WEATHER_HEADING

Row: TypeAlias = Rule | WeatherMinimum | Manoeuvre
Owners: TypeAlias = dict[Row, int]
AnyRow = TypeVar("AnyRow", Rule, WeatherMinimum, Manoeuvre)

_TITLE: Final = "The rules that areaplan holds"
_CAUTION: Final = (
    "Planning aid only, not for navigation. Rules change: the text in force decides, and the pilot "
    "in command."
)
_LEAD: Final = (
    "Whatever is marked CONFIRM stands from memory or was not seen whole: read the current text "
    "before use.",
    "Worked examples: each is run as a test, by a plain judge and through the surfaces that the "
    "map is made of.",
)
_UNTESTED: Final = (
    "This holds for the sets that come with areaplan: no test has run the examples of another file."
)
_MOST_NAMED: Final = 4  # sets named at the foot of each page, which has one line
_WHAT: Final = "the document"
_OPTION: Final = "--document"
_MARKDOWN: Final = ".md"


def write_rules_document(
    rule_sets: Sequence[RuleSet], path: Path, paper: str = "letter"
) -> Document:
    """Write every rule of the sets as one document, by the file's ending.

    The same bytes for the same sets; written beside its place and moved into it.

    Parameters
    ----------
    rule_sets : sequence of RuleSet
    path : Path
        Ending in .html, .pdf or .md.
    paper : str
        "letter" or "a4"; Markdown has none.

    Returns
    -------
    Document
        What was printed.

    Raises
    ------
    InputError
        Another ending; or .pdf, and the typesetter is not installed; or the folder is missing or
        can't be written to.
    ValueError
        Another paper.
    """
    require_printer(path, _OPTION, (_MARKDOWN,))
    document = rules_document(rule_sets)
    if path.suffix.lower() == _MARKDOWN:
        write_whole(path, document_as_markdown(document), _WHAT, _OPTION)
    else:
        write_document(document, path, paper, _WHAT, _OPTION)
    return document


def rules_document(rule_sets: Sequence[RuleSet]) -> Document:
    """Put rule sets into words: a part for each, a rule of several sets whole in the first.

    Parameters
    ----------
    rule_sets : sequence of RuleSet
        In the order of the parts.

    Returns
    -------
    Document
        The same for the same sets; it holds no day but those of the rules.
    """
    owners = _owners(rule_sets)
    checked = sorted({row.last_checked.isoformat() for row in owners})
    days = " to ".join(dict.fromkeys((checked[0], checked[-1]))) if checked else "no day"
    names = ", ".join(one.id for one in rule_sets)
    shown = names if len(rule_sets) <= _MOST_NAMED else f"{len(rule_sets)} sets"
    return Document(
        title=_TITLE,
        subtitle="",
        identity=Terms((("Rule sets", names), ("Last checked", f"{days}, each rule by itself"))),
        verdict=f"{_counted(owners)}.",
        caution=_CAUTION,
        alarms=(),
        running=f"Rules of {shown}, last checked {days}",
        parts=tuple(
            _part(number, one, rule_sets, owners) for number, one in enumerate(rule_sets, start=1)
        ),
        lead=(*_LEAD, *((_UNTESTED,) if any(one.path for one in rule_sets) else ())),
    )


def _owners(rule_sets: Iterable[RuleSet]) -> Owners:
    """Each row with the number of the first set that holds it, from 1."""
    owners: Owners = {}
    for number, one in enumerate(rule_sets, start=1):
        for row in _rows(one):
            owners.setdefault(row, number)
    return owners


def _rows(one: RuleSet) -> tuple[Row, ...]:
    return (*one.rules, *one.weather, *one.manoeuvres)


def _counted(rows: Iterable[Row]) -> str:
    """Such as ``34 rules, 6 weather minima; 8 of them to be confirmed``."""
    kept = tuple(rows)
    counts = (
        _number(sum(isinstance(row, Rule) for row in kept), "rule", "rules"),
        _number(
            sum(isinstance(row, WeatherMinimum) for row in kept),
            "row of weather minima",
            "rows of weather minima",
        ),
        _number(sum(isinstance(row, Manoeuvre) for row in kept), "manoeuvre", "manoeuvres"),
    )
    told = ", ".join(count for count in counts if count) or "no rules"
    return f"{told}; {sum(bool(row.confirm) for row in kept)} of them to be confirmed"


def _number(count: int, one: str, many: str) -> str:
    return f"{count} {one if count == 1 else many}" if count else ""


def _part(number: int, one: RuleSet, rule_sets: Sequence[RuleSet], owners: Owners) -> Part:
    by_class = ", ".join(one.types_ruled_by_class)
    facts = Terms(
        (
            ("Issued by", one.authority),
            ("Holds", _counted(_rows(one))),
            ("File", one.path.name if one.path else "comes with areaplan"),
            ("SHA-256", one.sha256),
            *((("Airspace ruled by its class alone", by_class),) if by_class else ()),
        )
    )
    notes = (Bullets(one.notes),) if one.notes else ()

    def told(rows: Sequence[AnyRow], whole: Callable[[AnyRow], Iterable[Block]]) -> Iterator[Block]:
        """What is told here whole, then the names of what another part has told."""
        for row in rows:
            if owners[row] == number:
                yield from whole(row)
        elsewhere = tuple(
            f"{row.title} [{row.id}]: as in the set {rule_sets[owners[row] - 1].id}."
            for row in rows
            if owners[row] != number
        )
        if elsewhere:
            yield Bullets(elsewhere)

    sections = (
        *((title, told(rules, _whole_rule)) for title, rules in by_asker(one.rules)),
        (WEATHER_HEADING, told(one.weather, lambda row: (quoted_weather(row),))),
        (MANOEUVRES_HEADING, told(one.manoeuvres, lambda row: (quoted_manoeuvre(row),))),
    )
    filled = ((title, tuple(blocks)) for title, blocks in sections)
    return Part(
        f"set-{number}",
        f"{one.title} [{one.id}]",
        "",
        (
            Section("", (facts, *notes)),
            *(Section(title, blocks) for title, blocks in filled if blocks),
        ),
    )


def _whole_rule(rule: Rule) -> tuple[Block, ...]:
    return (quoted_rule(rule), *example_blocks(rule))
