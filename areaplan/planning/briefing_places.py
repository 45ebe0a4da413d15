"""Where things lie for a briefing: corners, neighbours, what stands up, who wants quiet."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Final

import shapely
from attrs import evolve, frozen
from shapely.geometry.base import BaseGeometry
from shapely.ops import nearest_points

from areaplan.errors import InputError
from areaplan.fault_words import nearest_fix, one_of
from areaplan.geodesy import LocalFrame, distance_and_bearing
from areaplan.planning.briefing_words import Aerodrome, BriefingWords, Frequency
from areaplan.planning.ground import Ground
from areaplan.planning.plan import Plan, Volume
from areaplan.planning.things import collect
from areaplan.rules.model import Counted
from areaplan.units import NAUTICAL_MILE_M, feet_text, feet_up

LISTED_WITHIN_M: Final = NAUTICAL_MILE_M  # one nautical mile round the area; a convention of ours


_VERIFIED: Final = {
    True: "",
    False: "; not verified by the publisher",
    None: "; the table does not say whether it is verified",
}


@frozen
class Place:
    """A place as a briefing tells it.

    Attributes
    ----------
    lat, lon : float
        Degrees WGS 84.
    gap_m : float
        Distance to the area, metres; 0 inside it.
    distance_m, bearing_deg_true : float or None
        From the aerodrome along the geodesic; None where the project names none.
    """

    lat: float
    lon: float
    gap_m: float
    distance_m: float | None
    bearing_deg_true: float | None


@frozen
class Corner:
    """A corner of the boundary, numbered from 1 as drawn; `landmark` is "" where not given."""

    number: int
    landmark: str
    place: Place


@frozen(eq=False)
class Neighbour:
    """A volume of airspace on the map: its distance from the area, and whom to call.

    `share` is the share of the drawn area over which the volume lies, margins not counted, from 0
    to 1.
    """

    volume: Volume
    gap_m: float
    share: float
    frequencies: tuple[Frequency, ...]


@frozen
class Standing:
    """An obstacle, or a span of wires at its place nearest the area.

    Attributes
    ----------
    name : str
    top_agl_ft : int or None
        As published or drawn, rounded up; None where only the altitude is published.
    top_amsl_ft : int or None
        As used: the cautious side of what is published and of the ground, with its accuracy; None
        where the ground below is unknown.
    remarks : str
    place : Place
    """

    name: str
    top_agl_ft: int | None
    top_amsl_ft: int | None
    remarks: str
    place: Place


@frozen
class QuietPlace:
    """A noise-sensitive place with the reason that was given for drawing it."""

    name: str
    reason: str
    place: Place


@frozen(eq=False)
class Surveyor:
    """Tells places from the area and the aerodrome.

    Attributes
    ----------
    frame : LocalFrame
    area : shapely geometry
        Local metres.
    aerodrome : Aerodrome or None
    """

    frame: LocalFrame
    area: BaseGeometry
    aerodrome: Aerodrome | None

    def place(self, lat: float, lon: float) -> Place:
        """The place of a point."""
        x_m, y_m = self.frame.to_local(lon, lat)
        gap_m = float(self.area.distance(shapely.Point(float(x_m), float(y_m))))
        distance_m = bearing_deg = None
        if self.aerodrome is not None:
            distance_m, bearing_deg = distance_and_bearing(
                self.aerodrome.lat, self.aerodrome.lon, lat, lon
            )
        return Place(lat, lon, gap_m, distance_m, bearing_deg)

    def from_aerodrome_m(self) -> float | None:
        """Distance of the area from the aerodrome, 0 where that lies in it; None without one."""
        if self.aerodrome is None:
            return None
        home = self.aerodrome
        x_m, y_m = self.frame.to_local(home.lon, home.lat)
        here = shapely.Point(float(x_m), float(y_m))
        if self.area.covers(here):
            return 0.0
        point = nearest_points(self.area, here)[0]
        lon, lat = self.frame.to_lonlat(point.x, point.y)
        return distance_and_bearing(home.lat, home.lon, float(lat), float(lon))[0]

    def middle(self, geometry_lonlat: BaseGeometry) -> Place:
        """The place of a point well inside a polygon."""
        point = geometry_lonlat.representative_point()
        return self.place(float(point.y), float(point.x))

    def nearest(self, geometry_lonlat: BaseGeometry) -> Place:
        """The place of a geometry where it is nearest the area, or in its middle inside it."""
        local = self.frame.geometry_to_local(geometry_lonlat)
        inside = local.intersection(self.area)
        point = nearest_points(local, self.area)[0] if inside.is_empty else _middle(inside)
        lon, lat = self.frame.to_lonlat(point.x, point.y)
        place = self.place(float(lat), float(lon))
        return place if inside.is_empty else evolve(place, gap_m=0.0)


def _middle(geometry: BaseGeometry) -> shapely.Point:
    """Half way along the longest line; else a point inside."""
    longest = max(shapely.get_parts(geometry), key=lambda part: float(part.length))
    if isinstance(longest, shapely.LineString):
        return longest.interpolate(0.5, normalized=True)
    return geometry.representative_point()


def surveyor(plan: Plan, words: BriefingWords) -> Surveyor:
    """A surveyor for the area of a plan."""
    area = plan.frame.geometry_to_local(plan.layers.area.rows[0].geometry)
    return Surveyor(plan.frame, area, words.aerodrome)


def corners(plan: Plan, words: BriefingWords, survey: Surveyor) -> tuple[Corner, ...]:
    """The corners of the drawn boundary, in the order of the drawing, holes left out.

    Raises
    ------
    InputError
        Landmarks are given, but not one for each corner.
    """
    parts = shapely.get_parts(plan.layers.area.rows[0].geometry)
    points = [xy for part in parts for xy in list(part.exterior.coords)[:-1]]
    if words.landmarks and len(words.landmarks) != len(points):
        raise InputError.single(
            str(plan.project.path),
            "briefing.landmarks",
            found=f"{len(words.landmarks)} landmarks",
            expected=f"one for each of the {len(points)} corners of the drawn area, in its order",
            fix="say for a corner without one what is seen there, such as the open field",
        )
    names = words.landmarks or ("",) * len(points)
    return tuple(
        Corner(number, name, survey.place(float(lat), float(lon)))
        for number, ((lon, lat, *_), name) in enumerate(zip(points, names, strict=True), 1)
    )


def neighbours(plan: Plan, words: BriefingWords, survey: Surveyor) -> tuple[Neighbour, ...]:
    """Every volume on the map, the nearest first, with its distance to the area.

    Raises
    ------
    InputError
        A frequency names a volume that is not on the map.
    """
    known = [volume.name for volume in plan.volumes]
    for number, row in enumerate(words.frequencies, 1):
        if row.airspace and row.airspace not in known:
            raise InputError.single(
                str(plan.project.path),
                f"briefing.frequencies[{number}].airspace",
                found=repr(row.airspace),
                expected=one_of(known) if known else "no volume, as none is on the map",
                fix=nearest_fix(row.airspace, known, otherwise="leave airspace out"),
            )
    found = []
    for volume in plan.volumes:
        local = plan.frame.geometry_to_local(volume.geometry)
        found.append(
            Neighbour(
                volume,
                float(local.distance(survey.area)),
                float(local.intersection(survey.area).area / survey.area.area),
                tuple(row for row in words.frequencies if row.airspace == volume.name),
            )
        )
    return tuple(sorted(found, key=lambda row: (row.gap_m, row.volume.name)))


def obstacles(plan: Plan, ground: Ground, survey: Surveyor) -> tuple[tuple[Standing, ...], int]:
    """Obstacles within `LISTED_WITHIN_M`, the highest first, and how many lie farther away."""
    things = collect(plan.layers, ground, (Counted.OBSTACLE,))
    tops_m = dict(
        zip(_keys(things.names, things.geometries), things.features.top_amsl_m, strict=True)
    )
    rows = [row for layer in plan.layers.obstacles for row in layer.rows]
    found = []
    for row in rows:
        place = survey.place(row.lat, row.lon)
        key = (f"{row.kind.lower() or 'obstacle'} {row.name}", row.lat, row.lon)
        if place.gap_m - row.horizontal_accuracy_m > LISTED_WITHIN_M:
            continue
        unsure = "" if row.accuracy_is_known else "accuracy unknown; "
        wide = f"place within {feet_text(feet_up(row.horizontal_accuracy_m))}"
        seen = _VERIFIED[row.is_verified]
        agl_ft = None if row.top_agl_m is None else feet_up(row.top_agl_m)
        top_m = tops_m.get(key, float("nan"))
        found.append(Standing(key[0], agl_ft, _feet(top_m), f"{unsure}{wide}{seen}", place))
    return _highest_first(found), len(rows) - len(found)


def _keys(
    names: Sequence[str], geometries: Sequence[BaseGeometry]
) -> list[tuple[str, float, float]]:
    points = [shapely.get_coordinates(one)[0] for one in geometries]
    return [(name, float(lat), float(lon)) for name, (lon, lat) in zip(names, points, strict=True)]


def wires(plan: Plan, ground: Ground, survey: Surveyor) -> tuple[tuple[Standing, ...], int]:
    """Spans of wires within `LISTED_WITHIN_M`, the highest first, and how many lie farther away.

    Spans of one name count the highest top of them all.
    """
    things = collect(plan.layers, ground, (Counted.WIRE,))
    tops_m: dict[str, list[float]] = {}
    for name, top_m in zip(things.names, things.features.top_amsl_m.tolist(), strict=True):
        tops_m.setdefault(name, []).append(top_m)
    rows = [row for layer in plan.layers.wires for row in layer.rows]
    found = []
    for row in rows:
        place = survey.nearest(row.geometry)
        if place.gap_m > LISTED_WITHIN_M:
            continue
        where = "crosses the area" if place.gap_m == 0.0 else "outside the area"
        assumed = "; its height is assumed" if row.height_is_assumed else ""
        top_m = _highest(tops_m.get(row.name, []))
        words = f"{where}{assumed}"
        found.append(Standing(row.name, feet_up(row.top_agl_m), _feet(top_m), words, place))
    return _highest_first(found), len(rows) - len(found)


def quiet_places(plan: Plan, survey: Surveyor) -> tuple[tuple[QuietPlace, ...], int]:
    """Noise-sensitive places within `LISTED_WITHIN_M`, and how many lie farther away."""
    rows = [row for layer in plan.layers.noise for row in layer.rows]
    found = [QuietPlace(row.name, row.reason, survey.nearest(row.geometry)) for row in rows]
    listed = [row for row in found if row.place.gap_m <= LISTED_WITHIN_M]
    listed.sort(key=lambda row: (row.place.gap_m, row.name))
    return tuple(listed), len(rows) - len(listed)


def _highest(tops_m: Iterable[float]) -> float:
    """The highest; NaN when any is, or when there is none."""
    values = list(tops_m)
    return float("nan") if not values or any(one != one for one in values) else max(values)


def _feet(top_m: float) -> int | None:
    return None if top_m != top_m else feet_up(top_m)


def _highest_first(rows: Iterable[Standing]) -> tuple[Standing, ...]:
    """Unknown tops before all others."""
    unknown_ft = float("inf")
    return tuple(
        sorted(
            rows,
            key=lambda row: (
                -(unknown_ft if row.top_amsl_ft is None else row.top_amsl_ft),
                row.name,
                row.place.lat,
                row.place.lon,
            ),
        )
    )
