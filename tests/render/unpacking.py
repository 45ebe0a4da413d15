"""A slow, obviously right reader of the page's data, for the tests."""

import base64
import json
import re
import zlib
from html.parser import HTMLParser

import numpy as np


def unpacked(block, rows, cols):
    """Undo `map_codec.packed` cell by cell."""
    planes = zlib.decompress(base64.b64decode(block["text"]))
    count = rows * cols
    rest = []
    for i in range(count):
        folded = planes[i] + 256 * planes[count + i]
        rest.append(folded // 2 if folded % 2 == 0 else -(folded + 1) // 2)
    out = [[0] * cols for _ in range(rows)]
    for r in range(rows):
        for c in range(cols):
            north = out[r - 1][c] if r > 0 else 0
            west = out[r][c - 1] if c > 0 else 0
            corner = out[r - 1][c - 1] if r > 0 and c > 0 else 0
            guess = north + west - corner if block["guess"] == "plane" else north
            out[r][c] = (rest[r * cols + c] + guess + 32768) % 65536 - 32768
    return np.array(out, dtype=np.int16)


def unpacked_fast(block, rows, cols):
    """The same for large arrays, with cumulative sums."""
    planes = np.frombuffer(zlib.decompress(base64.b64decode(block["text"])), dtype=np.uint8)
    folded = planes[: rows * cols].astype(np.int64) + 256 * planes[rows * cols :].astype(np.int64)
    rest = np.where(folded % 2 == 0, folded // 2, -(folded + 1) // 2).reshape(rows, cols)
    if block["guess"] == "plane":
        rest = rest.cumsum(axis=1)
    return ((rest.cumsum(axis=0) + 32768) % 65536 - 32768).astype(np.int16)


class Page(HTMLParser):
    """What an HTML parser sees in a page: elements, attributes, texts."""

    def __init__(self, html):
        super().__init__(convert_charrefs=True)
        self.elements = []
        self.texts = {"script": [], "style": [], "title": []}
        self.data = {}
        self.visible = []
        self._open = []
        self.feed(html)
        self.close()

    def handle_starttag(self, tag, attrs):
        self.elements.append((tag, dict(attrs)))
        if tag in self.texts:
            self._open.append((tag, dict(attrs)))

    def handle_endtag(self, tag):
        if self._open and self._open[-1][0] == tag:
            self._open.pop()

    def handle_data(self, data):
        if not self._open:
            self.visible.append(data)
            return
        tag, attrs = self._open[-1]
        if attrs.get("type") == "application/json":
            self.data[attrs["id"]] = json.loads(data)
        else:
            self.texts[tag].append(data)

    def attribute(self, name):
        """All values of an attribute in the page."""
        return [attrs[name] for _, attrs in self.elements if name in attrs]

    @property
    def policy(self):
        """Directives of the content security policy by name."""
        content = next(
            attrs["content"]
            for tag, attrs in self.elements
            if tag == "meta" and attrs.get("http-equiv") == "Content-Security-Policy"
        )
        parts = [part.split() for part in content.split(";")]
        return {part[0]: part[1:] for part in parts}


def contrast(one, other):
    """Contrast ratio of two #RRGGBB colours (WCAG 2.2, definition of contrast ratio)."""
    high, low = sorted((_luminance(one), _luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def _luminance(colour):
    assert re.fullmatch(r"#[0-9A-Fa-f]{6}", colour)
    channels = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]
