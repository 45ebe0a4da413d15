"""Paintings in steps: how much choice of fields there is, and how steps and legends are shown.

Our own colours: one ramp from light (much choice) to dark (none), blue to purple, the lightness
falling at every step so that no kind of colour vision confuses two of them (the tests measure it).
Plain is the most; each step below has a hatch of its own, and words in the legend. Limits of wind
are one more painting (`map_wind.py`), with a ramp of its own.
"""

from __future__ import annotations

from collections.abc import Sequence
from html import escape
from typing import Final

from attrs import asdict, frozen

from areaplan.planning.plan import CellClass
from areaplan.render.map_classes import CLASS_STYLES, ClassStyle


@frozen
class ChoiceStep:
    """One step of a painting.

    Attributes
    ----------
    least : int
        It stands for counts, or knots, from this one up to the next better step.
    words : str
        The counts, or knots, as printed in the legend.
    fill, ink, pattern, pattern_words : str
        As in `ClassStyle`.
    """

    least: int
    words: str
    fill: str
    ink: str
    pattern: str
    pattern_words: str


@frozen
class ChoicePainting:
    """A count or a limit that the map can paint in steps.

    Attributes
    ----------
    key : str
        "sectors", "fields" or "wind"; page/choice.js judges a cell by it.
    choice : str
        Words of the chooser.
    caption : str
        Words over the legend, on screen and paper.
    note : str
        What the count or limit means.
    steps : tuple of ChoiceStep
        From the most to none.
    """

    key: str
    choice: str
    caption: str
    note: str
    steps: tuple[ChoiceStep, ...]


_LOOKS: Final = (
    ("#A9DDF0", "#A9DDF0", "plain", "plain"),
    ("#7DB7DD", "#0F2C44", "sparse", "wide hatching, rising to the right"),
    ("#678DCB", "#0A1530", "level", "level lines"),
    ("#6A61AE", "#FFFFFF", "counter", "wide hatching, falling to the right"),
    ("#5A3578", "#F1E4F7", "grid", "squared"),
    ("#33123A", "#F0CFC4", "cross", "cross-hatched"),
)
_UNKNOWN: Final = CLASS_STYLES[CellClass.UNKNOWN]


def _steps(*counts: tuple[int, str]) -> tuple[ChoiceStep, ...]:
    return tuple(
        ChoiceStep(least, words, *look) for (least, words), look in zip(counts, _LOOKS, strict=True)
    )


PAINTINGS: Final = (
    ChoicePainting(
        "sectors",
        "Directions with a field",
        "Of twelve directions, those with a field within gliding distance",
        "Directions are 30° apart; a field counts when a glide that leaves in that direction "
        "reaches it, no turn counted. Nothing here says whether a place is legal.",
        _steps(
            (12, "all 12"),
            (9, "9 to 11"),
            (6, "6 to 8"),
            (3, "3 to 5"),
            (1, "1 or 2"),
            (0, "none"),
        ),
    ),
    ChoicePainting(
        "fields",
        "Separate fields",
        "Separate fields within gliding distance, at least",
        "The different fields that the twelve directions lead to, each to the one that it reaches "
        "with the least height: there may be more, over and beside a large field above all. "
        "Nothing here says whether a place is legal.",
        _steps(
            (5, "5 or more"),
            (4, "4"),
            (3, "3"),
            (2, "2"),
            (1, "1"),
            (0, "none"),
        ),
    ),
)


def paintings_json(paintings: Sequence[ChoicePainting]) -> list[dict[str, object]]:
    """The paintings as page/choice.js reads them: steps best first, unknown last."""
    unknown = _as_step(_UNKNOWN)
    return [
        {**asdict(one), "steps": [*(asdict(step) for step in one.steps), asdict(unknown)]}
        for one in paintings
    ]


def _as_step(style: ClassStyle) -> ChoiceStep:
    return ChoiceStep(0, "unknown", style.fill, style.ink, style.pattern, style.pattern_words)


def chooser_html(paintings: Sequence[ChoicePainting]) -> str:
    """The chooser of what is painted, above the legend."""
    choices = (("classes", "What is legal and safe"), *((p.key, p.choice) for p in paintings))
    radios = "".join(
        f'<span class="radio"><input type="radio" name="painting" id="paint-{key}" value="{key}"'
        f'{" checked" if key == "classes" else ""}><label for="paint-{key}">{escape(words)}'
        "</label></span>"
        for key, words in choices
    )
    return f'<fieldset id="painting"><legend>Painted on the map</legend>{radios}</fieldset>'


def choice_legends_html(paintings: Sequence[ChoicePainting]) -> str:
    """One legend a painting, hidden until chosen; page/choice.js fills swatches and shares."""
    return "".join(map(_legend, paintings))


def _legend(painting: ChoicePainting) -> str:
    steps = (*painting.steps, _as_step(_UNKNOWN))
    rows = "".join(
        f'<tr><td><canvas class="swatch" data-painting="{painting.key}" data-step="{index}" '
        f'width="56" height="36" role="img" aria-label="{step.pattern_words}"></canvas></td>'
        f'<th scope="row">{escape(step.words)}</th>'
        f'<td class="share" data-painting="{painting.key}" data-step-share="{index}"></td></tr>'
        for index, step in enumerate(steps)
    )
    return (
        f'<div class="painting" data-painting="{painting.key}" hidden><table class="legend">'
        f"<caption>{escape(painting.caption)}</caption>{LEGEND_HEAD}<tbody>{rows}</tbody></table>"
        f'<p class="small">{escape(painting.note)}</p></div>'
    )


LEGEND_HEAD: Final = (
    '<thead><tr><td></td><td></td><th scope="col" class="share">of the area</th></tr></thead>'
)
