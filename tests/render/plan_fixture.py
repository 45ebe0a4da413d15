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
    WHATEVER_THE_HEADING,
    Binder,
    Finding,
    Limit,
    Plan,
    Severity,
    Standoff,
    Verdict,
    Volume,
)
from areaplan.planning.project import Aircraft, FieldLimits, Margins, Permission, Project
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
from tests.render.scenery import (
    AREA_M,
    FIELDS_M,
    FRAME,
    HOSTILE_NAMES,
    box,
    cells_of,
    lonlat,
    terrain_ft,
)

PLANNED_FT = (2000, 2500)

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
        box(x, y, w, h, turn)
        for (x, y), (w, h), turn in zip(places, sizes, generator.uniform(0, 90, count), strict=True)
    ]
    return [(shape, float(terrain_ft(shape.centroid.x, shape.centroid.y)) + 30) for shape in shapes]


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
                    LandingField("Too short", lonlat(box(-900, -2300, 60, 120))),
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
                [Zone("Heath", lonlat(box(-6800, -3000, 2500, 3000)), "no house, walked 2026")],
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
            lonlat(box(6500, 500, 3500, 4500)),
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
        fields=FieldLimits(30.0, 300.0, 0.1, 0.04, 0.5, 30.0, False),
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
    cells = cells_of(grid, standing, FIELDS_M)
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
        Binder(LIMITS[0], WHATEVER_THE_HEADING),
        Binder(LIMITS[2], "direction 090 true"),
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
