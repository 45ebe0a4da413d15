"""The sample data: made again they are the same, and they are what their README says."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
import rasterio
import shapely
from geographiclib.geodesic import Geodesic

from areaplan.planning.project import Project
from areaplan.planning.project_file import read_project
from tests.planning.scenario_files import (
    FOOT_M,
    HOSTILE,
    NAUTICAL_MILE_M,
    SAMPLES,
    SCENARIO,
    STARTER,
    decoded,
    degrees,
    features_of,
    records,
    table,
)

BY_HAND = {"scenario": {"project.toml", "policy.toml"}, "starter": {"project.toml"}}
MAX_BYTES = 3_000_000
# A record of the file as published, edition 06/27/26 (facts.md 4.1).
PUBLISHED = (
    "01-001307 O US AL DAUPHIN ISLAND   30 10 45.00N 088 04 39.00W RIG                1 00236 "
    "00236 R 5 D M 1990ASO01578OE C 2014138 "
)


@pytest.fixture(scope="module")
def project() -> Project:
    return read_project(SCENARIO / "project.toml")


@pytest.fixture(scope="module")
def made_again(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """What the program makes now."""
    folder = tmp_path_factory.mktemp("again")
    script = SAMPLES / "make_scenario.py"
    environment = {**os.environ, "PYTHONPATH": str(SAMPLES.parent)}
    subprocess.run(
        [sys.executable, str(script), str(folder)], check=True, env=environment, timeout=120
    )
    return folder


@pytest.mark.parametrize("name", ["scenario", "starter"])
def test_made_again_it_is_the_same(made_again: Path, name: str) -> None:
    kept, made = SAMPLES / name, made_again / name
    names = {path.name for path in made.iterdir()}
    assert {path.name for path in kept.iterdir()} == names | BY_HAND[name]
    assert len(names) >= 9
    rasters = {file for file in names if file.endswith(".tif")}
    assert "terrain.tif" in rasters
    for file in sorted(names - rasters):
        assert (kept / file).read_bytes() == (made / file).read_bytes(), file
    for file in sorted(rasters):
        with rasterio.open(kept / file) as old, rasterio.open(made / file) as new:
            assert old.profile == new.profile
            np.testing.assert_array_equal(old.read(1), new.read(1))


def test_everything_together_stays_small() -> None:
    sizes = [path.stat().st_size for path in SAMPLES.rglob("*") if path.is_file()]
    assert 100_000 < sum(sizes) < MAX_BYTES


def test_only_one_name_carries_markup() -> None:
    texts = list(all_texts())
    assert len(texts) > 1000
    marked = {text for text in texts if re.search(r"[<>&\"'`]", text)}
    assert {re.sub(r" (house|barn \d|silo)$", "", text) for text in marked} == {HOSTILE}
    assert all(text.isprintable() and text.isascii() for text in texts)


def all_texts() -> Iterator[str]:
    for path in SAMPLES.rglob("*.geojson"):
        for feature in features_of(path):
            yield from (value for value in feature["properties"].values() if value is not None
                        and isinstance(value, str))  # fmt: skip


def test_geojson_keeps_to_the_standard() -> None:
    """RFC 7946: longitude first (3.1.1), closed rings, outer ones counter-clockwise (3.1.6)."""
    for path in SAMPLES.rglob("*.geojson"):
        for feature in features_of(path):
            shape = shapely.from_geojson(json.dumps(feature["geometry"]))
            assert shape.is_valid, (path.name, feature["properties"])
            assert shapely.box(-101, 40.5, -99, 42).contains(shape)
            for part in shapely.get_parts(shape):
                if part.geom_type == "Polygon":
                    assert part.exterior.is_ccw, (path.name, feature["properties"])
                    assert not any(hole.is_ccw for hole in part.interiors)


def test_columns_are_those_of_the_published_obstacle_file() -> None:
    record = decoded(PUBLISHED)
    assert (record["city"].strip(), record["type"].strip()) == ("DAUPHIN ISLAND", "RIG")
    assert (record["agl"], record["horizontal"], record["vertical"]) == ("00236", "5", "D")


@pytest.mark.parametrize("folder", [SCENARIO, STARTER])
def test_obstacles_stand_on_the_ground_of_the_elevation_data(folder: Path) -> None:
    found = records(folder / "obstacles.dat")
    places = [(degrees(row["lon"]), degrees(row["lat"])) for row in found]
    with rasterio.open(folder / "terrain.tif") as file:
        ground_ft = np.array([value[0] for value in file.sample(places)]) / FOOT_M
        posts_m = file.res[1] * 111_000
    below_ft = np.array([int(row["amsl"]) - int(row["agl"]) for row in found])
    # A post is at most half a spacing away, on ground no steeper than 5 %; then a foot of rounding.
    assert (np.abs(ground_ft - below_ft) < posts_m * 0.05 / FOOT_M + 1).all()


def test_the_tall_things_that_the_readme_names() -> None:
    found = records(SCENARIO / "obstacles.dat")
    heights = {int(row["agl"]) for row in found}
    kinds = [row["type"].strip() for row in found]
    assert max(heights) == 1100
    assert kinds.count("WINDMILL") == 9
    assert (
        sum(200 <= int(row["agl"]) <= 400 for row in found if row["type"].strip() == "TOWER") == 6
    )
    assert {"TANK", "GRAIN ELEVATOR", "T-L TWR", "CATENARY"} <= set(kinds)
    # One record has no accuracy code: readers must take the cautious default.
    assert sum(row["horizontal"] == " " for row in found) == 1


def test_the_ground_is_as_described() -> None:
    with rasterio.open(SCENARIO / "terrain.tif") as file:
        height_ft = file.read(1, masked=True) / FOOT_M
        west, south, east, north = file.bounds
        assert file.crs.to_epsg() == 4326
    assert 880 < height_ft.min() < 950
    assert 1200 < height_ft.max() < 1270
    assert 0 < height_ft.mask.mean() < 0.001
    across = Geodesic.WGS84.Inverse(41.2, west, 41.2, east)["s12"]
    along = Geodesic.WGS84.Inverse(south, -100.0, north, -100.0)["s12"]
    assert 24_500 < across < 27_500
    assert 21_500 < along < 24_000


def test_the_area_is_about_eleven_by_nine_kilometres() -> None:
    (area,) = table("area").geometry
    west, south, east, north = area.bounds
    assert (east - west, north - south) == pytest.approx((11_300, 9_000), rel=0.02)
    assert area.area == pytest.approx(98e6, rel=0.02)


@pytest.mark.parametrize(
    ("file", "name", "lower", "radius_nm"),
    [
        ("airspace_class", "VELMORY CLASS D", 0, 4.1),
        ("airspace_class", "CORVASH CLASS C", 0, 5.0),
        ("airspace_class", "CORVASH CLASS C", 2400, 10.0),
        ("airspace_special_use", "R-0001", "0", 1.1),
    ],
)
def test_circles_are_round_on_the_ellipsoid(
    file: str, name: str, lower: object, radius_nm: float
) -> None:
    (feature,) = [
        row
        for row in features_of(SCENARIO / f"{file}.geojson")
        if row["properties"]["NAME"] == name and row["properties"]["LOWER_VAL"] == lower
    ]
    ring = np.array(feature["geometry"]["coordinates"][0])
    middle = shapely.Polygon(ring).centroid
    radii = [
        Geodesic.WGS84.Inverse(middle.y, middle.x, lat, lon)["s12"] / NAUTICAL_MILE_M
        for lon, lat in ring
    ]
    # The centroid in degrees is not quite the centre of a circle on the ellipsoid.
    assert radii == pytest.approx([radius_nm] * len(ring), rel=2e-3)


def test_airspace_touches_the_area_as_described() -> None:
    (area,) = table("area").geometry
    volumes = table("airspace_class")
    share = volumes.intersection(area).area / area.area
    by_name = dict(zip(zip(volumes["NAME"], volumes["LOWER_VAL"], strict=True), share, strict=True))
    assert by_name["CORVASH CLASS C", 0] == 0.0
    assert 0.02 < by_name["CORVASH CLASS C", 2400] < 0.15
    assert 0.005 < by_name["VELMORY CLASS D", 0] < 0.05
    restricted = table("airspace_special_use").query("TYPE_CODE == 'R'").geometry.iloc[0]
    assert 463.0 < restricted.distance(area) < 5_000.0  # outside the default margin, 0.25 NM


def test_fields_are_fields() -> None:
    fields = table("fields")
    assert 60 <= len(fields) <= 110
    assert fields["name"].is_unique
    assert set(fields["surface"]) == {"pasture", "stubble", "hay meadow"}
    boxes = fields.minimum_rotated_rectangle()
    sides = [np.hypot(*np.diff(shapely.get_coordinates(box), axis=0).T) for box in boxes]
    assert all(250 <= max(side) <= 830 and min(side) >= 100 for side in sides)
    for name, clear_m in [("roads", 25), ("wires", 65), ("woods", 50), ("structures", 100)]:
        nearest = fields.geometry.apply(table(name).distance).min(axis=1)
        assert nearest.min() > clear_m, name


def test_most_but_not_all_of_the_area_has_a_field_near() -> None:
    (area,) = table("area").geometry
    fields = shapely.union_all(table("fields").geometry)
    within_1_km = area.intersection(fields.buffer(1000.0)).area / area.area
    assert 0.8 < within_1_km < 0.99


def test_counts_of_what_people_built() -> None:
    structures = table("structures")
    names = structures["name"]
    farms = {
        re.sub(r" (house|barn \d|silo)$", "", n)
        for n in names
        if " farm" in n.lower() or n.startswith("Farm")
    }
    town = structures[names.str.startswith("Velmory")]
    assert 90 <= len(farms) <= 130
    assert 330 <= len(town) <= 450
    assert names.is_unique
    without_height = structures["height"].isna().mean()
    assert 0.05 < without_height < 0.4  # readers must say that a height was assumed
    congested = table("congested").set_index("name").geometry
    assert town.within(congested["Velmory"]).all()


def test_the_project_names_every_file(project: Project) -> None:
    named = {path for spec in project.sources for path in spec.paths}
    named |= {spec.covers_path for spec in project.sources if spec.covers_path}
    named |= {path for path in project.rule_paths if path} | {project.path}
    assert named == set(SCENARIO.iterdir())


def test_the_scenario_stays_valid_for_years(project: Project) -> None:
    assert project.day.isoformat() == "2026-11-25"
    expiries = {spec.expires for spec in project.sources if spec.expires}
    assert expiries
    assert all(day.year == 2030 for day in expiries)
    assert all(spec.effective is None or spec.effective <= project.day for spec in project.sources)
