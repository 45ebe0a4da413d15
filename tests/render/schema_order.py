"""A small check of XML documents against the order of elements that their schemas ask for.

GPX: the sequences of http://www.topografix.com/GPX/1/1/gpx.xsd. KML: the sequences of OGC 07-147r2,
*KML*, version 2.2.0, ogckml22.xsd. Both written down from memory of the published schemas; of each
only what this product writes, and every element that is not in a list is a fault.
"""

from xml.etree import ElementTree as ET

_POINT = ["ele", "time", "magvar", "geoidheight", "name", "cmt", "desc", "src", "link", "sym"]
_POINT += ["type", "fix", "sat", "hdop", "vdop", "pdop", "extensions"]
_PATH = ["name", "cmt", "desc", "src", "link", "number", "type", "extensions"]
GPX = {
    "gpx": ["metadata", "wpt", "rte", "trk", "extensions"],
    "metadata": ["name", "desc", "author", "copyright", "link", "time", "keywords", "bounds"],
    "wpt": _POINT,
    "rtept": _POINT,
    "trkpt": _POINT,
    "rte": [*_PATH, "rtept"],
    "trk": [*_PATH, "trkseg"],
    "trkseg": ["trkpt"],
}
_FEATURE = ["name", "visibility", "open", "address", "Snippet", "description", "styleUrl"]
_FEATURE += ["Style", "ExtendedData"]
_SHAPES = ["Point", "LineString", "LinearRing", "Polygon", "MultiGeometry"]
KML = {
    "kml": ["Document"],
    "Document": [*_FEATURE, ("Folder", "Placemark")],
    "Folder": [*_FEATURE, ("Folder", "Placemark")],
    "Placemark": [*_FEATURE, tuple(_SHAPES)],
    "Style": ["IconStyle", "LabelStyle", "LineStyle", "PolyStyle", "BalloonStyle", "ListStyle"],
    "IconStyle": ["color", "colorMode", "scale", "heading", "Icon"],
    "LineStyle": ["color", "colorMode", "width"],
    "PolyStyle": ["color", "colorMode", "fill", "outline"],
    "BalloonStyle": ["bgColor", "textColor", "text"],
    "ExtendedData": ["Data"],
    "Data": ["displayName", "value"],
    "MultiGeometry": [tuple(_SHAPES)],
    "Point": ["extrude", "altitudeMode", "coordinates"],
    "LineString": ["extrude", "tessellate", "altitudeMode", "coordinates"],
    "LinearRing": ["extrude", "tessellate", "altitudeMode", "coordinates"],
    "Polygon": ["extrude", "tessellate", "altitudeMode", "outerBoundaryIs", "innerBoundaryIs"],
    "outerBoundaryIs": ["LinearRing"],
    "innerBoundaryIs": ["LinearRing"],
}
_REPEATED = {
    "wpt",
    "rte",
    "trk",
    "trkseg",
    "trkpt",
    "rtept",
    "Style",
    "Folder",
    "Placemark",
    "Data",
}
_REPEATED |= {"innerBoundaryIs", *_SHAPES}


def order_faults(content, namespace, order):
    """What is out of place, doubled or unknown in a document, in words."""
    faults = []
    root = ET.fromstring(content)
    for element in root.iter():
        tag = _bare(element.tag, namespace)
        rank = {
            name: place
            for place, names in enumerate(order.get(tag, []))
            for name in ([names] if isinstance(names, str) else names)
        }
        before, seen = -1, set()
        for child in element:
            name = _bare(child.tag, namespace)
            if name not in rank:
                faults.append(f"{tag}: no {name} here")
                continue
            if rank[name] < before:
                faults.append(f"{tag}: {name} too late")
            if name in seen and (name not in _REPEATED or tag in {"Placemark"}):
                faults.append(f"{tag}: two {name}")
            before = max(before, rank[name])
            seen.add(name)
    return faults


def _bare(tag, namespace):
    assert tag.startswith(f"{{{namespace}}}"), tag
    return tag.removeprefix(f"{{{namespace}}}")
