"""Text that XML 1.0 can carry, and documents that are the same bytes for the same content."""

from __future__ import annotations

import re
from typing import Final
from xml.etree import ElementTree as ET

# Whatever the production Char of XML 1.0 (W3C, 5th edition, 2.2) leaves out.
_NOT_XML: Final = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
_REPLACEMENT: Final = "\ufffd"


def xml_text(text: str) -> str:
    """Replace what XML 1.0 can't carry by U+FFFD; escaping is left to the serialiser."""
    return _NOT_XML.sub(_REPLACEMENT, text)


def add_text(parent: ET.Element, tag: str, text: str) -> ET.Element:
    """Append an element that holds a text."""
    child = ET.SubElement(parent, tag)
    child.text = xml_text(text)
    return child


def document_bytes(root: ET.Element) -> bytes:
    """An XML document in UTF-8, indented, with a declaration; alters the tree's white space."""
    ET.indent(root, " ")
    body = ET.tostring(root, encoding="unicode")
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{body}\n'.encode()
