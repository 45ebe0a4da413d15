"""Every worked example of every built-in rule, through the real surfaces.

The aircraft stands in the middle cell of a small grid of flat ground. A thing at a horizontal
distance is a point that far from the cell's nearest edge, which is what a cell answers for.
"""

import math
from datetime import date

import numpy as np
import pytest
import shapely

from areaplan.geodesy import LocalFrame
from areaplan.grid import Grid
from areaplan.planning.ground import Ground
from areaplan.planning.layers import Layers
from areaplan.planning.limits import rule_surfaces
from areaplan.rules.loading import builtin_rule_sets, load_rule_set
from areaplan.rules.model import Counted, RuleKind
from areaplan.rules.model import Ground as GroundKind
from areaplan.sources.layers import (
    Layer,
    Obstacle,
    PracticeArea,
    Presence,
    Road,
    SourceKind,
    SourceRecord,
    Structure,
    Wire,
    Zone,
)

FRAME = LocalFrame(lat=45.0, lon=7.0)
CELL_M = 40.0
HALF = 20  # cells on each side of the middle one: 820 m, past every radius that counts terrain
GRID = Grid(-CELL_M * (HALF + 0.5), CELL_M * (HALF + 0.5), CELL_M, 2 * HALF + 1, 2 * HALF + 1)
SURFACE_KINDS = {
    RuleKind.HEIGHT_ABOVE_SURFACE,
    RuleKind.HIGHEST_IN_RADIUS,
    RuleKind.SLANT_DISTANCE,
    RuleKind.LATERAL_DISTANCE,
    RuleKind.CLOSED_OVER,
}
# A published example in feet, through metres and the earth's curve and back.
MILLIMETRE_M = 0.001
# Things at exactly a radius go to the far side of float64 noise and stay inside the engine's slack.
HALF_MICROMETRE_M = 5e-7


def all_examples():
    return [
        pytest.param(rule, example, id=f"{rule_set.id}-{rule.id}-{position}")
        for rule_set in map(load_rule_set, builtin_rule_sets())
        for rule in rule_set.rules
        if rule.kind in SURFACE_KINDS
        for position, example in enumerate(rule.examples)
    ]


def layer(kind, *rows):
    record = SourceRecord(kind, ("example",), ("0" * 64,), "example", date(2026, 1, 1))
    return (Layer(record, tuple(rows)),)


def lonlat(x_m, y_m):
    return FRAME.to_lonlat(float(x_m), float(y_m))


def everywhere():
    corners = [(-5000, -5000), (5000, -5000), (5000, 5000), (-5000, 5000)]
    return shapely.Polygon([lonlat(*corner) for corner in corners])


def layers_of(example):
    rows = {kind: [] for kind in Counted}
    for thing in example.things:
        x_m = CELL_M / 2 + thing.horizontal_distance_m + HALF_MICROMETRE_M
        lon, lat = lonlat(x_m, 0.0)
        point, height_m = shapely.Point(lon, lat), thing.top_amsl_m - example.terrain_amsl_m
        if thing.counted is Counted.OBSTACLE:
            row = Obstacle("o", "MAST", lat, lon, None, thing.top_amsl_m, 0.0, 0.0, True, True)
        elif thing.counted is Counted.WIRE:
            line = shapely.LineString([lonlat(x_m, -1.0), lonlat(x_m, 1.0)])
            row = Wire("w", line, height_m, False)
        elif thing.counted is Counted.AIRWAY:
            row = Road("a", "airway", shapely.LineString([lonlat(x_m, -1.0), lonlat(x_m, 1.0)]))
        elif thing.counted is Counted.NOISE:
            row = Zone("n", point.buffer(1e-9), "example")
        else:
            row = Structure("s", Presence(thing.counted.value), point, height_m, False)
        rows[thing.counted].append(row)
    ground = {example.ground: (Zone("here", everywhere(), "example"),)}
    moving = [*rows[Counted.PERSON], *rows[Counted.VESSEL], *rows[Counted.VEHICLE]]
    return Layers(
        area=layer(SourceKind.AREA, PracticeArea("area", everywhere()))[0],
        terrain=None,
        obstacles=layer(SourceKind.OBSTACLES, *rows[Counted.OBSTACLE]),
        structures=layer(SourceKind.STRUCTURES, *rows[Counted.STRUCTURE]),
        persons=layer(SourceKind.PERSONS, *moving),
        wires=layer(SourceKind.WIRES, *rows[Counted.WIRE]),
        airways=layer(SourceKind.AIRWAYS, *rows[Counted.AIRWAY]),
        noise=layer(SourceKind.NOISE, *rows[Counted.NOISE]),
        congested=layer(SourceKind.CONGESTED, *ground.get(GroundKind.CONGESTED, ())),
        assemblies=layer(SourceKind.ASSEMBLIES, *ground.get(GroundKind.ASSEMBLY, ())),
        sparse=layer(SourceKind.SPARSE, *ground.get(GroundKind.SPARSE, ())),
    )


def floor_here(rule, example):
    flat = np.full(GRID.shape, example.terrain_amsl_m)
    for thing in example.things:
        if thing.counted is Counted.NOISE:  # a refuge is as high as its ground
            x_m = CELL_M / 2 + thing.horizontal_distance_m + HALF_MICROMETRE_M
            flat[GRID.cell_of(x_m, 0.0)] = thing.top_amsl_m
    ground = Ground(FRAME, GRID, flat, flat)
    (surface,) = rule_surfaces([rule], layers_of(example), ground)
    return float(surface.floor_amsl_m[HALF, HALF])


@pytest.mark.parametrize(("rule", "example"), all_examples())
def test_surfaces_answer_as_the_examples_say(rule, example):
    floor_m = floor_here(rule, example)
    if example.expected_floor_amsl_m is not None:
        if math.isinf(example.expected_floor_amsl_m):
            assert floor_m == example.expected_floor_amsl_m
        else:
            assert floor_m == pytest.approx(example.expected_floor_amsl_m, abs=MILLIMETRE_M)
    if example.is_allowed is not None:
        assert (example.altitude_amsl_m >= floor_m - MILLIMETRE_M) is example.is_allowed


def test_there_are_examples_for_every_kind_of_surface():
    assert {parameter.values[0].kind for parameter in all_examples()} == SURFACE_KINDS
