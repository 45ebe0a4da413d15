"""A folium map as one file that needs nothing else: inlined scripts, hashed policy, fixed ids."""

from __future__ import annotations

import base64
import hashlib
import re
from collections.abc import Iterator, Mapping
from html import escape
from html.parser import HTMLParser
from importlib.metadata import distribution
from typing import Any, Final

import folium
from branca.element import Element, Figure, Link, MacroElement
from folium.template import Template

# Subresource hashes of Leaflet 1.9.4 as https://leafletjs.com/download.html prints them.
_LEAFLET_SHA256: Final = {
    "leaflet.js": "20nQCchB9co0qIjJZRGuk2/Z9VM+kNiyxNV1lvTlZBo=",
    "leaflet.css": "p4NxAoJBhIIN+hmNHrzRCf9tD/miZyoHS5obTRR9BMY=",
}
_POLICY: Final = (
    "default-src 'none'; script-src {scripts}; style-src {styles}; img-src data: blob:; "
    "base-uri 'none'; form-action 'none'"
)
_POLICY_MARK: Final = "@@POLICY@@"

_LEAFLET_LICENCE: Final = """Leaflet 1.9.4
BSD 2-Clause License
Copyright (c) 2010-2023, Volodymyr Agafonkin
Copyright (c) 2010-2011, CloudMade
All rights reserved.
Redistribution and use in source and binary forms, with or without modification, are permitted
provided that the following conditions are met:
1. Redistributions of source code must retain the above copyright notice, this list of conditions
and the following disclaimer.
2. Redistributions in binary form must reproduce the above copyright notice, this list of
conditions and the following disclaimer in the documentation and/or other materials provided with
the distribution.
THIS SOFTWARE IS PROVIDED BY THE COPYRIGHT HOLDERS AND CONTRIBUTORS "AS IS" AND ANY EXPRESS OR
IMPLIED WARRANTIES, INCLUDING, BUT NOT LIMITED TO, THE IMPLIED WARRANTIES OF MERCHANTABILITY AND
FITNESS FOR A PARTICULAR PURPOSE ARE DISCLAIMED. IN NO EVENT SHALL THE COPYRIGHT HOLDER OR
CONTRIBUTORS BE LIABLE FOR ANY DIRECT, INDIRECT, INCIDENTAL, SPECIAL, EXEMPLARY, OR CONSEQUENTIAL
DAMAGES (INCLUDING, BUT NOT LIMITED TO, PROCUREMENT OF SUBSTITUTE GOODS OR SERVICES; LOSS OF USE,
DATA, OR PROFITS; OR BUSINESS INTERRUPTION) HOWEVER CAUSED AND ON ANY THEORY OF LIABILITY, WHETHER
IN CONTRACT, STRICT LIABILITY, OR TORT (INCLUDING NEGLIGENCE OR OTHERWISE) ARISING IN ANY WAY OUT
OF THE USE OF THIS SOFTWARE, EVEN IF ADVISED OF THE POSSIBILITY OF SUCH DAMAGE."""


class Verbatim(Element):
    """Text that goes into the page as it is.

    A plain branca `Element` reads its text as a template, and would run what a name from the data
    puts between double braces.
    """

    _template = Template("{{ this.text }}")

    def __init__(self, text: str) -> None:
        super().__init__()
        self.text = text


class OfflineMap(folium.Map):
    """A folium map that links Leaflet alone and stands in the page as its main landmark.

    Takes the arguments of `folium.Map`.
    """

    _template = Template(
        """
        {%- macro html(this, kwargs) -%}
        <main aria-label="Map"><div class="folium-map" id={{ this.get_name()|tojson }}></div></main>
        {%- endmacro -%}
        {%- macro script(this, kwargs) -%}
        var {{ this.get_name() }} = L.map({{ this.get_name()|tojson }},
          {center: {{ this.location|tojson }}, crs: L.CRS.{{ this.crs }},
           ...{{ this.options|tojavascript }}});
        {% if this.zoom_control_position -%}
        L.control.zoom({position: {{ this.zoom_control|tojson }}}).addTo({{ this.get_name() }});
        {%- endif %}
        {%- endmacro -%}
        """
    )

    def __init__(self, **arguments: Any) -> None:
        super().__init__(**arguments)
        # Only the names count: `OfflineFigure` puts the files that it knows by name in their place.
        self.default_js = [("leaflet.js", "leaflet.js")]
        self.default_css = [("leaflet.css", "leaflet.css")]


class StartPage(MacroElement):
    """The last line of the page's script: hands the map that folium made to our own code."""

    _template = Template(
        """
        {%- macro script(this, kwargs) -%}
        areaplan.start({{ this._parent.get_name() }});
        {%- endmacro -%}
        """
    )

    def __init__(self) -> None:
        super().__init__()  # type: ignore[no-untyped-call]


class OfflineFigure(Figure):
    """A branca figure whose header inlines the links that it knows and refuses all others.

    Parameters
    ----------
    title : str
        Title of the page, unescaped.
    known : mapping of str to str
        File name of a link to its text, for instance ``{"leaflet.js": ...}``.
    """

    _template = Template(
        "<!DOCTYPE html>\n"
        '<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta http-equiv="Content-Security-Policy" content="{{ this.policy_mark }}">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        '<meta name="referrer" content="no-referrer">\n'
        "<title>{{ this.escaped_title }}</title>\n"
        "{{ this.header_html(kwargs) }}</head>\n<body>\n"
        "{{ this.html.render(**kwargs) }}\n"
        "<script>\n{{ this.script.render(**kwargs) }}\n</script>\n"
        "</body>\n</html>\n"
    )
    policy_mark: Final = _POLICY_MARK

    def __init__(self, title: str, known: Mapping[str, str]) -> None:
        super().__init__()
        self.escaped_title = escape(title)
        self.known = dict(known)
        del self.header._children["meta_http"]  # the template has its own

    def header_html(self, kwargs: Mapping[str, Any]) -> str:
        """Header with every link replaced by the text of the file that it names.

        Raises
        ------
        LookupError
            A link is not among the known ones: the page would need a network.
        """
        parts = []
        for name, child in self.header._children.items():
            if not isinstance(child, Link):
                parts.append(child.render(**kwargs))
            elif name not in self.known:
                raise LookupError(f"the map links {name!r}, which is not carried in the file")
            else:
                tag = "style" if name.endswith(".css") else "script"
                parts.append(f"<{tag}>\n{self.known[name]}\n</{tag}>")
        return "\n".join(parts) + "\n"

    def offline_html(self) -> str:
        """Render with fixed ids and a policy that lets only this page's own code run."""
        for number, element in enumerate(_elements(self)):
            element._id = f"{number:04d}"
        return with_policy(self.render())


def _elements(figure: Figure) -> Iterator[Element]:
    """Every element below a figure, in the order in which they were added."""
    waiting: list[Element] = [figure]
    while waiting:
        element = waiting.pop(0)
        yield element
        waiting.extend(element._children.values())
        if isinstance(element, Figure):
            waiting.extend([element.header, element.html, element.script])


def leaflet_files() -> dict[str, str]:
    """Leaflet 1.9.4's script and style from the installed wheel, checked against their hashes.

    References to image files and to the source map are taken out: the page has no such files.

    Raises
    ------
    RuntimeError
        The installed files are not Leaflet 1.9.4 as published.
    """
    wheel = distribution("django-js-lib-leaflet")
    texts = {}
    for name, expected in _LEAFLET_SHA256.items():
        found = wheel.locate_file(f"js_lib_leaflet/static/js_lib_leaflet/{name}")
        content = found.read_bytes()  # type: ignore[attr-defined]
        digest = base64.b64encode(hashlib.sha256(content).digest()).decode("ascii")
        if digest != expected:
            raise RuntimeError(
                f"{found} is not Leaflet 1.9.4: sha256 {digest}, expected {expected}; "
                "reinstall django-js-lib-leaflet 1.9.4.1"
            )
        # A browser hashes scripts and styles after it has turned CR LF into LF.
        texts[name] = content.decode("utf-8").replace("\r\n", "\n")
    texts["leaflet.js"] = (
        f"/*\n{_LEAFLET_LICENCE}\n*/\n" + texts["leaflet.js"].partition("//# sourceMappingURL")[0]
    )
    texts["leaflet.css"] = re.sub(r"[\w-]+:\s*url\([^)]*\);", "", texts["leaflet.css"])
    return texts


class _InlineCode(HTMLParser):
    """Collects the text of every style and of every script that runs, as a browser hashes it."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=False)
        self.found: dict[str, list[str]] = {"script": [], "style": []}
        self._inside = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Enter an element whose text runs; a JSON block is data and needs no leave."""
        if tag in self.found and dict(attrs).get("type") != "application/json":
            self._inside = tag
            self.found[tag].append("")

    def handle_endtag(self, tag: str) -> None:
        """Leave it."""
        if tag == self._inside:
            self._inside = ""

    def handle_data(self, data: str) -> None:
        """Keep its text."""
        if self._inside:
            self.found[self._inside][-1] += data


def with_policy(html: str) -> str:
    """Put the content security policy of a page's own scripts and styles in place of its mark.

    The policy forbids every load, every connection, inline handlers and evaluated text; only
    scripts and styles whose SHA-256 it lists run (W3C, Content Security Policy Level 3, 2.3.1).

    Parameters
    ----------
    html : str
        A page with one mark where the policy belongs.
    """
    parser = _InlineCode()
    parser.feed(html)
    parser.close()
    sources = {
        tag: " ".join(dict.fromkeys(f"'sha256-{_digest(text)}'" for text in texts)) or "'none'"
        for tag, texts in parser.found.items()
    }
    policy = _POLICY.format(scripts=sources["script"], styles=sources["style"])
    return html.replace(_POLICY_MARK, policy, 1)


def _digest(text: str) -> str:
    return base64.b64encode(hashlib.sha256(text.encode("utf-8")).digest()).decode("ascii")
