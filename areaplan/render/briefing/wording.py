"""Sentences that several parts of the briefing share."""

from __future__ import annotations

from areaplan.planning.briefing_places import LISTED_WITHIN_M
from areaplan.render.briefing.places import miles
from areaplan.rules.briefing_headings import Heading


def asked_by(heading: Heading) -> str:
    """The sentence that asks for a part; "" for a plain heading."""
    if not heading.quote:
        return ""
    words = f"Asked for by {heading.citation}: “{heading.quote}”"
    return words + confirm_words(heading.confirm)


def confirm_words(confirm: str) -> str:
    """What must be confirmed of a quoted sentence, to stand right after it; "" for nothing."""
    return f" CONFIRM: {confirm}" if confirm else ""


def beyond_words(count: int, listed: int) -> str:
    """How far a list goes, and how many rows of the data lie farther away.

    Parameters
    ----------
    count : int
        Rows beyond the list.
    listed : int
        Rows in it.
    """
    near = f"Listed up to {miles(LISTED_WITHIN_M)} from the area"
    if not listed:
        near = f"None in the area, nor up to {miles(LISTED_WITHIN_M)} from it"
    more = f"{count} more in the data lie farther away" if count else "nothing more in the data"
    return f"{near}; {more}."
