"""Arrival at key positions: from a project's fields to landings, flown over what stands there."""

import math

import numpy as np
import pytest
from attrs import evolve

from areaplan.engine.glide import sector_surfaces
from areaplan.engine.moves import move_losses
from areaplan.engine.wind import wind_vectors
from areaplan.planning.field_measure import to_spare_in_wind
from areaplan.planning.glide import glide_scene, landings_in_wind, own_winds, turn_model
from areaplan.planning.landings import FINALS_M, THRESHOLD_M, find_landings, least_arrivals
from areaplan.planning.project_file import read_project
from areaplan.planning.reading import read_layers
from areaplan.units import FOOT_M
from tests.oracles.approach_flyer import ApproachFlyer, ahead
from tests.planning.builder import GROUND_FT, Country, box

ROUND_M = 0.1


def scene_of(path):
    project = read_project(path)
    layers, ground = read_layers(project, lambda _: None)
    return glide_scene(project, layers, ground)


def rough_country(folder, seed, wind, aloft=""):
    """Rolling ground, four fields and buildings in between."""
    rng = np.random.default_rng(seed)
    waves = [(rng.uniform(0.0, math.tau), rng.uniform(2500.0, 6000.0)) for _ in range(5)]

    def heights_m(x_m, y_m):
        high = GROUND_FT * FOOT_M + 0.0 * x_m
        for angle, length in waves:
            phase = (math.cos(angle) * x_m + math.sin(angle) * y_m) * math.tau / length
            high = high + 0.0012 * length * np.sin(phase)
        return high

    country = Country(folder).terrain(heights_m)
    places = [(-1500, 900), (1200, 1300), (-900, -1400), (1300, -900)]
    fields = [
        (box(x, y, x + rng.uniform(350, 900), y + rng.uniform(350, 700)), {"name": f"Field {i}"})
        for i, (x, y) in enumerate(places)
    ]
    country.features("fields", fields)
    houses = [
        (
            box(x, y, x + 15, y + 15),
            {"name": f"House {i}", "height_ft": float(rng.uniform(30, 150))},
        )
        for i, (x, y) in enumerate(rng.uniform(-3000, 3000, (25, 2)))
    ]
    country.features("structures", houses, default_height="40 ft")
    country.none("obstacles", "airspace", "congested", "assemblies")
    return country.more(f'[fields]\narrival = "key"\n{aloft}').project(wind=wind)


def touchdowns(scene, field, landing_deg, winds):
    """Places on the strip from which the whole landing distance still lies ahead."""
    strips, direction = field.strips, landing_deg // 10
    spare_m = to_spare_in_wind(field, scene.project, winds.winds[0])[direction]
    assert spare_m >= 0.0
    first = strips.touchdown_m[direction] + strips.lost_before_m[direction] * ahead(landing_deg)
    assert spare_m == pytest.approx(strips.usable_m[direction] - field.needed_m[direction])
    return [
        first + on_m * ahead(landing_deg)
        for count in range(1, 6)
        for on_m in np.linspace(0.0, spare_m, count)
    ]


def is_above(scene, places, altitudes, margin_m=0.0):
    """Whether known ground and all that stands on it lies below, by the cells below."""
    grid = scene.ground.grid
    for (x_m, y_m), altitude in zip(places, altitudes, strict=True):
        row, col = grid.cell_of(float(x_m), float(y_m))
        if not scene.surface_amsl_m[row, col] - margin_m <= altitude + ROUND_M:
            return False
    return True


def lands(scene, flyer, landing, place, track_deg, altitude, touchdown):
    """Whether some way from a place, altitude and track leads to a touchdown, clear of all."""
    landing_deg, side = landing
    row, col = scene.ground.grid.cell_of(*touchdown)
    floor_m = scene.ground.highest_amsl_m[row, col]
    for final_m in FINALS_M:
        for way in flyer.ways(place - touchdown, track_deg, landing_deg, side, final_m):
            if altitude - way.loss < floor_m + THRESHOLD_M - ROUND_M:
                continue
            shares = np.linspace(0.0, 1.0, 60)
            final = touchdown - np.outer(way.final_m * (1.0 - shares), ahead(landing_deg))
            heights = altitude - way.lost[-1] - shares * way.final_loss
            if is_above(scene, touchdown + way.places, altitude - way.lost) and is_above(
                scene, final, heights, scene.project.margins.glide_clearance_m
            ):
                return True
    return False


def assert_lands(scene, found, winds, number, rng, wind):
    """From some point of a goal's cell, on some track of its sector, in a wind (m/s, degrees)."""
    goals, grid, model = found.goals, scene.ground.grid, turn_model(scene, winds)
    flyer = ApproachFlyer(
        tas=rng.uniform(*model.tas_mps), ratio=model.glide_ratio, bank_deg=model.bank_deg,
        wind_mps=wind[0], wind_from_deg=wind[1],
    )  # fmt: skip
    x_m = grid.x_min_m + (goals.col[number] + rng.uniform()) * grid.cell_m
    y_m = grid.y_max_m - (goals.row[number] + rng.uniform()) * grid.cell_m
    track_deg = 30.0 * goals.sector[number] + rng.uniform(-33.0, 33.0)
    landing = int(found.landing_deg_true[number]), int(found.side[number])
    field = scene.measured[goals.label[number]]
    assert field.counts
    assert any(
        lands(scene, flyer, landing, np.array([x_m, y_m]), track_deg,
              float(goals.amsl_m[number]), touchdown)
        for touchdown in touchdowns(scene, field, landing[0], winds)
    ), (number, landing, track_deg, wind)  # fmt: skip


@pytest.mark.parametrize(
    ("seed", "wind"), [(1, "calm"), (2, "210/14 kt"), (3, "050/20 kt"), (4, "300/9 kt")]
)
def test_flown_from_every_goal_a_strip_is_reached(tmp_path, seed, wind):
    """From any point of its cell, on any track of its sector, to a strip long enough from there."""
    scene = scene_of(rough_country(tmp_path, seed, wind))
    winds = own_winds(scene)
    found = landings_in_wind(scene, winds)
    assert found.goals.row.size > 300
    model = turn_model(scene, winds)
    rng = np.random.default_rng(seed)
    for number in rng.integers(found.goals.row.size, size=40):
        blowing = model.wind_speed_mps, model.wind_from_deg_true
        assert_lands(scene, found, winds, number, rng, blowing)


@pytest.mark.parametrize(
    ("seed", "aloft"), [(7, [("2500 ft", "230/18 kt")]), (8, [("2000 ft", "250/12 kt"),
                                                             ("3500 ft", "280/22 kt")])]
)  # fmt: skip
def test_with_winds_aloft_a_strip_is_reached_in_each_wind_of_the_profile(tmp_path, seed, aloft):
    """The keys hold in the wind at the ground, in each row's, and in every mixture between."""
    rows = "".join(
        f'\n[[wind_aloft]]\nheight = "{height} AMSL"\nvalue = "{value}"\nsource = "invented"\n'
        for height, value in aloft
    )
    scene = scene_of(rough_country(tmp_path, seed, "210/8 kt", rows))
    winds = own_winds(scene)
    assert len(winds.winds) == 1 + len(aloft)
    found = landings_in_wind(scene, winds)
    assert found.goals.row.size > 100
    vectors = wind_vectors(winds.speed_mps, winds.from_deg_true)
    rng = np.random.default_rng(seed)
    for number in rng.integers(found.goals.row.size, size=40):
        layer, share = rng.integers(len(aloft)), rng.choice([0.0, 1.0, rng.uniform()])
        east, north = (1.0 - share) * vectors[layer] + share * vectors[layer + 1]
        # Vectors are where the wind blows to; a wind is named by where it blows from.
        blowing = math.hypot(east, north), math.degrees(math.atan2(-east, -north)) % 360.0
        assert_lands(scene, found, winds, number, rng, blowing)


def test_no_key_lies_below_the_arrival_height(tmp_path):
    scene = scene_of(rough_country(tmp_path, 5, "210/14 kt"))
    goals = landings_in_wind(scene, own_winds(scene)).goals
    least = least_arrivals(scene.measured, scene.field_of, scene.arrival_amsl_m)
    assert np.all(goals.amsl_m >= least[goals.label])


def test_another_direction_never_asks_for_more(tmp_path):
    """The fields with half of their directions, and with all."""
    scene = scene_of(rough_country(tmp_path, 6, "210/14 kt"))
    winds = own_winds(scene)
    fewer = tuple(
        evolve(row, is_enough=tuple(is_it and i % 4 < 2 for i, is_it in enumerate(row.is_enough)))
        for row in scene.measured
    )
    least = least_arrivals(scene.measured, scene.field_of, scene.arrival_amsl_m)
    nowhere = np.full(scene.ground.grid.shape, np.inf, np.float32)
    asked = []
    for measured in (scene.measured, fewer):
        goals = find_landings(
            measured, least, scene.surface_amsl_m, scene.ground, scene.project,
            turn_model(scene, winds), winds.winds[0],
        ).goals  # fmt: skip
        model = turn_model(scene, winds)
        losses = move_losses(
            model.tas_mps, model.glide_ratio, model.wind_speed_mps, model.wind_from_deg_true
        )
        cell_m = scene.ground.grid.cell_m
        found = sector_surfaces(scene.surface_amsl_m, nowhere, cell_m, losses, goals=goals)
        asked.append(found.required_amsl_m)
    assert np.all((asked[0] <= asked[1]) | np.isnan(asked[0]))
    assert np.any(asked[0] < asked[1])
