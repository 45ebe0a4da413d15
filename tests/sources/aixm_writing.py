"""AIXM messages put together by the tests, after the public AIXM 5.1.1 and GML 3.2.1 schemas."""

from datetime import date

from areaplan.sources.airspace import read_airspace
from tests.sources.making import spec_of

DAY = date(2026, 11, 25)
LAT_LON = "urn:ogc:def:crs:EPSG::4326"
LON_LAT = "urn:ogc:def:crs:OGC:1.3:CRS84"
HEAD = (
    '<?xml version="1.0" encoding="UTF-8"?>\n<message:AIXMBasicMessage'
    ' xmlns:message="http://www.aixm.aero/schema/5.1.1/message"'
    ' xmlns:aixm="http://www.aixm.aero/schema/5.1.1" xmlns:gml="http://www.opengis.net/gml/3.2"'
    ' xmlns:xlink="http://www.w3.org/1999/xlink"'
    ' xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance" gml:id="M1">'
)
SQUARE = ((42.0, 1.0), (42.0, 1.5), (42.5, 1.5), (42.5, 1.0), (42.0, 1.0))  # latitude, longitude


def message(*features):
    members = "".join(f"<message:hasMember>{feature}</message:hasMember>" for feature in features)
    return f"{HEAD}{members}</message:AIXMBasicMessage>"


def element(name, text, **attributes):
    said = "".join(f' {key}="{value}"' for key, value in attributes.items() if value)
    return f"<aixm:{name}{said}>{text}</aixm:{name}>"


def positions(pairs):
    return " ".join(f"{first!r} {second!r}" for first, second in pairs)


def string(pairs, kind="GeodesicString"):
    return f"<gml:{kind}><gml:posList>{positions(pairs)}</gml:posList></gml:{kind}>"


def arc(centre, radius, uom, start=None, end=None, kind="ArcByCenterPoint"):
    angles = (
        ""
        if start is None
        else (
            f'<gml:startAngle uom="deg">{start}</gml:startAngle>'
            f'<gml:endAngle uom="deg">{end}</gml:endAngle>'
        )
    )
    return (
        f'<gml:{kind} numArc="1"><gml:pos>{centre[0]} {centre[1]}</gml:pos>'
        f'<gml:radius uom="{uom}">{radius}</gml:radius>{angles}</gml:{kind}>'
    )


def circle(centre, radius, uom):
    return arc(centre, radius, uom, kind="CircleByCenterPoint")


def curve(*segments):
    inside = "".join(segments)
    return (
        "<gml:curveMember><gml:Curve><gml:segments>"
        f"{inside}</gml:segments></gml:Curve></gml:curveMember>"
    )


def border_reference(reference):
    return f'<gml:curveMember xlink:href="{reference}"/>'


def ring(*members):
    return f"<gml:Ring>{''.join(members)}</gml:Ring>"


def surface(exterior, *holes, srs=LAT_LON, accuracy=""):
    inside = "".join(f"<gml:interior>{hole}</gml:interior>" for hole in holes)
    named = f' srsName="{srs}"' if srs else ""
    return (
        f"<aixm:horizontalProjection><aixm:Surface{named}><gml:patches><gml:PolygonPatch>"
        f"<gml:exterior>{exterior}</gml:exterior>{inside}</gml:PolygonPatch></gml:patches>"
        f"{accuracy}</aixm:Surface></aixm:horizontalProjection>"
    )


def square(accuracy="", corners=SQUARE):
    return surface(ring(curve(string(corners, "LineStringSegment"))), accuracy=accuracy)


def limits(lower=("0", "FT", "SFC"), upper=("2500", "FT", "MSL")):
    """Limits as (value, uom, reference); None leaves one out."""
    text = ""
    for side, one in (("upper", upper), ("lower", lower)):
        if one is not None:
            text += element(f"{side}Limit", one[0], uom=one[1])
            text += element(f"{side}LimitReference", one[2]) if one[2] else ""
    return text


def component(volume, operation="", sequence=""):
    said = element("operation", operation) if operation else ""
    said += element("operationSequence", sequence) if sequence else ""
    return (
        f"<aixm:geometryComponent><aixm:AirspaceGeometryComponent>{said}<aixm:theAirspaceVolume>"
        f"<aixm:AirspaceVolume>{volume}</aixm:AirspaceVolume></aixm:theAirspaceVolume>"
        "</aixm:AirspaceGeometryComponent></aixm:geometryComponent>"
    )


def borrowed(uuid, dependency="FULL_GEOMETRY"):
    return (
        "<aixm:contributorAirspace><aixm:AirspaceVolumeDependency>"
        f"{element('dependency', dependency)}"
        f'<aixm:theAirspace xlink:href="urn:uuid:{uuid}"/>'
        "</aixm:AirspaceVolumeDependency></aixm:contributorAirspace>"
    )


def classes(letter, *layers):
    levels = "".join(
        f"<aixm:associatedLevels><aixm:AirspaceLayer>{layer}</aixm:AirspaceLayer>"
        "</aixm:associatedLevels>"
        for layer in layers
    )
    inside = element("classification", letter) + levels
    return f"<aixm:class><aixm:AirspaceLayerClass>{inside}</aixm:AirspaceLayerClass></aixm:class>"


def sheet(day="WED", start="07:00", end="17:00", zone="UTC", **more):
    said = element("timeReference", zone) if zone else ""
    fields = {"day": day, "startTime": start, "endTime": end, "excluded": "NO",
              "daylightSavingAdjust": "NO", **more}  # fmt: skip
    said += "".join(element(key, value) for key, value in fields.items() if value)
    return f"<aixm:timeInterval><aixm:Timesheet>{said}</aixm:Timesheet></aixm:timeInterval>"


def activation(*sheets, status="ACTIVE", more=""):
    said = element("activity", "SHOOTING") + (element("status", status) if status else "")
    return (
        "<aixm:activation><aixm:AirspaceActivation>"
        f"{''.join(sheets)}{said}{more}</aixm:AirspaceActivation></aixm:activation>"
    )


def valid(begin="2020-01-01T00:00:00Z", end=""):
    last = (
        f"<gml:endPosition>{end}</gml:endPosition>"
        if end
        else '<gml:endPosition indeterminatePosition="unknown"/>'
    )
    return (
        "<gml:validTime><gml:TimePeriod>"
        f"<gml:beginPosition>{begin}</gml:beginPosition>{last}"
        "</gml:TimePeriod></gml:validTime>"
    )


def slice_of(feature, inside, when=None, interpretation="BASELINE", sequence=1):
    return (
        f"<aixm:timeSlice><aixm:{feature}TimeSlice>{when or valid()}"
        f"{element('interpretation', interpretation)}{element('sequenceNumber', sequence)}"
        f"{inside}</aixm:{feature}TimeSlice></aixm:timeSlice>"
    )


def feature(kind, uuid, *slices):
    return (
        f'<aixm:{kind} gml:id="uuid.{uuid}">'
        f'<gml:identifier codeSpace="urn:uuid:">{uuid}</gml:identifier>{"".join(slices)}'
        f"</aixm:{kind}>"
    )


def airspace(*inside, uuid="a1", type_code="R", designator="XR1", name="", when=None):
    """One Airspace with a single baseline."""
    head = element("type", type_code) if type_code else ""
    head += element("designator", designator) if designator else ""
    head += element("name", name) if name else ""
    return feature("Airspace", uuid, slice_of("Airspace", head + "".join(inside), when))


def plain(volume_limits=None, **keys):
    """A square airspace."""
    return airspace(component((volume_limits or limits()) + square()), **keys)


def border(uuid, pairs):
    inside = (
        f'<aixm:border><aixm:Curve srsName="{LAT_LON}"><gml:segments>{string(pairs)}'
        "</gml:segments></aixm:Curve></aixm:border>"
    )
    return feature("GeoBorder", uuid, slice_of("GeoBorder", inside))


def write(path, *features, text=None):
    path.write_text(message(*features) if text is None else text, encoding="utf-8")
    return path


def read(tmp_path, *features, clip=None, **keys):
    keys.setdefault("day", DAY)
    path = write(tmp_path / "airspace.xml", *features)
    return read_airspace(spec_of("airspace", path, **keys), clip)
