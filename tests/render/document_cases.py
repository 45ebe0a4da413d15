"""Documents of every kind of block and of any words, for the tests of the printers."""

import re
import zlib

from attrs import asdict
from hypothesis import strategies as st

from areaplan.render.document.model import (
    Bullets,
    Document,
    Figure,
    Paragraph,
    Part,
    Quoted,
    RuledLines,
    Section,
    TableBlock,
    Terms,
)

EVIL = '</style><b>Dell</b> & <script>alert(1)</script> #panic("x") *b* $1$ \\ "quoted" 100%'
SQUARE = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="20" height="20" viewBox="0 0 20 20">'
    '<rect width="20" height="20" fill="#123456"/></svg>'
)
# Names that are no words of the page: they stand in anchors, or nowhere.
_UNSAID = {"name", "svg", "running"}

anything = st.characters(exclude_categories=())  # controls and halves of surrogate pairs too
words = st.one_of(
    st.text(anything, max_size=40),
    st.lists(st.text("abc é-/", min_size=1, max_size=14), max_size=30).map(" ".join),
    st.sampled_from([EVIL, "x" * 150, "\x1b[31mred", "a\u2028b\x85c", "\u202eabc", "2 500 ft", ""]),
)
said = words.map(lambda text: f"T{text}")
cells = st.one_of(st.none(), words)


@st.composite
def tables(draw):
    wide = draw(st.integers(1, 9))
    row = st.tuples(*[cells] * wide)
    return TableBlock(
        draw(words),
        draw(st.tuples(*[words] * wide)),
        tuple(draw(st.lists(row, max_size=4))),
        draw(st.tuples(*[st.integers(1, 9)] * wide)),
        draw(words),
        tuple(draw(st.sets(st.integers(0, wide - 1)))),
    )


blocks = st.one_of(
    st.builds(Paragraph, words, st.booleans()),
    st.builds(Bullets, st.lists(words, max_size=3).map(tuple)),
    st.builds(Terms, st.lists(st.tuples(words, cells), max_size=3).map(tuple)),
    tables(),
    st.builds(Quoted, words, words, words, words, words, words, words),
    st.builds(RuledLines, st.lists(words, max_size=3).map(tuple)),
    st.builds(Figure, st.just("square"), st.just(SQUARE), said, said),
)
sections = st.builds(Section, words, st.lists(blocks, max_size=4).map(tuple), st.booleans())


@st.composite
def documents(draw):
    parts = draw(st.lists(st.lists(sections, min_size=1, max_size=3), max_size=3))
    return Document(
        draw(said),
        draw(words),
        Terms(tuple(draw(st.lists(st.tuples(words, cells), max_size=2)))),
        draw(words),
        draw(words),
        tuple(draw(st.lists(words, max_size=2))),
        draw(words),
        tuple(
            Part(f"part-{number}", draw(words), draw(words), tuple(one), draw(st.booleans()))
            for number, one in enumerate(parts)
        ),
        tuple(draw(st.lists(words, max_size=2))),
        draw(st.booleans()),
    )


def document_of(*made, **more):
    """A document of one section with these blocks."""
    values = {
        "title": "Title",
        "subtitle": "",
        "identity": Terms(()),
        "verdict": "Verdict",
        "caution": "Caution",
        "alarms": (),
        "running": "Running",
        "parts": (Part("one", "", "", (Section("Section", made),)),),
    }
    return Document(**(values | more))


def texts_of(value):
    """Every text of a document that a reader meets; None for a line to fill in."""
    if isinstance(value, Document):
        value = asdict(value)
    if isinstance(value, dict):
        for key, one in value.items():
            if key not in _UNSAID:
                yield from texts_of(one)
    elif isinstance(value, list | tuple):
        for one in value:
            yield from texts_of(one)
    elif value is None or isinstance(value, str):
        yield value


def objects_of(pdf):
    """The file with every compressed stream opened (PDF 1.7, 7.3.8 and 7.4.4)."""
    parts = [pdf]
    for stream in re.findall(rb"stream\r?\n(.*?)\r?\nendstream", pdf, re.DOTALL):
        try:
            parts.append(zlib.decompress(stream))
        except zlib.error:
            continue  # an uncompressed stream stands in the file already
    return b"\n".join(parts)


def pages_of(pdf):
    return len(re.findall(rb"/Type\s*/Page\b", objects_of(pdf)))


def sizes_of(pdf):
    """Width and height of the pages in whole points, 72 an inch."""
    found = re.findall(rb"/MediaBox\s*\[([^\]]*)\]", objects_of(pdf))
    return {tuple(round(float(one)) for one in row.split()[2:]) for row in found}
