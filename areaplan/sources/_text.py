"""Text from files that anyone may have written: made safe to show, never executed, never endless.

Markup is not touched here: it is data until the renderer escapes it.
"""

from __future__ import annotations

import re
from typing import Final

MAX_NAME_CHARS: Final = 120
_MAX_SHOWN_CHARS: Final = 80
_MAX_LINE_CHARS: Final = 240
# C0, DEL and C1 controls, the separators that end a line, and the marks that turn the writing
# direction, with which a name could show as something else.
_CONTROLS: Final = re.compile(r"[\x00-\x1f\x7f-\x9f\u2028\u2029\u202a-\u202e\u2066-\u2069]+")
_SURROGATES: Final = re.compile(r"[\ud800-\udfff]")


def clean_text(value: object, max_chars: int | None = None) -> str:
    """Words on one line, without control characters; "" for None.

    Parameters
    ----------
    value : object
        What the file holds.
    max_chars : int, optional
        Longer text is cut and ends in an ellipsis.
    """
    if value is None:
        return ""
    text = value if isinstance(value, str) else str(value)
    if max_chars is not None:
        text = text[: 8 * max_chars]  # bounds the work on a name of a megabyte
    text = _SURROGATES.sub("\ufffd", _CONTROLS.sub(" ", text))
    text = " ".join(text.split())
    if max_chars is not None and len(text) > max_chars:
        text = text[: max_chars - 1] + "…"
    return text


def clean_name(value: object) -> str:
    """Cut a name to at most `MAX_NAME_CHARS` characters of clean text."""
    return clean_text(value, MAX_NAME_CHARS)


def shown(value: object) -> str:
    """Show a value in a message: quoted when text, and short."""
    text = clean_text(value, _MAX_SHOWN_CHARS)
    return f'"{text}"' if isinstance(value, str) else text


def one_line(message: object) -> str:
    """Make one line out of another program's message."""
    return clean_text(str(message), _MAX_LINE_CHARS)
