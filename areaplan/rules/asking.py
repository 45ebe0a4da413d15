"""Who asks for a limit, of whom, and in which flying: the words shared by all rule files."""

from __future__ import annotations

from enum import StrEnum


class Severity(StrEnum):
    """Who asks for it. Law and policy close a place; an advisory only cautions."""

    LAW = "law"
    POLICY = "policy"
    ADVISORY = "advisory"


class Activity(StrEnum):
    """Which flying a rule is about."""

    ANY = "any"
    AEROBATIC = "aerobatic"


class Flight(StrEnum):
    """Who flies; the `applies_to` key of a rule, and what a project is judged for.

    BOTH in a rule: it holds for dual and for solo. BOTH in a project: the area is for both, so the
    rules of either hold and the stricter decides.
    """

    BOTH = "both"
    DUAL = "dual"
    SOLO = "solo"
