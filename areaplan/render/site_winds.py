"""Which places serve which winds, as plain text and as plain values for programs."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from typing import Any, Final

from areaplan.planning.plan import Plan, Verdict
from areaplan.planning.site_winds import PlacesByWind
from areaplan.render.site_text import ASSUMPTIONS
from areaplan.render.text import WIDTH, bullets, verdict_text
from areaplan.units import KNOT_MPS, bearing_text

MOST_PLACES: Final = 12  # in the text; JSON holds all of them
_NAME_WIDTH: Final = 46
_SERVED, _NOT_SERVED = "x", "."


def overall_by_wind(answers: Sequence[PlacesByWind]) -> Verdict:
    """UNKNOWN while any is; MET when every figure is served from every direction."""
    verdicts = {one.verdict for one in answers}
    if Verdict.UNKNOWN in verdicts:
        return Verdict.UNKNOWN
    return Verdict.NOT_MET if Verdict.NOT_MET in verdicts else Verdict.MET


def places_by_wind_text(answers: Sequence[PlacesByWind], plan: Plan) -> str:
    """A table for each figure, its fewest places marked with a star."""
    first = answers[0]
    lines = [f"{plan.project.name}: places for ground-reference work, wind by wind"]
    lines += bullets((_speeds_words(first),))
    lines += ["", f"Verdict: {verdict_text(overall_by_wind(answers))}"]
    for one in answers:
        lines += ["", *_figure_lines(one)]
    return "\n".join([*lines, "", *bullets((*ASSUMPTIONS, *plan.cautions))])


def _speeds_words(one: PlacesByWind) -> str:
    flown = ", ".join("calm" if not mps else f"{mps / KNOT_MPS:g} kt" for mps in one.speeds_mps)
    return (
        "A place serves a direction where the figure fits in winds from there of all speeds flown: "
        f"{flown}. Between them nothing is proven; in the wind of the day ask again."
    )


def _figure_lines(one: PlacesByWind) -> list[str]:
    lines = textwrap.wrap(
        f"{one.figure.title}: {verdict_text(one.verdict)}; {_summary(one)}", WIDTH
    )
    if not one.places:
        return lines
    bearings = [bearing_text(deg) for deg in one.directions_deg_true]
    for digit in range(3):
        cells = " ".join(f"{text[digit]:>1}" for text in bearings)
        lines.append(f"  {'wind from' if digit == 0 else '':<{_NAME_WIDTH}} {cells}".rstrip())
    shown = _shown(one)
    for index in shown:
        mark = "*" if index in one.fewest else " "
        name = textwrap.shorten(one.places[index], _NAME_WIDTH - 2, placeholder=" ...")
        row = " ".join(_SERVED if is_one else _NOT_SERVED for is_one in one.serves[index].tolist())
        lines.append(f"  {mark} {name:<{_NAME_WIDTH - 2}} {row}")
    if len(shown) < len(one.places):
        lines.append(
            f"    and {len(one.places) - len(shown)} more, each in no more winds than those"
        )
    return lines


def _shown(one: PlacesByWind) -> list[int]:
    """The fewest places, and the ones that serve most."""
    return sorted({*one.fewest, *range(min(MOST_PLACES, len(one.places)))})


def _summary(one: PlacesByWind) -> str:
    count = len(one.fewest)
    if not count:
        return "no place serves any direction"
    unserved = ", ".join(bearing_text(deg) for deg in one.unserved_deg_true)
    many = f"{count} place{'s' * (count != 1)} (marked *)"
    if not unserved:
        return (
            f"{many} are enough for all winds" if count > 1 else f"{many} is enough for all winds"
        )
    doubt = "; part of the area can't be told" if one.is_unknown else ""
    serve = "serves" if count == 1 else "serve"
    return f"{many} {serve} what can be served; no place in wind from {unserved}{doubt}"


def places_by_wind_json(answers: Sequence[PlacesByWind], plan: Plan) -> dict[str, Any]:
    """All figures as plain values; directions in degrees true, speeds in knots."""
    return {
        "project": plan.project.name,
        "verdict": overall_by_wind(answers).value,
        "figures": [
            {
                "id": one.figure.id,
                "title": one.figure.title,
                "verdict": one.verdict.value,
                "greatest_wind_kt": round(one.greatest_mps / KNOT_MPS, 3),
                "speeds_flown_kt": [round(mps / KNOT_MPS, 3) for mps in one.speeds_mps],
                "directions_deg_true": list(one.directions_deg_true),
                "unserved_deg_true": list(one.unserved_deg_true),
                "fewest": [one.places[index] for index in one.fewest],
                "places": [
                    {"name": name, "serves": row}
                    for name, row in zip(one.places, one.serves.tolist(), strict=True)
                ],
            }
            for one in answers
        ],
        "assumptions": list(ASSUMPTIONS),
        "cautions": list(plan.cautions),
    }
