"""What a finding is about, in words: the one place that says it, for every printer."""

from __future__ import annotations

from typing import Final

from areaplan.planning.choice import TOO_FEW_FIELDS
from areaplan.planning.plan import Finding, Names, Verdict

NO_FIELD: Final = "no field in reach"
SOME_HEADING: Final = f"{NO_FIELD} from some heading"  # the glide is judged for the worst one
NO_CHOICE: Final = "too few fields in reach to choose from"
ENOUGH: Final = "enough fields in reach to choose from"


def cause_words(finding: Finding) -> str:
    """What stands behind a finding at the place of its smallest margin; "" where nothing does.

    A field that a glide would lead to is no obstacle: it is told as the nearest one, and so is a
    direction that would make a choice of fields complete.

    Parameters
    ----------
    finding : Finding

    Returns
    -------
    str
        Such as ``tower 99-000001``, ``no field in reach from some heading; nearest: Field D8b``
        or, where the rule is met, ``field in reach; nearest: Field D8b``.
    """
    feature, is_met = finding.feature, finding.verdict is Verdict.MET
    if finding.names is Names.CAUSE or finding.verdict is Verdict.UNKNOWN:
        return feature
    if finding.names is Names.NEAREST_FIELD:
        if is_met:
            return f"field in reach; nearest: {feature}" if feature else ""
        return f"{SOME_HEADING}; nearest: {feature}" if feature else NO_FIELD
    if not feature or feature == TOO_FEW_FIELDS:
        return feature
    # The cheapest that the rule needs are counted; this is the dearest of them.
    return f"{ENOUGH if is_met else NO_CHOICE}; the last one needed: {feature}"
