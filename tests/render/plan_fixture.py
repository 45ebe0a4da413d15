"""An invented plan with everything in it that a map can meet: for the tests of the map alone.

Two airspace shelves (so some cells have two open bands), a strip where the law is unknown, a corner
without terrain, a patch closed at every altitude, a patch that no altitude makes safe, fields with
and without a name that tries to break out of the page.
"""

from __future__ import annotations

from datetime import date
from functools import lru_cache
from pathlib import Path

import numpy as np
import shapely
from shapely import affinity

from areaplan.geodesy import LocalFrame
from areaplan.grid import Grid
from areaplan.planning.judging import (
    altitude_table,
    best_altitude,
    find_block,
    overall_verdict,
    tally,
)
from areaplan.planning.layers import Layers
from areaplan.planning.plan import (
    NO_BAND_FT,
    NO_LIMIT_FT,
    NOBODY,
    UNKNOWN_FT,
    UNREACHABLE_FT,
    Binder,
    Cells,
    Finding,
    Limit,
    Plan,
    Severity,
    Standoff,
    Verdict,
    Volume,
)
from areaplan.planning.project import Aircraft, Margins, Permission, Project
from areaplan.sources.layers import (
    LandingField,
    Layer,
    Obstacle,
    PracticeArea,
    Presence,
    Road,
    SourceKind,
    SourceRecord,
    Structure,
    Wire,
    Wood,
    Zone,
)
from areaplan.sources.terrain import Terrain
from areaplan.units import FOOT_M, KNOT_MPS, Wind

FRAME = LocalFrame(lat=45.5, lon=-35.25)
PLANNED_FT = (2000, 2500)

HOSTILE_NAMES = (
    "</script><script>window.broken=1</script>",
    "<img src=x onerror=window.broken=1> \"double\" 'single' & more",
    "line\u2028and\u2029paragraph {{ 7*7 }} {% raw %} @@POLICY@@",
    "\u202egnihton yas ot\u202c \u200f\u05e9\u05d3\u05d4 \u05d9\u05e8\u05d5\u05e7",
    "<!--<script> -->]]> \\u003c \\ `${7*7}`",
)

LIMITS = (
    Limit(
        "made-up-height",
        "Height over open country",
        Severity.LAW,
        "An invented sentence: 500 feet above the surface.",
        "Invented Rules, part 1, edition 2026",
    ),
    Limit(
        "made-up-<distance>",
        "Distance from structures & persons",
        Severity.LAW,
        "Not nearer than 500 feet to any <structure>.",
        "Invented Rules, part 2",
        confirm="the edition was not seen",
    ),
    Limit(
        "made-up-policy",
        "Quiet places",
        Severity.POLICY,
        "Stay 2,000 feet away below 1,500 feet.",
        "School manual 4-2",
    ),
    Limit("made-up-entry", "Clearance needed", Severity.LAW, "", "Invented Rules, part 9"),
)


def lonlat(geometry):
    """A geometry in local metres as longitude and latitude."""
    return shapely.transform(
        geometry, lambda xy: np.column_stack(FRAME.to_lonlat(xy[:, 0], xy[:, 1]))
    )


def _box(x_m, y_m, width_m, height_m, turn_deg=0.0):
    shape = shapely.box(
        x_m - width_m / 2, y_m - height_m / 2, x_m + width_m / 2, y_m + height_m / 2
    )
    return affinity.rotate(shape, turn_deg)


AREA_M = shapely.Polygon(
    [(-4200, -3300), (-3000, 2800), (600, 3600), (4300, 2500), (4700, -1500), (1200, -3700)]
)
FIELDS_M = (
    ("Long Meadow", _box(-2600, -900, 180, 620, 20)),
    (HOSTILE_NAMES[0], _box(1400, 1500, 160, 700, -35)),
    ("River flat", _box(3300, -400, 150, 560, 80)),
    ("Old strip", _box(-600, 3000, 120, 800, 60)),
    (HOSTILE_NAMES[3], _box(-5200, 2400, 200, 500, 0)),
    ("South stubble", _box(600, -2500, 240, 480, 10)),
    ("Two halves", shapely.MultiPolygon([_box(5200, 3900, 200, 500), _box(5700, 3900, 200, 500)])),
)


def _terrain_ft(x_m, y_m):
    hills = (
        600
        + 260 * np.exp(-(((x_m - 1500) / 1800) ** 2 + ((y_m + 300) / 1300) ** 2))
        + 420 * np.exp(-(((x_m + 6000) / 2500) ** 2 + ((y_m - 4500) / 2600) ** 2))
        + 40 * np.sin(x_m / 700) * np.cos(y_m / 900)
        - 0.012 * y_m
    )
    return np.ceil(hills)


def _floor(terrain, x_m, y_m, structures):
    """Legal floor in feet and its binder: 500 ft above ground, structures, a quiet place."""
    floor = terrain + 500
    binder = np.zeros(terrain.shape, dtype=np.int32)
    for index, (shape, top_ft) in enumerate(structures[:40]):
        centre = shape.centroid
        distance_ft = np.hypot(x_m - centre.x, y_m - centre.y) / FOOT_M
        slant = np.where(
            distance_ft < 500, top_ft + np.sqrt(np.maximum(0, 500**2 - distance_ft**2)), -9e9
        )
        is_higher = slant > floor
        floor = np.where(is_higher, np.ceil(slant), floor)
        binder[is_higher] = 1 + index
    quiet = np.hypot(x_m + 1200, y_m - 1500) < 2000 * FOOT_M
    floor = np.where(quiet & (floor < 1700), 1700, floor)
    binder[quiet & (floor == 1700)] = 41
    return floor, binder


def _glide(terrain, x_m, y_m, fields):
    """Twelve sectors and the worst heading of a straight glide at 7.2 : 1; not the real engine."""
    cost = []
    for _, shape in fields:
        nearest = shape.centroid
        dx, dy = nearest.x - x_m, nearest.y - y_m
        distance_ft = np.hypot(dx, dy) / FOOT_M
        feet = 620 + 300 + distance_ft / 7.2
        bearing = np.degrees(np.arctan2(dx, dy)) % 360
        cost.append((feet, bearing))
    sector = np.full((12, *terrain.shape), float(UNREACHABLE_FT))
    label = np.full((12, *terrain.shape), NOBODY)
    for k in range(12):
        for index, (feet, bearing) in enumerate(cost):
            off = np.abs((bearing - 30 * k + 180) % 360 - 180)
            need = np.maximum(
                np.ceil(feet / np.cos(np.radians(np.minimum(off, 60)))), terrain + 100
            )
            is_better = (off <= 45) & (need < sector[k])
            sector[k] = np.where(is_better, need, sector[k])
            label[k] = np.where(is_better, index, label[k])
    required = np.full(terrain.shape, -9e9)
    for heading in range(12):
        best = np.full(terrain.shape, float(UNREACHABLE_FT))
        for k in range(12):
            turn = abs((heading - k + 6) % 12 - 6) * 38.0
            best = np.minimum(best, np.where(sector[k] < UNREACHABLE_FT, sector[k] + turn, best))
        required = np.maximum(required, best)
    return sector, label, np.ceil(required)


def _bands(floor, is_closed, is_unknown, x_m, y_m, binder):
    """Two shelves cut the air: 1,800 to 2,400 in the north, above 2,900 in the west."""
    bands = np.full((3, 2, *floor.shape), NO_BAND_FT, dtype=np.int64)
    by = np.full((3, 2, *floor.shape), NOBODY, dtype=np.int32)
    north, west = y_m > 1200, x_m < -1500
    for row, col in np.argwhere(~(is_closed | is_unknown)):
        blocked = []
        if north[row, col]:
            blocked.append((1801, 2399, 42))
        if west[row, col]:
            blocked.append((2900, NO_LIMIT_FT, 43))
        low, low_by, slot = floor[row, col], binder[row, col], 0
        for start, stop, who in blocked:
            if low < start:
                bands[slot, :, row, col] = low, start - 1
                by[slot, :, row, col] = low_by, who
                slot += 1
            if stop + 1 > low:
                low, low_by = stop + 1, who
        if low <= NO_LIMIT_FT:
            bands[slot, :, row, col] = low, NO_LIMIT_FT
            by[slot, 0, row, col] = low_by
    return bands, by


def _int16(values):
    return np.asarray(values).astype(np.int16)


def _cells(grid, structures, fields):
    x_m, y_m = np.meshgrid(grid.centre_x_m(), grid.centre_y_m())
    terrain = _terrain_ft(x_m, y_m)
    floor, binder = _floor(terrain, x_m, y_m, structures)
    no_terrain = (x_m > 6500) & (y_m > 5000)
    is_unknown = no_terrain | ((x_m > 3900) & (x_m < 4300))
    is_closed = np.hypot(x_m - 3000, y_m - 2300) < 420
    bands, by = _bands(floor, is_closed, is_unknown, x_m, y_m, binder)
    sector, label, required = _glide(terrain, x_m, y_m, fields)
    lost = (x_m > 1800) & (y_m < -2400)
    sector[:, lost], label[:, lost], required[lost] = UNREACHABLE_FT, NOBODY, UNREACHABLE_FT
    dark = no_terrain | ((x_m < -8000) & (y_m < -6500))
    lowest = sector.argmin(axis=0)[None]
    field = np.take_along_axis(label, lowest, axis=0)[0]
    inside = shapely.intersects_xy(AREA_M.buffer(grid.cell_m * 0.7), x_m, y_m)
    return Cells(
        terrain_amsl_ft=_int16(np.where(no_terrain, UNKNOWN_FT, terrain)),
        legal_floor_amsl_ft=_int16(
            np.where(is_unknown, UNKNOWN_FT, np.where(is_closed, UNREACHABLE_FT, floor))
        ),
        legal_floor_binder=np.where(is_unknown, NOBODY, np.where(is_closed, 44, binder)).astype(
            np.int32
        ),
        bands_amsl_ft=_int16(bands),
        bands_binder=by,
        is_legal_unknown=is_unknown,
        glide_required_amsl_ft=_int16(np.where(dark, UNKNOWN_FT, required)),
        sector_amsl_ft=_int16(np.where(dark, UNKNOWN_FT, sector)),
        sector_field=_int16(np.where(dark, NOBODY, label)),
        field=_int16(np.where(dark | lost, NOBODY, field)),
        is_in_area=inside,
    )


def _record(kind, path, **more):
    return SourceRecord(
        kind=kind,
        paths=(path,),
        sha256=("0123456789abcdef" * 4,),
        edition=more.pop("edition", "2026-10 invented"),
        rows_read=10,
        rows_used=10,
        **more,
    )


def _layer(kind, rows, **more):
    return Layer(_record(kind, f"{kind}.geojson", **more), tuple(rows))


def _structures(count):
    generator = np.random.default_rng(7)
    places = generator.uniform((-8500, -7000), (8500, 7000), (count, 2))
    sizes = generator.uniform(8, 40, (count, 2))
    shapes = [
        _box(x, y, w, h, turn)
        for (x, y), (w, h), turn in zip(places, sizes, generator.uniform(0, 90, count), strict=True)
    ]
    return [
        (shape, float(_terrain_ft(shape.centroid.x, shape.centroid.y)) + 30) for shape in shapes
    ]


def _flat_terrain():
    record = _record(SourceKind.TERRAIN, "terrain.tif")
    heights = np.full((2, 2), 200.0)
    return Terrain.from_array(heights, west=-36, south=45, east=-34, north=46, record=record)


def _layers(structures):
    rows = [
        Structure(
            HOSTILE_NAMES[index % 5] if index < 5 else f"House {index}",
            Presence.STRUCTURE,
            lonlat(shape),
            30 * FOOT_M,
            index % 3 == 0,
        )
        for index, (shape, _) in enumerate(structures)
    ]
    line = shapely.LineString
    return Layers(
        area=_layer(SourceKind.AREA, [PracticeArea(HOSTILE_NAMES[1], lonlat(AREA_M))]),
        terrain=_flat_terrain(),  # the map draws the cells' terrain and never asks for the file's
        obstacles=(
            _layer(
                SourceKind.OBSTACLES,
                [
                    _obstacle("77-000001", "MAST", 2300, 900, 320.0, 560.0),
                    _obstacle(HOSTILE_NAMES[2], "TOWER", -3400, 400, 91.0, None),
                    _obstacle("77-000003", "", -200, -1700, None, None),
                ],
            ),
        ),
        structures=(_layer(SourceKind.STRUCTURES, rows),),
        persons=(
            _layer(
                SourceKind.PERSONS,
                [
                    Structure(
                        "Quarry crew", Presence.PERSON, lonlat(shapely.Point(900, 400)), 2, True
                    )
                ],
            ),
        ),
        wires=(
            _layer(
                SourceKind.WIRES,
                [
                    Wire(
                        "East line",
                        lonlat(line([(-1000, -4000), (2600, 300), (3600, 5000)])),
                        30,
                        False,
                    )
                ],
            ),
        ),
        roads=(
            _layer(
                SourceKind.ROADS,
                [
                    Road(
                        "County road 4",
                        "secondary",
                        lonlat(line([(-9000, -1500), (0, -300), (9000, 800)])),
                    ),
                    Road(
                        "Mill lane",
                        "track",
                        lonlat(line([(-2000, -6000), (-1700, 300), (-1800, 6000)])),
                    ),
                ],
            ),
        ),
        fields=(
            _layer(
                SourceKind.FIELDS,
                [
                    *(
                        LandingField(name, lonlat(shape), surface="grass")
                        for name, shape in FIELDS_M
                    ),
                    LandingField("Too short", lonlat(_box(-900, -2300, 60, 120))),
                ],
            ),
        ),
        congested=(
            _layer(
                SourceKind.CONGESTED,
                [Zone("Millbrook", lonlat(shapely.Point(6200, -2200).buffer(900)), "40 houses")],
            ),
        ),
        sparse=(
            _layer(
                SourceKind.SPARSE,
                [Zone("Heath", lonlat(_box(-6800, -3000, 2500, 3000)), "no house, walked 2026")],
            ),
        ),
        assemblies=(
            _layer(
                SourceKind.ASSEMBLIES,
                [Zone("Fairground", lonlat(shapely.Point(5000, 700).buffer(300)), "Saturdays")],
            ),
        ),
        noise=(
            _layer(
                SourceKind.NOISE,
                [Zone("Stud farm", lonlat(shapely.Point(-1200, 1500).buffer(250)), "complaints")],
            ),
        ),
        woods=(
            _layer(
                SourceKind.WOODS,
                [Wood("Beech wood", lonlat(shapely.Point(-3800, -4500).buffer(800)), 18, True)],
            ),
        ),
        airways=(
            _layer(
                SourceKind.AIRWAYS,
                [Road("Q7", "airway", lonlat(line([(-9000, 6000), (9000, 3500)])))],
            ),
        ),
    )


def _obstacle(name, kind, x_m, y_m, top_agl_m, top_amsl_m):
    lon, lat = FRAME.to_lonlat(x_m, y_m)
    return Obstacle(name, kind, float(lat), float(lon), top_agl_m, top_amsl_m, 76, 15, False, False)


def _volumes():
    north = shapely.box(-9500, 1200, 9500, 9000)
    west = shapely.Point(-9000, 0).buffer(7500)
    return (
        Volume(
            HOSTILE_NAMES[1],
            "C",
            "",
            "1900 ft AMSL",
            "2300 ft AMSL",
            "clearance",
            True,
            "Clearance needed",
            lonlat(north),
        ),
        Volume(
            "West shelf", "", "R", "3000 ft AMSL", "UNL", "no entry", True, "closed", lonlat(west)
        ),
        Volume(
            "Valley",
            "D",
            "",
            "SFC",
            "2500 ft AMSL",
            "two-way radio",
            False,
            "permission: letter of agreement",
            lonlat(_box(6500, 500, 3500, 4500)),
        ),
    )


def _project():
    return Project(
        path=Path("/somewhere/project.toml"),
        sha256="ab" * 32,
        name="North area <b>",
        school='"Invented" school',
        day=date(2026, 11, 25),
        planned_altitudes_amsl_ft=PLANNED_FT,
        rule_sets=("us",),
        rule_paths=(None,),
        activities=("training",),
        aircraft=Aircraft(
            "Trainer <i>",
            65 * KNOT_MPS,
            9.0,
            0.2,
            90 * KNOT_MPS,
            48 * KNOT_MPS,
            {"best_glide_ratio": "handbook 3-4 <u>"},
        ),
        wind=Wind(210.0, 14 * KNOT_MPS),
        wind_source="forecast & guess",
        margins=Margins(
            463.0, 100 * FOOT_M, 100 * FOOT_M, 300 * FOOT_M, 4.0, 30.0, 98000.0, 104000.0
        ),
        cell_m=50.0,
        around_m=4630.0,
        sources=(),
        permissions=(Permission("Valley", "letter", None),),
    )


def _sources(layers):
    expired = _record(
        SourceKind.OBSTACLES,
        'obstacles "old" <x>.dat',
        effective=date(2026, 1, 1),
        expires=date(2026, 3, 1),
        vertical_datum="NAVD88",
    )
    return (layers.area.record, _record(SourceKind.TERRAIN, "terrain.tif"), expired)


@lru_cache(maxsize=4)
def plan(cell_m=50.0, structures=300):
    """The plan; the same object for the same arguments, never to be written into."""
    grid = Grid.covering(-9000.0, -7500.0, 9000.0, 7500.0, cell_m)
    standing = _structures(structures)
    layers = _layers(standing)
    cells = _cells(grid, standing, FIELDS_M)
    tallies = tally(cells)
    table = altitude_table(cells, PLANNED_FT)
    planned = tuple(tallies.at(altitude) for altitude in PLANNED_FT)
    binders = (
        Binder(LIMITS[0], "ground"),
        *(Binder(LIMITS[1], layers.structures[0].rows[index].name) for index in range(40)),
        Binder(LIMITS[2], "Stud farm"),
        Binder(LIMITS[3], HOSTILE_NAMES[1]),
        Binder(LIMITS[3], "West shelf"),
        Binder(LIMITS[2], "Sanctuary </script>"),
    )
    standoffs = (
        Standoff(
            LIMITS[1],
            "slant",
            500 * FOOT_M,
            0.0,
            tuple(lonlat(shape) for shape, _ in standing),
            tuple(row.name for row in layers.structures[0].rows),
            np.array([top * FOOT_M for _, top in standing]),
            np.full(len(standing), 15.0),
        ),
        Standoff(
            LIMITS[2],
            "level",
            2000 * FOOT_M,
            1000 * FOOT_M,
            (layers.noise[0].rows[0].geometry,),
            ("Stud farm",),
            np.array([np.nan]),
            np.array([0.0]),
        ),
    )
    findings = (
        Finding(
            LIMITS[1], Verdict.NOT_MET, 2000, -140, 45.49, -35.24, HOSTILE_NAMES[0], 0.91, ("a",)
        ),
        Finding(LIMITS[0], Verdict.MET, 2000, 311, 45.5, -35.2, "ground", 1.0, ("a",)),
        Finding(LIMITS[3], Verdict.UNKNOWN, 2000, None, 45.51, -35.2, "", 0.4, ("a",)),
        Finding(LIMITS[3], Verdict.NOT_MET, 2500, None, 45.51, -35.2, "West shelf", 0.4, ("a",)),
    )
    return Plan(
        project=_project(),
        frame=FRAME,
        grid=grid,
        layers=layers,
        cells=cells,
        fields=tuple(
            LandingField(name, lonlat(shape), surface="grass") for name, shape in FIELDS_M
        ),
        limits=LIMITS,
        binders=binders,
        volumes=_volumes(),
        standoffs=standoffs,
        verdict=overall_verdict(planned),
        planned=planned,
        by_altitude=tuple(tallies.at(altitude) for altitude in table),
        block=find_block(tallies, PLANNED_FT),
        best=best_altitude(tallies, table, PLANNED_FT),
        findings=findings,
        sources=_sources(layers),
        cautions=("Planning aid only, not for navigation.", "Most wires are in no database."),
        warnings=('EXPIRED: obstacles "old" <x>.dat ended 2026-03-01', "no woods & wires"),
    )
