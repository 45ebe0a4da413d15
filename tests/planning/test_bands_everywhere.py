"""Every altitude everywhere: the whole evaluation against a plain test of points in volumes.

The twin shares nothing with the tool but the published volumes: its own projection (transverse
Mercator), shapely's distances to polygons, PROJ's geodesic to the centre of a circle, the formula
of the ground, and the atmosphere's own equation for flight levels at an altimeter setting drawn
for each point. No point may be open in the tool and closed in the twin.
"""

import numpy as np
import pyproj
import pytest
import shapely

from areaplan.planning.evaluation import evaluate
from areaplan.planning.plan import NO_BAND_FT
from areaplan.planning.project_file import read_project
from tests.planning.builder import FRAME, Country, box, lonlat
from tests.sources.aixm_writing import (
    airspace,
    circle,
    classes,
    component,
    curve,
    limits,
    message,
    ring,
    surface,
)  # fmt: skip

FT = 0.3048
POINTS = 160_000
LATERAL_M, VERTICAL_FT = 100.0, 100.0  # margins of the builder's project
QNH_HPA = (980.0, 1040.0)  # the project's defaults
# The twin's projection and the tool's agree to a few parts in a million over 6 km, and its ground
# to what bilinear interpolation of a plane between posts loses.
PLACE_NOISE_M, HEIGHT_NOISE_FT = 0.1, 0.5

# Standard atmosphere (ICAO Doc 7488): 288.15 K, 6.5 K a kilometre, 1013.25 hPa, g / (R L).
T0_K, LAPSE_K_M, P0_HPA, POWER = 288.15, 0.0065, 1013.25, 9.80665 / (287.05287 * 0.0065)

CIRCLE_NM, CIRCLE_AT = 1.0, (-3000.0, 3200.0)
# name, box in metres, lower, upper, attributes. Written once for the tool as text; the twin reads
# its own numbers: (reference, feet).
VOLUMES = [
    ("Surface area", (-900, -900, 1200, 1000), ("SFC", 0), ("AMSL", 2600), {"class": "D"}),
    ("Shelf", (-2600, -2600, 2600, 2600), ("AMSL", 3200), ("AMSL", 4500), {"class": "C"}),
    ("Upper shelf", (0, -4500, 4800, 4800), ("AMSL", 4500), ("FL", 75), {"class": "C"}),
    ("Danger", (1500, -800, 2600, 700), ("SFC", 0), ("AMSL", 3000), {"type": "R"}),
    ("Vague danger", (-4300, -4300, -3300, -3200), ("SFC", 0), ("UNL", 0),
     {"type": "R", "accuracy": "650 m"}),
    ("On the slope", (2000, 1500, 4400, 4400), ("AGL", 900), ("AGL", 1900), {"type": "R"}),
    ("Levels", (-4800, -1500, -1800, 1500), ("FL", 45), ("FL", 60), {"type": "R"}),
    ("Open E", (-4800, -4800, 4800, 4800), ("AGL", 700), ("AMSL", 18000), {"class": "E"}),
]  # fmt: skip
ACCURACIES_M = {"Vague danger": 650.0}


def ground_m(x_m, y_m):
    return 300.0 + 0.05 * x_m - 0.02 * y_m


def text(limit):
    reference, feet = limit
    if reference in ("SFC", "UNL"):
        return reference
    return f"FL {feet}" if reference == "FL" else f"{feet} ft {reference}"


@pytest.fixture(scope="module")
def plan(tmp_path_factory):
    folder = tmp_path_factory.mktemp("country")
    country = Country(folder).terrain(ground_m)
    country.features("fields", [(box(-9000, -9000, 9000, 9000), {"name": "The plain"})])
    country.none("obstacles", "structures", "congested", "assemblies")
    rows = [
        (box(*at), {"name": name, "lower": text(lower), "upper": text(upper), **more})
        for name, at, lower, upper, more in VOLUMES
    ]
    country.features("airspace", rows)
    centre = tuple(lonlat(*CIRCLE_AT)[::-1])
    tower = airspace(
        classes("D"),
        component(
            limits(("GND", "FT", ""), ("600", "M", "MSL"))
            + surface(ring(curve(circle(centre, CIRCLE_NM, "NM"))))
        ),
        type_code="",
    )
    (folder / "tower.xml").write_text(message(tower), encoding="utf-8")
    country.more(
        '[[source]]\nkind = "airspace"\nfiles = ["tower.xml"]\nedition = "test"\ncovers = "all"\n'
    )
    return evaluate(read_project(country.project(cell="40 m")))


def sample(rng):
    """Places and whole feet, half of them crowded round edges and limits."""
    x_m, y_m = rng.uniform(-5000, 5000, (2, POINTS))
    edges = np.array([at for _, at, *_ in VOLUMES], dtype=float)
    which = rng.integers(0, len(edges), POINTS)
    near = rng.random(POINTS)
    x_m = np.where(near < 0.25, rng.choice(edges[:, [0, 2]].ravel(), POINTS), x_m)
    y_m = np.where(near > 0.75, edges[which, 1 + 2 * rng.integers(0, 2, POINTS)], y_m)
    x_m, y_m = x_m + rng.normal(0, 150, POINTS), y_m + rng.normal(0, 150, POINTS)
    x_m, y_m = np.clip(x_m, -5400, 5400), np.clip(y_m, -5400, 5400)
    feet = rng.integers(900, 9500, POINTS)
    limits_ft = [2600, 3200, 4500, 3000, 1969, 4500 - 920, 6000 + 720, 7500 + 720]
    crowded = rng.choice(limits_ft, POINTS) + rng.integers(-220, 221, POINTS)
    above = (ground_m(x_m, y_m) / FT + rng.choice([500, 900, 1900], POINTS)).astype(int)
    above += rng.integers(-220, 221, POINTS)
    pick = rng.random(POINTS)
    return x_m, y_m, np.where(pick < 0.4, feet, np.where(pick < 0.7, crowded, above))


def limit_ft(limit, ground_ft, setting_hpa):
    """Altitude of a limit on the day's altimeter setting, feet AMSL."""
    reference, value = limit
    if reference == "AMSL":
        return np.full(ground_ft.shape, float(value))
    if reference == "AGL":
        return ground_ft + value
    if reference == "FL":
        # An altimeter on the setting reads zero where the pressure is the setting; one on 1013.25
        # reads the pressure altitude. Both follow the same equation, so they differ by a constant.
        at_setting_m = T0_K / LAPSE_K_M * (1.0 - (setting_hpa / P0_HPA) ** (1.0 / POWER))
        return 100.0 * value - at_setting_m / FT
    return np.full(ground_ft.shape, -np.inf if reference == "SFC" else np.inf)


def closed_by_twin(rng, x_m, y_m, lon, lat, feet):
    """Whether each point is too low, or within the margins of a volume that is not open."""
    own = pyproj.Transformer.from_crs(
        "EPSG:4326", "+proj=tmerc +lat_0=10 +lon_0=20 +k=1 +datum=WGS84 +units=m", always_xy=True
    )
    places = shapely.points(*own.transform(lon, lat))
    ground_ft = ground_m(x_m, y_m) / FT
    setting_hpa = rng.uniform(*QNH_HPA, POINTS)
    closed = {"ground": feet < ground_ft + 500.0 - HEIGHT_NOISE_FT}  # 14 CFR 91.119(c)
    inside = {}
    for name, at, lower, upper, more in VOLUMES:
        if more.get("class") == "E":
            continue  # open to visual flight
        corners = np.array(box(*at)["coordinates"][0])
        polygon = shapely.Polygon(np.column_stack(own.transform(*corners.T)))
        reach_m = max(LATERAL_M, ACCURACIES_M.get(name, 0.0)) - PLACE_NOISE_M
        inside[name] = (shapely.distance(polygon, places) <= reach_m, lower, upper)
    centre = np.array(lonlat(*CIRCLE_AT))
    ones = np.ones(POINTS)
    away_m = pyproj.Geod(ellps="WGS84").inv(centre[0] * ones, centre[1] * ones, lon, lat)[2]
    reach_m = CIRCLE_NM * 1852.0 + LATERAL_M - PLACE_NOISE_M
    inside["Tower"] = (away_m <= reach_m, ("SFC", 0), ("AMSL", 600.0 / FT))
    for name, (is_within, lower, upper) in inside.items():
        low = limit_ft(lower, ground_ft, setting_hpa) - VERTICAL_FT + HEIGHT_NOISE_FT
        high = limit_ft(upper, ground_ft, setting_hpa) + VERTICAL_FT - HEIGHT_NOISE_FT
        closed[name] = is_within & (feet > low) & (feet < high)
    return closed


def open_in_tool(plan, lon, lat, feet):
    x_m, y_m = (np.asarray(axis) for axis in plan.frame.to_local(lon, lat))
    grid = plan.grid
    col = np.floor((x_m - grid.x_min_m) / grid.cell_m).astype(int)
    row = np.floor((grid.y_max_m - y_m) / grid.cell_m).astype(int)
    assert ((row >= 0) & (row < grid.rows) & (col >= 0) & (col < grid.cols)).all()
    assert not plan.cells.is_legal_unknown[row, col].any()
    floor, ceiling = (
        plan.cells.bands_amsl_ft[:, 0, row, col],
        plan.cells.bands_amsl_ft[:, 1, row, col],
    )
    is_band = floor != NO_BAND_FT
    return (is_band & (floor <= feet) & (feet <= ceiling)).any(axis=0), is_band.sum(axis=0)


@pytest.mark.parametrize("seed", [1, 2026])
def test_no_point_is_wrongly_open(plan, seed):
    rng = np.random.default_rng(seed)
    x_m, y_m, feet = sample(rng)
    lon, lat = (np.asarray(axis) for axis in FRAME.to_lonlat(x_m, y_m))
    is_open, bands = open_in_tool(plan, lon, lat, feet)
    closed = closed_by_twin(rng, x_m, y_m, lon, lat, feet)
    for name, by in closed.items():
        wrong = np.flatnonzero(is_open & by)
        assert wrong.size == 0, (name, x_m[wrong[:3]], y_m[wrong[:3]], feet[wrong[:3]])
        assert by.sum() > 400, f"{name} was hardly met"
    is_free = ~np.logical_or.reduce(list(closed.values()))
    assert is_free.sum() > 30_000
    # Not by closing everything: what a cell, the highest ground in it and the range of altimeter
    # settings take from the open points is a small share.
    assert (is_open & is_free).sum() > 0.8 * is_free.sum()
    assert bands.max() >= 3


def bands_at(plan, x_m, y_m):
    row, col = plan.grid.cell_of(*plan.frame.to_local(*lonlat(x_m, y_m)))
    found = plan.cells.bands_amsl_ft[:, :, row, col]
    return [tuple(int(edge) for edge in band) for band in found if band[0] != NO_BAND_FT]


def test_over_a_surface_area_and_under_a_shelf_lies_a_band(plan):
    """2,600 ft and 100 ft up, 3,200 ft less 100 ft: open between, closed above to FL 75."""
    first, *above = bands_at(plan, 100, -500)
    assert first == (2700, 3100)
    assert len(above) == 1
    assert above[0][0] > 7500 + 100


def test_under_the_shelf_beside_the_danger_area_the_ground_sets_the_floor(plan):
    outside, inside = bands_at(plan, 1500 - 170, -700), bands_at(plan, 1500 - 50, -700)
    assert outside[0][1] == inside[0][1] == 3100
    assert inside[0][0] == 3100
    assert 1500 < outside[0][0] < 2800


def test_beside_everything_only_the_ground_counts(plan):
    (band,) = bands_at(plan, -1000, -4700)
    assert band[0] == pytest.approx(ground_m(-1000, -4700) / FT + 500, abs=12)
    assert band[1] > 32_000
