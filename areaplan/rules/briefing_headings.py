"""The headings of a briefing in the words of whoever asks for it, and what is recommended."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from enum import StrEnum
from importlib import resources

from attrs import frozen

from areaplan.errors import InputError
from areaplan.toml_tables import Faults, Table, parse_toml


class Topic(StrEnum):
    """The parts of a briefing that an authority may ask for by name."""

    AREA = "area"
    WEATHER = "weather"
    TRAFFIC = "traffic"
    HEIGHTS = "heights"


@frozen
class Heading:
    """The heading of one part, with the sentence that asks for it.

    Attributes
    ----------
    topic : Topic
    rule_set : str
        Identifier of the set for which it holds; "" for the plain heading.
    title : str
    document, section, edition, quote, confirm : str
        As of a `Rule`; all "" for the plain heading.
    last_checked : date or None
    """

    topic: Topic
    rule_set: str
    title: str
    document: str = ""
    section: str = ""
    edition: str = ""
    quote: str = ""
    confirm: str = ""
    last_checked: date | None = None

    @property
    def citation(self) -> str:
        """Document, section and edition in one line; "" for the plain heading."""
        return f"{self.document} {self.section}, {self.edition}" if self.document else ""


@frozen
class Advice:
    """A sentence that holds under every rule set, with who recommends it."""

    topic: Topic
    text: str
    source: str


def headings_for(rule_sets: Iterable[str]) -> dict[Topic, Heading]:
    """Choose the heading of every topic for the rule sets of a project.

    Parameters
    ----------
    rule_sets : iterable of str
        Identifiers in the project's order: the first that has a row for a topic names it.

    Raises
    ------
    InputError
        The file that comes with areaplan is damaged.
    """
    rows, _ = _read()
    found = {row.topic: row for row in rows if not row.rule_set}
    for name in reversed(tuple(rule_sets)):
        found |= {row.topic: row for row in rows if row.rule_set == name}
    return found


def advice_on(topic: Topic) -> tuple[Advice, ...]:
    """What is recommended on a topic, in the file's order.

    Raises
    ------
    InputError
        The file that comes with areaplan is damaged.
    """
    _, rows = _read()
    return tuple(row for row in rows if row.topic is topic)


def _read() -> tuple[tuple[Heading, ...], tuple[Advice, ...]]:
    place = "built-in briefing headings"
    file = resources.files("areaplan.rules").joinpath("briefing", "headings.toml")
    fix = "install areaplan again"
    values = parse_toml(place, file.read_bytes(), expected="a TOML file in UTF-8", fix=fix)
    top = Table(values, "", Faults(place))
    rows = tuple(_row(table) for table in top.tables("heading"))
    advice = tuple(_advice(table) for table in top.tables("advice"))
    top.refuse_unknown()
    if top.faults.noted:
        raise InputError(top.faults.noted)
    return rows, advice


def _advice(table: Table) -> Advice:
    row = Advice(
        topic=table.choice("topic", Topic) or Topic.AREA,
        text=table.prose("text"),
        source=table.prose("source"),
    )
    table.refuse_unknown()
    return row


def _row(table: Table) -> Heading:
    rule_set = table.prose("set", default="")
    default = None if rule_set else ""  # who asks in an authority's words must cite them
    row = Heading(
        topic=table.choice("topic", Topic) or Topic.AREA,
        rule_set=rule_set,
        title=table.prose("title"),
        document=table.prose("document", default=default),
        section=table.prose("section", default=default),
        edition=table.prose("edition", default=default),
        quote=table.prose("quote", default=default),
        confirm=table.prose("confirm", default=""),
        last_checked=table.day("last_checked", required=bool(rule_set)),
    )
    table.refuse_unknown()
    return row
