"""Small OpenStreetMap extracts: the same objects as XML and as PBF.

Formats as the OpenStreetMap wiki describes them ("OSM XML", "PBF Format"); PBF with plain nodes and
uncompressed blobs.
"""

from itertools import pairwise
from xml.sax.saxutils import quoteattr


def write_osm(path, nodes, ways):
    """Write XML: nodes {id: (lon, lat, tags)}, ways {id: (node ids, tags)}."""

    def tags_of(tags):
        return "".join(f"<tag k={quoteattr(k)} v={quoteattr(v)}/>" for k, v in tags.items())

    text = ['<?xml version="1.0" encoding="UTF-8"?><osm version="0.6">']
    text += [
        f'<node id="{i}" lat="{lat}" lon="{lon}" version="1">{tags_of(tags)}</node>'
        for i, (lon, lat, tags) in nodes.items()
    ]
    text += [
        f'<way id="{i}" version="1">'
        + "".join(f'<nd ref="{ref}"/>' for ref in refs)
        + f"{tags_of(tags)}</way>"
        for i, (refs, tags) in ways.items()
    ]
    path.write_text("".join([*text, "</osm>"]))
    return path


def _varint(value):
    out = bytearray()
    while value > 0x7F:
        out.append(value & 0x7F | 0x80)
        value >>= 7
    return bytes([*out, value])


def _zigzag(value):
    return value * 2 if value >= 0 else -value * 2 - 1


def _number(field, value):
    return _varint(field << 3) + _varint(value)


def _bytes(field, value):
    return _varint(field << 3 | 2) + _varint(len(value)) + value


def _packed(field, values):
    return _bytes(field, b"".join(_varint(value) for value in values))


def _block(kind, content):
    blob = _bytes(1, content) + _number(2, len(content))
    header = _bytes(1, kind) + _number(3, len(blob))
    return len(header).to_bytes(4, "big") + header + blob


def write_pbf(path, nodes, ways):
    """Write PBF, arguments as for `write_osm`."""
    strings = [b""]

    def index(text):
        raw = text.encode()
        if raw not in strings:
            strings.append(raw)
        return strings.index(raw)

    def tags_of(tags):
        if not tags:
            return b""
        return _packed(2, [index(k) for k in tags]) + _packed(3, [index(v) for v in tags.values()])

    group = b""
    for i, (lon, lat, tags) in nodes.items():
        place = _number(8, _zigzag(round(lat * 1e7))) + _number(9, _zigzag(round(lon * 1e7)))
        group += _bytes(1, _number(1, _zigzag(i)) + tags_of(tags) + place)
    node_group, group = group, b""
    for i, (refs, tags) in ways.items():
        steps = [refs[0], *(b - a for a, b in pairwise(refs))]
        refs_of = _packed(8, [_zigzag(step) for step in steps])
        group += _bytes(3, _number(1, i) + tags_of(tags) + refs_of)
    table = _bytes(1, b"".join(_bytes(1, text) for text in strings))
    features = b"".join(_bytes(4, x) for x in (b"OsmSchema-V0.6", b"DenseNodes"))
    path.write_bytes(
        _block(b"OSMHeader", features)
        + _block(b"OSMData", table + _bytes(2, node_group))
        + _block(b"OSMData", table + _bytes(2, group))
    )
    return path
