"""An AIXM message taken apart safely: the features that are read, and what they may point to.

Read through expat, which meets every document type declaration whatever the encoding: such a file
is refused before any entity could swell. Nothing outside the file is ever fetched.
"""

from __future__ import annotations

import re
from pathlib import Path
from typing import Final
from xml.etree.ElementTree import Element, TreeBuilder
from xml.parsers import expat

from attrs import frozen

from areaplan.errors import InputError
from areaplan.sources._files import MAX_TABLE_BYTES, require_file
from areaplan.sources._text import clean_text, one_line, shown

# Namespaces of AIXM 5.1 and 5.1.1 (aixm.aero), GML 3.2.1 and XLink.
_AIXM: Final = re.compile(r"http://www\.aixm\.aero/schema/5\.1(\.1)?")
_AIXM_ANY: Final = re.compile(r"http://www\.aixm\.aero/schema/(?P<version>[0-9.]+)(/message)?")
_ROOT: Final = "AIXMBasicMessage"
GML_ID: Final = "gml:id"
HREF: Final = "xlink:href"
_KEPT_PREFIXES: Final = {
    "http://www.opengis.net/gml/3.2": "gml",
    "http://www.opengis.net/gml": "gml",
    "http://www.w3.org/1999/xlink": "xlink",
    "http://www.w3.org/2001/XMLSchema-instance": "xsi",
}
_POINTED_TO: Final = frozenset({"Point", "ElevatedPoint", "Curve", "ElevatedCurve"})
_DEEPEST: Final = 200
_CHUNK_BYTES: Final = 1 << 16
_FIX: Final = "save it again as AIXM 5.1 or 5.1.1, without a document type declaration"


@frozen(eq=False)
class Message:
    """What is kept of a message. Elements carry local names only; attributes `gml:id` and so on.

    Attributes
    ----------
    features : tuple of Element
        Features of the wanted kinds, in file order.
    by_id : dict of str to Element
        Features, points and curves by their `gml:id`, of the whole message.
    by_uuid : dict of str to Element
        Features of the wanted kinds by their `gml:identifier`.
    """

    features: tuple[Element, ...]
    by_id: dict[str, Element]
    by_uuid: dict[str, Element]

    def resolve(self, reference: str) -> Element | None:
        """What `#id`, `urn:uuid:...` or `#uuid...` points to inside the message, if anything."""
        if reference.startswith("#"):
            found = self.by_id.get(reference[1:])
            if found is not None:
                return found
        return self.by_uuid.get(_bare_uuid(reference))


def is_aixm_file(path: Path) -> bool:
    """Whether a path ends as AIXM files do; what is inside is checked when it is read."""
    return path.suffix.lower() == ".xml"


def read_message(path: Path, name: str, wanted: frozenset[str]) -> Message:
    """Read a message, keeping the features of the wanted kinds and what others may point to.

    Parameters
    ----------
    path : Path
    name : str
        The path as the project writes it.
    wanted : frozenset of str
        Local names of features, such as "Airspace".

    Raises
    ------
    InputError
        The file is missing, too large, not XML, declares a document type, or is not an AIXM 5.1
        or 5.1.1 message.
    """
    require_file(path, name, MAX_TABLE_BYTES)
    reader = _Reader(name, wanted)
    with path.open("rb") as stream:
        try:
            while chunk := stream.read(_CHUNK_BYTES):
                reader.parser.Parse(chunk, False)
            reader.parser.Parse(b"", True)
        except (expat.ExpatError, LookupError, ValueError) as error:
            raise _refuse(name, f"it is not sound XML ({one_line(error)})") from error
    return Message(tuple(reader.features), reader.by_id, reader.by_uuid)


class _Reader:
    """Builds one member of the message at a time, then drops what nobody asked for."""

    def __init__(self, name: str, wanted: frozenset[str]) -> None:
        self.name = name
        self.wanted = wanted
        self.features: list[Element] = []
        self.by_id: dict[str, Element] = {}
        self.by_uuid: dict[str, Element] = {}
        self._depth = 0
        self._feature: TreeBuilder | None = None
        self.parser = expat.ParserCreate(namespace_separator=" ")
        self.parser.buffer_text = True
        self.parser.StartDoctypeDeclHandler = self._doctype
        self.parser.StartElementHandler = self._start
        self.parser.EndElementHandler = self._end
        self.parser.CharacterDataHandler = self._text

    def _doctype(self, *_: object) -> None:
        found = "it holds a document type declaration, through which a file can swell without end"
        raise _refuse(self.name, found)

    def _start(self, tag: str, attributes: dict[str, str]) -> None:
        if self._depth == 0:
            self._check_root(tag)
        self._depth += 1
        if self._depth > _DEEPEST:
            raise _refuse(self.name, f"elements stand more than {_DEEPEST} deep in each other")
        if self._depth == 3:
            self._feature = TreeBuilder()
        if self._feature is not None:
            kept = {_attribute_name(key): value for key, value in attributes.items()}
            self._feature.start(tag.rpartition(" ")[2], kept)

    def _end(self, tag: str) -> None:
        self._depth -= 1
        if self._feature is None:
            return
        self._feature.end(tag.rpartition(" ")[2])
        if self._depth == 2:
            self._keep(self._feature.close())
            self._feature = None

    def _text(self, text: str) -> None:
        if self._feature is not None:
            self._feature.data(text)

    def _keep(self, feature: Element) -> None:
        for element in feature.iter():
            identifier = element.get(GML_ID)
            if identifier and (element is feature or element.tag in _POINTED_TO):
                self.by_id.setdefault(identifier.strip(), element)
        if feature.tag in self.wanted:
            uuid = _bare_uuid(text_at(feature, "identifier"))
            known = self.by_uuid.get(uuid)
            if known is not None and known.tag == feature.tag:
                known.extend(feature.findall("timeSlice"))  # more slices of the same feature
                return
            self.features.append(feature)
            if uuid:
                self.by_uuid.setdefault(uuid, feature)

    def _check_root(self, tag: str) -> None:
        space, _, local = tag.rpartition(" ")
        match = _AIXM_ANY.fullmatch(space)
        if local != _ROOT or match is None:
            raise _refuse(self.name, f"its root is {shown(local)}")
        if not _AIXM.match(space):
            raise _refuse(self.name, f"it is AIXM {match['version']}")


def _attribute_name(key: str) -> str:
    space, _, local = key.rpartition(" ")
    prefix = _KEPT_PREFIXES.get(space, "")
    return f"{prefix}:{local}" if prefix else local


def _bare_uuid(reference: str) -> str:
    bare = reference.strip().lstrip("#").lower()
    return bare.removeprefix("urn:uuid:").removeprefix("urn.uuid.").removeprefix("uuid.")


def _refuse(name: str, found: str) -> InputError:
    return InputError.single(
        name, "", found=found, expected=f"an AIXM 5.1 or 5.1.1 message ({_ROOT})", fix=_FIX
    )


def is_nil(element: Element | None) -> bool:
    """Whether a property is absent or published as nil."""
    return element is None or element.get("xsi:nil", "").strip() in ("true", "1")


def text_at(element: Element, path: str) -> str:
    """Text of a property on one line, "" where it is absent or nil."""
    found = element.find(path)
    return "" if found is None or is_nil(found) else clean_text(found.text, 400)


def label_of(feature: Element) -> str:
    """What finds a feature again in its file: its kind and its gml:id or identifier."""
    identifier = feature.get(GML_ID) or text_at(feature, "identifier") or "without identifier"
    return f"{feature.tag} {clean_text(identifier, 80)}"
