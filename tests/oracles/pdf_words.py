"""The words of a PDF in the order of its content, read by the plain rules of ISO 32000-1.

Enough for files whose objects stand outside of object streams and whose fonts have two-byte codes.
"""

import re
import zlib

_OBJECT = re.compile(rb"(\d+) 0 obj\s*(.*?)\s*endobj", re.DOTALL)
# Property lists, the font, the start of a string, the end of a text object.
_MET = re.compile(rb"<<.*?>>|/(\w+) [\d.]+ Tf|(\()|\b(ET)\b", re.DOTALL)
_ESCAPE = re.compile(rb"\\([0-7]{1,3}|.)", re.DOTALL)
_NAMED = {b"n": b"\n", b"r": b"\r", b"t": b"\t", b"b": b"\b", b"f": b"\f"}  # 7.3.4.2, table 3
_PAIR = re.compile(rb"<([0-9A-F]{4})> <([0-9A-F]+)>")


def pdf_words(pdf):
    """Everything shown on the pages, each text object (9.4) followed by a space."""
    objects = {int(found[1]): found[2] for found in _OBJECT.finditer(pdf)}
    shown = []
    for page in objects.values():
        if re.search(rb"/Type\s*/Page\b", page):
            fonts = _fonts(objects, _referred(objects, page, b"Resources"))
            shown += _page_words(_stream(_referred(objects, page, b"Contents")), fonts)
    return "".join(shown)


def _referred(objects, owner, key):
    return objects[int(re.search(rb"/" + key + rb"\s+(\d+) 0 R", owner)[1])]


def _stream(body):
    data = re.search(rb"stream\r?\n(.*)\r?\nendstream", body, re.DOTALL)
    return zlib.decompress(data[1]) if b"/FlateDecode" in body[: data.start()] else data[1]


def _fonts(objects, resources):
    """For each font of the page its characters by code (9.10.3)."""
    rows = re.search(rb"/Font\s*<<(.*?)>>", resources, re.DOTALL)[1]
    return {
        name: {
            int(code, 16): bytes.fromhex(text.decode()).decode("utf-16-be")
            for code, text in _PAIR.findall(
                _stream(_referred(objects, objects[int(number)], b"ToUnicode"))
            )
        }
        for name, number in re.findall(rb"/(\w+)\s+(\d+) 0 R", rows)
    }


def _page_words(content, fonts):
    font, at = {}, 0
    while met := _MET.search(content, at):
        at = met.end()
        if met[1]:
            font = fonts[met[1]]
        elif met[2]:
            start, at = at, _end_of_string(content, at)
            codes = _ESCAPE.sub(_unescaped, content[start : at - 1])
            yield "".join(font[codes[i] << 8 | codes[i + 1]] for i in range(0, len(codes), 2))
        elif met[3]:
            yield " "


def _end_of_string(content, at):
    """Past the bracket that ends it: pairs of brackets stand in a string as they are (7.3.4.2)."""
    depth = 1
    while depth:
        one = content[at : at + 1]
        at += 2 if one == b"\\" else 1
        depth += (one == b"(") - (one == b")")
    return at


def _unescaped(found):
    escape = found[1]
    return bytes([int(escape, 8)]) if escape.isdigit() else _NAMED.get(escape, escape)
