"""What the drawings share: ink, casings, and SVG whose bytes are the same each time."""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any, Final

if TYPE_CHECKING:
    from matplotlib.figure import Figure as Canvas

INK: Final = "#1C2326"
SOFT: Final = "#4A5357"
PAPER: Final = "#FFFFFF"
RULE: Final = "#8A8F8C"
MM: Final = 1.0 / 25.4  # inches, by definition
_SETTINGS: Final = {
    "font.family": "DejaVu Sans",
    "font.size": 7.0,
    "hatch.linewidth": 0.5,
    "svg.fonttype": "path",  # so that no reader's fonts change the drawing
    "axes.edgecolor": INK,
    "axes.linewidth": 0.7,
    "text.color": INK,
    "axes.labelcolor": INK,
    "xtick.color": INK,
    "ytick.color": INK,
}
_NO_METADATA: Final = {"Date": None, "Creator": None, "Format": None, "Type": None}


@contextmanager
def canvas(name: str, width_mm: float, height_mm: float) -> Iterator[Canvas]:
    """A blank drawing with the house's settings and no trace of the user's own.

    Parameters
    ----------
    name : str
        A word for the identifiers inside it.
    width_mm, height_mm : float
    """
    import matplotlib as mpl
    from matplotlib.figure import Figure

    with mpl.rc_context():
        mpl.rcdefaults()
        settings: Any = {**_SETTINGS, "svg.hashsalt": name}
        mpl.rcParams.update(settings)
        yield Figure(figsize=(width_mm * MM, height_mm * MM))


def as_svg(figure: Canvas, name: str) -> str:
    """Write a drawing as SVG, its identifiers led by its name so that a page may hold several."""
    file = io.StringIO()
    figure.savefig(file, format="svg", metadata=_NO_METADATA)
    svg = file.getvalue()
    svg = svg[svg.index("<svg") :]
    svg = re.sub(r'\bid="', f'id="{name}-', svg)
    return re.sub(r'(url\(#|href="#)', rf"\g<1>{name}-", svg)


def cased(width: float = 2.0) -> list[Any]:
    """A white casing under lines and words, so that they read on every fill."""
    from matplotlib import patheffects

    return [patheffects.withStroke(linewidth=width, foreground=PAPER)]


def plain(text: str) -> str:
    """Text as it stands: a dollar sign begins no formula."""
    return text.replace("$", r"\$")
