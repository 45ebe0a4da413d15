"""What a volume of airspace asks of whoever enters, by the strictest of the rule sets in force."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from attrs import frozen

from areaplan.rules.model import Entry, Rule, RuleSet

_STRICTNESS = {entry: place for place, entry in enumerate(Entry)}


@frozen
class EntryAnswer:
    """What a volume asks, and the rule that says so.

    Attributes
    ----------
    entry : Entry
    rule : Rule or None
        None where no rule knows the volume.
    why_unknown : str
        Which class or type no rule knows, in plain words; "" where a rule answers.
    """

    entry: Entry
    rule: Rule | None
    why_unknown: str = ""


def entry_for(rule_sets: Sequence[RuleSet], airspace_class: str, type_code: str) -> EntryAnswer:
    """Say what a volume of airspace asks.

    The class and the type of a volume are looked up apart and the stricter answer holds, so a
    restricted area in uncontrolled airspace is restricted, and a type that no rule knows is
    UNKNOWN even inside an open class. Where class and type ask the same, the type's rule is named.

    Parameters
    ----------
    rule_sets : sequence of RuleSet
        The sets in force; the strictest of them wins, so a school's policy can close what the law
        leaves open, never the reverse.
    airspace_class : str
        ICAO class letter, "" when the volume has none; any longer word: its class is not given.
    type_code : str
        Published type code such as "R", "MOA" or "CLASS_E2", "" when not given.

    Returns
    -------
    EntryAnswer
        Never OPEN without a rule.
    """
    letter, code = airspace_class.strip().upper(), type_code.strip().upper()
    rules = [rule for one in rule_sets for rule in one.rules]
    by_type = _strictest(
        (rule for rule in rules if code in rule.airspace_types),
        f"No rule in force says how airspace of type {code} is entered",
    )
    by_class = _strictest(
        (rule for rule in rules if letter in rule.airspace_classes), _why_no_class(letter, code)
    )
    is_ruled_by_class = any(code in one.types_ruled_by_class for one in rule_sets)
    if not code or (is_ruled_by_class and by_type.rule is None):
        return by_class
    if not letter:
        return by_type
    return max(by_type, by_class, key=_strictness)


def _why_no_class(letter: str, code: str) -> str:
    if len(letter) > 1:
        return f"Airspace of type {code or 'none'} is published with classes, but with none here"
    if letter:
        return f"No rule in force says how airspace of class {letter} is entered"
    if code:
        return f"Airspace of type {code} is entered by the rules of its class, and it has none"
    return "Airspace with neither class nor type: no rule can say how it is entered"


def _strictest(rules: Iterable[Rule], why_none: str) -> EntryAnswer:
    answers = [EntryAnswer(rule.entry, rule) for rule in rules if rule.entry is not None]
    return max(answers, key=_strictness, default=EntryAnswer(Entry.UNKNOWN, None, why_none))


def _strictness(answer: EntryAnswer) -> int:
    return _STRICTNESS[answer.entry]
