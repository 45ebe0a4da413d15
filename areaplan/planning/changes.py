"""Two results compared, for a school's periodic review: what changed, and whether it matters."""

from __future__ import annotations

from typing import Final

from attrs import frozen

from areaplan.grid import BoolArray
from areaplan.planning.changes_cells import (
    ClassChange,
    Overlay,
    SurfaceChange,
    compare_classes,
    compare_surfaces,
    is_same_ground,
    lay_over,
    risen_cells,
)
from areaplan.planning.changes_rules import (
    RuleChange,
    SourceChange,
    compare_rules,
    compare_settings,
    compare_sources,
)
from areaplan.planning.changes_sides import version_notes
from areaplan.planning.changes_things import ThingChange, compare_things
from areaplan.planning.judging import tally
from areaplan.planning.plan import Finding, Shares, Verdict
from areaplan.planning.result import Result
from areaplan.rules.model import Severity
from areaplan.units import feet_text

_WORSE: Final = {Verdict.MET: 0, Verdict.UNKNOWN: 1, Verdict.NOT_MET: 2}


@frozen
class FindingChange:
    """One rule at one altitude whose verdict or smallest margin is not what it was.

    Attributes
    ----------
    before, after : Finding or None
        None where the rule or the altitude was not judged.
    gained_ft : int or None
        Margin now less margin before, whole feet; None where either has none.
    is_worse : bool
        A binding rule that was met is not met or unknown now; or is not met by more, or over less
        of the area, than before.
    """

    before: Finding | None
    after: Finding | None
    gained_ft: int | None
    is_worse: bool

    @property
    def told(self) -> Finding:
        """The finding as it is now; as it was where it is judged no more."""
        found = self.after or self.before
        if found is None:
            raise ValueError("a change of no finding")
        return found


@frozen
class SharesChange:
    """Shares of each plan's own area at one altitude, before and now."""

    before: Shares
    after: Shares


@frozen(eq=False)
class ClassPlaces:
    """Where cells changed at one altitude: bool arrays of the new grid's shape."""

    is_lost: BoolArray
    is_gained: BoolArray
    is_newly_unknown: BoolArray


@frozen(eq=False)
class Changes:
    """Everything that differs between two results.

    Attributes
    ----------
    old, new : Result
    things, rules, findings, surfaces, classes, shares, sources
        What changed, each empty where nothing did; `shares` and `classes` for every altitude
        planned in either project.
    settings : tuple of str
    overlay : Overlay
        Which part of the areas could be compared cell by cell.
    places : tuple of ClassPlaces
        For each of `classes`.
    is_risen : bool array of the new grid's shape
        Where the floor or the glide asks for more than before.
    worse : tuple of str
        Why the area is worse than it was; empty where nothing that matters is.
    unknown : tuple of str
        What is no longer known, or could not be compared.
    """

    old: Result
    new: Result
    things: tuple[ThingChange, ...]
    rules: tuple[RuleChange, ...]
    settings: tuple[str, ...]
    sources: tuple[SourceChange, ...]
    findings: tuple[FindingChange, ...]
    surfaces: tuple[SurfaceChange, ...]
    classes: tuple[ClassChange, ...]
    shares: tuple[SharesChange, ...]
    overlay: Overlay
    places: tuple[ClassPlaces, ...]
    is_risen: BoolArray
    worse: tuple[str, ...]
    unknown: tuple[str, ...]

    @property
    def verdict(self) -> Verdict:
        """MET: nothing that matters is worse; NOT_MET: something is; else UNKNOWN.

        What is known to be worse goes before what is not known.
        """
        if self.worse:
            return Verdict.NOT_MET
        return Verdict.UNKNOWN if self.unknown else Verdict.MET

    @property
    def is_same(self) -> bool:
        """Whether nothing at all differs but where, and for which day, the two were judged."""
        told = (self.things, self.rules, self.settings, self.sources, self.findings)
        old, new = self.old, self.new
        return (
            not any(told)
            and (old.verdict, old.block, old.best) == (new.verdict, new.block, new.best)
            and (old.cautions, old.warnings) == (new.cautions, new.warnings)
            and is_same_ground(old, new)
        )

    @property
    def notes(self) -> tuple[str, ...]:
        """What a reader must know of the two sides before anything else."""
        same = ("Nothing changed.",) if self.is_same else ()
        return (*same, *version_notes(self.old, self.new))


def compare_results(old: Result, new: Result) -> Changes:
    """Compare two results, each of them judged just now or read from a file.

    Parameters
    ----------
    old, new : Result
        Of areas that need not be the same, nor on the same grid.
    """
    overlay = lay_over(old, new)
    altitudes = sorted(
        {*old.project.planned_altitudes_amsl_ft, *new.project.planned_altitudes_amsl_ft}
    )
    compared = [compare_classes(old, new, overlay, feet) for feet in altitudes]
    tallies = tally(old.cells), tally(new.cells)
    shares = tuple(SharesChange(tallies[0].at(feet), tallies[1].at(feet)) for feet in altitudes)
    findings = _findings(old, new)
    classes = tuple(row[0] for row in compared)
    return Changes(
        old=old,
        new=new,
        things=compare_things(old, new),
        rules=compare_rules(old, new),
        settings=compare_settings(old, new),
        sources=compare_sources(old, new),
        findings=findings,
        surfaces=compare_surfaces(old, new, overlay),
        classes=classes,
        shares=shares,
        overlay=overlay,
        places=tuple(ClassPlaces(*row[1:]) for row in compared),
        is_risen=risen_cells(old, new, overlay),
        worse=tuple(_worse(old, new, findings, classes, shares)),
        unknown=tuple(_unknown(old, new, classes, overlay)),
    )


def _findings(old: Result, new: Result) -> tuple[FindingChange, ...]:
    def keyed(result: Result) -> dict[tuple[str, int], Finding]:
        return {(row.limit.rule, row.altitude_amsl_ft): row for row in result.findings}

    before, after = keyed(old), keyed(new)
    found = []
    for key in dict.fromkeys([*after, *before]):
        was, now = before.get(key), after.get(key)
        change = FindingChange(was, now, _gained_ft(was, now), _is_worse(was, now))
        is_same = (
            was is not None
            and now is not None
            and (was.verdict, was.margin_ft) == (now.verdict, now.margin_ft)
            and was.share_met == now.share_met
        )
        if not is_same:
            found.append(change)
    return tuple(sorted(found, key=lambda row: (not row.is_worse, row.told.limit.rule)))


def _gained_ft(was: Finding | None, now: Finding | None) -> int | None:
    if was is None or now is None or was.margin_ft is None or now.margin_ft is None:
        return None
    return now.margin_ft - was.margin_ft


def _is_worse(was: Finding | None, now: Finding | None) -> bool:
    if now is None or now.verdict is Verdict.MET or now.limit.severity is Severity.ADVISORY:
        return False
    if was is None or _WORSE[now.verdict] > _WORSE[was.verdict]:
        return True
    if was.verdict is not now.verdict:
        return False
    gained_ft = _gained_ft(was, now)
    is_closed_now = now.margin_ft is None and was.margin_ft is not None
    return is_closed_now or (gained_ft or 0) < 0 or now.share_met < was.share_met


def _worse(
    old: Result,
    new: Result,
    findings: tuple[FindingChange, ...],
    classes: tuple[ClassChange, ...],
    shares: tuple[SharesChange, ...],
) -> list[str]:
    said = []
    if new.verdict is Verdict.NOT_MET and old.verdict is not Verdict.NOT_MET:
        said.append("the area was met at its planned altitudes, or not known to fail, and is not")
    is_darker = any(row.newly_unknown_share > 0.0 for row in classes)
    if old.block is not None and new.block is None and not is_darker:
        said.append("no altitude is legal and safe everywhere any more")
    said += [
        _finding_words(row)
        for row in findings
        if row.is_worse and row.told.verdict is Verdict.NOT_MET
    ]
    said += [
        f"{row.lost_share:.2%} of the common area is no longer both legal and within gliding "
        f"distance at {feet_text(row.altitude_amsl_ft)}"
        for row in classes
        if row.lost_share > 0.0
    ]
    said += [
        f"a smaller share of the area is legal and safe at {feet_text(row.after.altitude_amsl_ft)}"
        for row in shares
        if row.after.legal_and_safe_share < row.before.legal_and_safe_share
        and row.after.unknown_share <= row.before.unknown_share
    ]
    return said


def _finding_words(row: FindingChange) -> str:
    told = row.told
    words = f"{told.limit.title} [{told.limit.rule}] at {feet_text(told.altitude_amsl_ft)}: "
    if row.before is None:
        return f"{words}judged for the first time, and not met"
    if row.before.verdict is not told.verdict:
        return f"{words}was {row.before.verdict.replace('_', ' ')}, is NOT MET"
    if row.gained_ft is not None and row.gained_ft < 0:
        return f"{words}short by {feet_text(-row.gained_ft)} more than before"
    return f"{words}met over {told.share_met:.2%} of the area, before {row.before.share_met:.2%}"


def _unknown(
    old: Result, new: Result, classes: tuple[ClassChange, ...], overlay: Overlay
) -> list[str]:
    said = []
    if new.verdict is Verdict.UNKNOWN:
        now = "still" if old.verdict is Verdict.UNKNOWN else "now"
        said.append(f"part of the area is {now} UNKNOWN")
    said += [
        f"{row.newly_unknown_share:.2%} of the common area is UNKNOWN at "
        f"{feet_text(row.altitude_amsl_ft)} and was known"
        for row in classes
        if row.newly_unknown_share > 0.0
    ]
    if said and old.block is not None and new.block is None:
        said.append("no altitude is known to be legal and safe everywhere any more")
    if not overlay.new_cells[0].size:
        said.append("the two areas have no ground in common: nothing was compared cell by cell")
    return said
