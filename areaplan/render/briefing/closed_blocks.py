"""What closes part of the area, in the briefing, and the airspace in and round it."""

from __future__ import annotations

from typing import Final

from areaplan.planning.briefing import Briefing
from areaplan.planning.briefing_closed import Closure, Failing
from areaplan.planning.briefing_short import AltitudeInShort
from areaplan.planning.plan import Verdict
from areaplan.render.briefing.places import degrees_minutes, over_words, spot_words
from areaplan.render.document.model import Block, Cell, Paragraph
from areaplan.render.document.model import TableBlock as Table
from areaplan.render.finding_words import cause_words
from areaplan.render.text import percent_down, percent_up, verdict_text
from areaplan.units import FOOT_M, NAUTICAL_MILE_M, feet_text, signed_feet_text

_ROUNDING: Final = 1e-9  # of sums of shares
_MOST_CLOSURES: Final = 2  # told of an altitude in short


def closed_blocks(briefing: Briefing) -> tuple[Block, ...]:
    """Rules of law and policy that are not met everywhere, each with its worst place."""
    if not briefing.failing:
        return (Paragraph("Nothing: every rule of law and policy is met over the whole area."),)
    heads = ("At AMSL", "Rule", "Because of", "Worst at", "Margin", "Met over")
    body = tuple(_failing(row) for row in briefing.failing)
    traced = "the rules quoted at the end, each judged over every cell of the area"
    caption = "Rules of law and policy that are not met everywhere"
    return (Table(caption, heads, body, (9, 28, 19, 26, 10, 8), traced),)


def _failing(row: Failing) -> tuple[Cell, ...]:
    finding = row.finding
    where = "the whole area"
    if finding.lat is not None and finding.lon is not None:
        where = degrees_minutes(finding.lat, finding.lon)
        if row.spot is not None:
            where += f", {spot_words(row.spot, is_numbered=True)}"
    margin = "unknown" if finding.verdict is Verdict.UNKNOWN else "no altitude is enough"
    if finding.margin_ft is not None:
        margin = signed_feet_text(finding.margin_ft)
    title = f"{finding.limit.title} [{finding.limit.rule}, {finding.limit.severity}]"
    return (
        feet_text(finding.altitude_amsl_ft),
        f"{verdict_text(finding.verdict)}: {title}",
        cause_words(finding),
        where,
        margin,
        percent_down(finding.share_met),
    )


def airspace_blocks(briefing: Briefing) -> tuple[Block, ...]:
    """Every volume on the map, and the margins kept from those that are closed."""
    margins = briefing.plan.project.margins
    words = (
        "Margins kept from every volume that is not open: "
        f"{margins.airspace_lateral_m / NAUTICAL_MILE_M:.2f} NM to the side, "
        f"{feet_text(round(margins.airspace_vertical_m / FOOT_M))} above and below. They are "
        "inside the floor, the ceiling and the shares above, not in the shares of this table."
    )
    if not briefing.neighbours:
        return (Paragraph(words), Paragraph("No volume in the data touches the map."))
    heads = ("Airspace", "From, to", "Entry", "To the area", "Frequency")
    rows = tuple(
        (
            f"{row.volume.name} ({_kind(row.volume.airspace_class, row.volume.type_code)})",
            f"{row.volume.lower_text} to {row.volume.upper_text}",
            f"{row.volume.entry}; taken as {'closed' if row.volume.is_blocking else 'open'}: "
            f"{row.volume.reason}",
            over_words(row),
            "; ".join(f"{one.station} {one.frequency}" for one in row.frequencies) or None,
        )
        for row in briefing.neighbours
    )
    paths = [path for one in briefing.plan.layers.airspace for path in one.record.paths]
    caption = "Volumes, the nearest first; shares are of the drawn area"
    widths = (22, 20, 30, 12, 16)
    return (Paragraph(words), Table(caption, heads, rows, widths, ", ".join(paths)))


def _kind(letter: str, type_code: str) -> str:
    return f"class {letter}" if letter else type_code or "no class published"


def altitude_words(row: AltitudeInShort) -> str:
    """What share is usable at an altitude, what closes the rest, and where most of it lies."""
    shares = row.shares
    words = [f"{percent_down(shares.legal_and_safe_share)} of the area is usable."]
    if shares.unknown_share > 0.0:
        words.append(f"{percent_up(shares.unknown_share)} is not known.")
    words += [_closure(one) for one in row.closures[:_MOST_CLOSURES]]
    more = row.closures[_MOST_CLOSURES:]
    if more:
        rules = "one rule" if len(more) == 1 else f"{len(more)} rules"
        words.append(f"{rules.capitalize()} more, {percent_up(more[0].share)} at most.")
    return " ".join(words)


def _closure(one: Closure) -> str:
    share = percent_up(one.share)
    where = " and ".join(spot_words(patch.spot) for patch in one.patches)
    told = sum(patch.share for patch in one.patches)
    if told < 1.0 - _ROUNDING:
        pieces = "its largest piece" if len(one.patches) == 1 else "its largest pieces"
        where = f"{'most of it' if told > 0.5 else pieces} {where}"
    opens = one.opens_amsl_ft
    if one.is_glide:
        above = "no height has one" if opens is None else f"there is one from {feet_text(opens)}"
        return f"No field in reach over {share}, {where}; {above}."
    what = one.features[0] + (f" and {len(one.features) - 1} more" if len(one.features) > 1 else "")
    edges = "not open above" if opens is None else f"open from {feet_text(opens)}"
    if one.from_amsl_ft is not None:
        edges = f"closed from {feet_text(one.from_amsl_ft)}, {edges}"
    return f"{one.title} ({what}): {share}, {where}; {edges}."
