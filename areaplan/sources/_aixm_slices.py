"""Time slices of an AIXM feature: which one tells what holds on the project's day.

AIXM Temporality Concept 1.1: a BASELINE states all properties for its valid time, a PERMDELTA or
TEMPDELTA only those that change. Changes are not merged here: a feature with a change in force is
told as one of which the limits are not known.
"""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from enum import StrEnum
from typing import Final
from xml.etree.ElementTree import Element

from attrs import frozen

from areaplan.sources._aixm_xml import text_at

_DAY: Final = timedelta(days=1)


class Holds(StrEnum):
    """How far a feature's chosen slice can be trusted on the day."""

    YES = "it holds on the day"
    ENDED = "it has ended before the day"
    NOT_YET = "it begins after the day"
    CHANGED = "a change that is not merged is in force on the day"
    UNSURE = "no baseline states all its properties"


@frozen(eq=False)
class Slice:
    """The slice to read, and how far it can be trusted."""

    element: Element
    holds: Holds


def slice_on(feature: Element, day: date | None) -> Slice | None:
    """Choose the slice of a feature that holds on a day.

    Parameters
    ----------
    feature : Element
    day : date or None
        None: the latest baseline, whatever its dates.

    Returns
    -------
    Slice or None
        Of several baselines valid on the day the last correction of the last sequence; None where
        the feature has no slice at all.
    """
    slices = [inner for outer in feature.findall("timeSlice") for inner in outer]
    if not slices:
        return None
    baselines = sorted((s for s in slices if _kind(s) == "BASELINE"), key=_order)
    if not baselines:
        return Slice(slices[-1], Holds.UNSURE)
    if day is None:
        return Slice(baselines[-1], Holds.YES)
    on_day = [s for s in baselines if _touches(s, day)]
    if not on_day and any(_touches(s, day) for s in slices):
        return Slice(baselines[-1], Holds.CHANGED)  # something other than a baseline goes on
    if not on_day:
        later = [s for s in baselines if _times(s)[0] and _starts_after(s, day)]
        return Slice(baselines[-1], Holds.NOT_YET if later else Holds.ENDED)
    chosen = on_day[-1]
    changes = [s for s in slices if _kind(s) in ("PERMDELTA", "TEMPDELTA") and _touches(s, day)]
    # A baseline begun since, or at the same time as, a permanent change has taken it up.
    changes = [s for s in changes if _kind(s) == "TEMPDELTA" or _begin(s) > _begin(chosen)]
    return Slice(chosen, Holds.CHANGED if changes else Holds.YES)


def _kind(element: Element) -> str:
    return text_at(element, "interpretation").upper()


def _order(element: Element) -> tuple[datetime, int, int]:
    return _begin(element), _number(element, "sequenceNumber"), _number(element, "correctionNumber")


def _number(element: Element, path: str) -> int:
    text = text_at(element, path)
    return int(text) if text.isascii() and text.isdigit() else 0


def _begin(element: Element) -> datetime:
    return _times(element)[0] or datetime.min.replace(tzinfo=UTC)


def _touches(element: Element, day: date) -> bool:
    """Whether the valid time meets the day, a day longer either way for the zones of the world."""
    begin, end = _times(element)
    midnight = datetime.combine(day, time(), UTC)
    is_begun = begin is None or begin < midnight + 2 * _DAY
    return is_begun and (end is None or end > midnight - _DAY)


def _starts_after(element: Element, day: date) -> bool:
    return _begin(element) > datetime.combine(day, time(), UTC)


def _times(element: Element) -> tuple[datetime | None, datetime | None]:
    """Begin and end of the valid time; None where open, indeterminate or not understood."""
    valid = element.find("validTime")
    if valid is None:
        return None, None
    instant = text_at(valid, "TimeInstant/timePosition")
    if instant:
        return _moment(instant), _moment(instant)
    return (
        _moment(text_at(valid, "TimePeriod/beginPosition")),
        _moment(text_at(valid, "TimePeriod/endPosition")),
    )


def _moment(text: str) -> datetime | None:
    try:
        moment = datetime.fromisoformat(text)
    except ValueError:
        return None
    return moment if moment.tzinfo else moment.replace(tzinfo=UTC)
