"""The example on real hills, against the elevation model read and interpolated by other means.

The model: matplotlib's sample data, SRTM, 3 seconds of arc. The obstacles: rows of the US Digital
Obstacle File (tests/authorities/faa_obstacles.md). scipy interpolates where areaplan uses its own
kernels, and glides are marched along straight lines in small steps where areaplan sweeps a grid.
"""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
import shapely
from click.testing import CliRunner
from matplotlib import cbook
from scipy.interpolate import RegularGridInterpolator

from areaplan.api import CellClass, Plan, Verdict, answer_point, evaluate, read_project
from areaplan.planning.plan import UNKNOWN_FT, UNREACHABLE_FT
from data_samples import real_hills
from tests.planning.scenario_files import decoded, degrees

FOOT_M = 0.3048  # NIST SP 811, appendix B.6
KNOT_MPS = 1852.0 / 3600.0  # BIPM SI brochure, 9th edition, table 8 note
STEP_DEG = 1.0 / 1200.0
# The true box, as a user of the file established it: degrees, outer edges of the pixels.
WEST, SOUTH, EAST, NORTH = -84.41375, 36.15958, -84.07792, 36.44625
SURFACE_FT = 500  # 14 CFR 91.119(c)
CLEARANCE_FT = 100  # the project's default margins
ARRIVAL_FT = 300
GLIDE_RATIO = 9.0 * 0.8
GLIDE_CAS_MPS = 65 * KNOT_MPS
WIND_FROM_DEG, WIND_MPS = 240.0, 10 * KNOT_MPS
ONE_FOOT_M = FOOT_M
MODEL_TOLERANCE_M = 0.05  # cells' edges are straight in metres, posts in degrees
CELL_M = 50.0
MOST_RELIEF_M = 6.0  # of a flat ground, so its inside stands no higher above its corners
STEP_M = 10.0


@pytest.fixture(scope="module")
def heights_m() -> np.ndarray:
    with np.load(cbook.get_sample_data("jacksboro_fault_dem.npz", asfileobj=False)) as data:
        return data["elevation"].astype(float)


def interpolated(heights_m: np.ndarray, north: float) -> RegularGridInterpolator:
    rows, cols = heights_m.shape
    lat = north - (np.arange(rows) + 0.5) * STEP_DEG
    lon = WEST + (np.arange(cols) + 0.5) * STEP_DEG
    return RegularGridInterpolator((lat[::-1], lon), heights_m[::-1], bounds_error=False)


@pytest.fixture(scope="module")
def ground(heights_m: np.ndarray) -> RegularGridInterpolator:
    """Heights in metres at (latitude, longitude); NaN beyond the outer posts."""
    return interpolated(heights_m, NORTH)


@pytest.fixture(scope="module")
def plan(tmp_path_factory: pytest.TempPathFactory) -> Plan:
    folder = tmp_path_factory.mktemp("hills")
    project = real_hills.write_project(folder, real_hills.read_model(), cell=f"{CELL_M:g} m")
    return evaluate(read_project(project))


def feet(array: np.ndarray) -> np.ndarray:
    """Whole feet as floats, unknown as NaN and unreachable as infinity."""
    known = np.where(array == UNREACHABLE_FT, np.inf, array)
    return np.where(array == UNKNOWN_FT, np.nan, known)


def places(plan: Plan, seed: int, count: int) -> tuple[np.ndarray, ...]:
    """Random places on the grid: x, y in metres, row and column of the cell."""
    random = np.random.default_rng(seed)
    x_m = random.uniform(plan.grid.x_min_m, plan.grid.x_max_m, count)
    y_m = random.uniform(plan.grid.y_min_m, plan.grid.y_max_m, count)
    row = np.floor((plan.grid.y_max_m - y_m) / plan.grid.cell_m).astype(int)
    col = np.floor((x_m - plan.grid.x_min_m) / plan.grid.cell_m).astype(int)
    return x_m, y_m, row, col


def ground_at(plan: Plan, ground: RegularGridInterpolator, x_m, y_m) -> np.ndarray:
    lon, lat = plan.frame.to_lonlat(x_m, y_m)
    return ground((lat, lon))


def test_runs_from_the_command_line(tmp_path: Path) -> None:
    result = CliRunner().invoke(real_hills.main, ["--out", str(tmp_path / "out")])
    assert result.exit_code == 0, result.output
    made = {path.name for path in (tmp_path / "out").iterdir()}
    assert made == {"terrain.tif", "area.geojson", "fields.geojson", "project.toml", "map.html"}
    assert "Verdict: " in result.output
    assert "13 obstacles over it" in result.output
    assert "3 obstacles over it" in result.output
    page = (tmp_path / "out" / "map.html").read_text(encoding="utf-8")
    # Places that the obstacle rows name; one of them is also in the name of the model's file.
    rows = real_hills.OBSTACLES.read_text(encoding="ascii").splitlines()[4:]
    cities = {decoded(row)["city"].strip() for row in rows} - {"JACKSBORO"}
    assert len(cities) > 5
    spoken = [result.output, page, (tmp_path / "out" / "project.toml").read_text(encoding="utf-8")]
    for text in spoken:
        assert "EXAMPLE" in text
        assert "CONFIRMED BY NOBODY" in text
        assert not [city for city in cities if city in text.upper()]


def test_bad_obstacle_file_is_refused_with_its_name(tmp_path: Path) -> None:
    bad = tmp_path / "bad.dat"
    bad.write_text("no obstacle file at all\n", encoding="ascii")
    result = CliRunner().invoke(
        real_hills.main, ["--out", str(tmp_path / "out"), "--obstacles", str(bad)]
    )
    assert result.exit_code == 1
    assert "bad.dat" in result.output
    assert not (tmp_path / "out" / "map.html").exists()


def test_the_labels_of_the_file_are_a_slip_of_sign() -> None:
    with np.load(cbook.get_sample_data("jacksboro_fault_dem.npz", asfileobj=False)) as data:
        height_deg = data["elevation"].shape[0] * STEP_DEG
        assert float(data["ymin"]) == pytest.approx(float(data["ymax"]) + height_deg, abs=1e-5)
        assert float(data["ymax"]) - height_deg == pytest.approx(SOUTH, abs=1e-5)


def test_ground_under_obstacles_agrees_with_the_true_box(plan: Plan, heights_m: np.ndarray) -> None:
    """Rows decoded and heights interpolated here, not by areaplan."""
    lines = real_hills.OBSTACLES.read_text(encoding="ascii").splitlines()[4:]
    rows = [decoded(line) for line in lines]
    where = np.array([(degrees(row["lat"]), degrees(row["lon"])) for row in rows])
    below_m = np.array([int(row["amsl"]) - int(row["agl"]) for row in rows]) * FOOT_M
    own_labels_north = 36.73291667
    for agreement, north in zip(
        real_hills.georeference(plan, real_hills.read_model()),
        (NORTH, own_labels_north),
        strict=True,
    ):
        apart_m = interpolated(heights_m, north)(where) - below_m
        apart_m = apart_m[~np.isnan(apart_m)]
        assert agreement.rows == apart_m.size
        assert agreement.mean_m == pytest.approx(apart_m.mean(), abs=1e-3)
        assert agreement.deviation_m == pytest.approx(apart_m.std(ddof=1), abs=1e-3)
    true, labelled = real_hills.georeference(plan, real_hills.read_model())
    assert true.rows >= 10
    assert abs(true.mean_m) < 2.0
    assert true.deviation_m < 15.0
    assert labelled.rows >= 3
    assert abs(labelled.mean_m) > 10.0
    assert labelled.deviation_m > 100.0


def test_flat_ground_keeps_its_rule(heights_m: np.ndarray) -> None:
    """Length, relief and dryness measured again, posts picked out by their coordinates."""
    blocks = real_hills.flat_ground(real_hills.read_model().heights_amsl_m)
    assert len(blocks) > 10
    rows, cols = heights_m.shape
    lat, lon = NORTH - (np.arange(rows) + 0.5) * STEP_DEG, WEST + (np.arange(cols) + 0.5) * STEP_DEG
    down_m = 110_970.0  # a degree of latitude at 36 N (WGS 84 series), metres
    for block in blocks:
        west, south, east, north = block.box().buffer(1e-7).bounds
        inside = heights_m[np.ix_((lat > south) & (lat < north), (lon > west) & (lon < east))]
        assert 0 < np.ptp(inside) <= 6
        # SRTM's edited water bodies are level: here 305 m and 311 m, seen as patches in the model.
        assert not np.isin(inside, [305, 311]).any()
        sides = ((north - south) * down_m, (east - west) * down_m * np.cos(np.radians(north)))
        assert max(sides) >= 399
        assert min(sides) >= 179
    boxes = [block.box() for block in blocks]
    overlaps = shapely.STRtree(boxes).query(boxes, predicate="overlaps")
    assert overlaps.size == 0


def test_legal_floor_is_the_highest_ground_and_500_ft(
    plan: Plan, ground: RegularGridInterpolator
) -> None:
    x_m, y_m, row, col = places(plan, seed=1, count=20_000)
    floor_ft = feet(plan.cells.legal_floor_amsl_ft)[row, col]
    here_ft = ground_at(plan, ground, x_m, y_m) / FOOT_M
    assert np.isfinite(floor_ft).all()
    assert (floor_ft >= here_ft + SURFACE_FT - MODEL_TOLERANCE_M / FOOT_M).all()
    # No higher than the highest ground of the cell, found on a fine lattice of its own.
    steps = np.linspace(0.0, plan.grid.cell_m, 26)
    some = slice(0, 2000)
    x_west = plan.grid.x_min_m + col[some] * plan.grid.cell_m
    y_south = plan.grid.y_max_m - (row[some] + 1) * plan.grid.cell_m
    lattice_x, lattice_y = np.meshgrid(steps, steps)
    top_m = ground_at(
        plan,
        ground,
        x_west[:, None] + lattice_x.ravel(),
        y_south[:, None] + lattice_y.ravel(),
    ).max(axis=1)
    above_top_ft = floor_ft[some] - SURFACE_FT - top_m / FOOT_M
    # Between lattice points 2 m apart the steepest ground here, 45 degrees, rises by a metre.
    assert above_top_ft.min() >= -MODEL_TOLERANCE_M / FOOT_M
    assert above_top_ft.max() <= (ONE_FOOT_M + 1.0) / FOOT_M


def test_glide_is_never_below_ground_and_clearance(
    plan: Plan, ground: RegularGridInterpolator
) -> None:
    x_m, y_m, row, col = places(plan, seed=2, count=50_000)
    least_ft = ground_at(plan, ground, x_m, y_m) / FOOT_M + CLEARANCE_FT
    for required in (plan.cells.glide_required_amsl_ft, *plan.cells.sector_amsl_ft):
        required_ft = feet(required)[row, col]
        known = ~np.isnan(required_ft)
        assert known.mean() > 0.8  # near the grid's edge no turn is known to stay clear
        assert (required_ft[known] >= least_ft[known] - MODEL_TOLERANCE_M / FOOT_M).all()


def true_airspeeds_mps() -> np.ndarray:
    """From the lowest ground to 3,000 ft above the highest planned altitude.

    Density of the ICAO Standard Atmosphere in the troposphere (ICAO Doc 7488).
    """
    density_ratio = (1.0 - 2.25577e-5 * np.array([236.0, 7000 * FOOT_M])) ** 4.25588
    return np.linspace(*(GLIDE_CAS_MPS / np.sqrt(density_ratio)), 5)


def losses_per_metre(bearing_deg: np.ndarray) -> np.ndarray:
    """Height lost per metre over the ground on a track, one row for each airspeed.

    The wind triangle: groundspeed is the headwind taken from the square root of what airspeed
    leaves beside the crosswind.
    """
    tas = true_airspeeds_mps().reshape((-1,) + (1,) * np.ndim(bearing_deg))
    off = np.radians(bearing_deg - WIND_FROM_DEG)
    groundspeed = np.sqrt(tas**2 - (WIND_MPS * np.sin(off)) ** 2) - WIND_MPS * np.cos(off)
    return tas / GLIDE_RATIO / groundspeed


def counted_fields(plan: Plan) -> list[shapely.Polygon]:
    """Fields on the grid that a glide may lead to, in local metres."""
    grid = plan.grid
    on_grid = shapely.box(grid.x_min_m, grid.y_min_m, grid.x_max_m, grid.y_max_m)
    counting = [one.field for one in plan.measured if one.counts]
    local = [plan.frame.geometry_to_local(field.geometry) for field in counting]
    return [polygon for polygon in local if on_grid.intersects(polygon)]


def test_no_glide_is_better_than_a_straight_line_over_nothing(
    plan: Plan, ground: RegularGridInterpolator
) -> None:
    """In a steady wind no path loses less than the straight one, whatever is in its way."""
    edges = [
        shapely.get_coordinates(shapely.segmentize(field, STEP_M)) for field in counted_fields(plan)
    ]
    assert len(edges) > 5
    arrival_m = np.concatenate(
        [
            np.full(len(edge), ground_at(plan, ground, *edge.T).min() + ARRIVAL_FT * FOOT_M)
            for edge in edges
        ]
    )
    ends = np.concatenate(edges)
    x_m, y_m, row, col = places(plan, seed=3, count=2000)
    is_outside = ~shapely.contains_xy(shapely.union_all(counted_fields(plan)), x_m, y_m)
    lowest_ft = np.nanmin(feet(plan.cells.sector_amsl_ft)[:, row, col], axis=0)
    required_ft = feet(plan.cells.glide_required_amsl_ft)[row, col]
    assert is_outside.sum() > 1500
    for index in np.flatnonzero(is_outside & np.isfinite(lowest_ft)):
        east, north = ends[:, 0] - x_m[index], ends[:, 1] - y_m[index]
        loss = losses_per_metre(np.degrees(np.arctan2(east, north))).min(axis=0)
        bound_m = (arrival_m + loss * np.hypot(east, north)).min()
        slack_m = loss.max() * STEP_M  # between the points along a field's edge
        assert lowest_ft[index] * FOOT_M >= bound_m - slack_m
        if not np.isnan(required_ft[index]):
            assert required_ft[index] >= lowest_ft[index]


def test_a_clear_straight_glide_is_found(plan: Plan, ground: RegularGridInterpolator) -> None:
    """A march along the straight line to the middle of the nearest flat ground.

    Where the march needs an altitude, areaplan needs little more: its moves lengthen the way by at
    most 1.6 % (engine/moves.py), and it knows the place no better than half a cell's diagonal. It
    may need much less, where another field is better or the line is blocked.
    """
    fields = counted_fields(plan)
    targets = np.array([(field.centroid.x, field.centroid.y) for field in fields])
    x_m, y_m, row, col = places(plan, seed=4, count=400)
    lowest_ft = np.nanmin(feet(plan.cells.sector_amsl_ft)[:, row, col], axis=0)
    excess_m = []
    for x, y, ours_ft in zip(x_m, y_m, lowest_ft, strict=True):
        nearest = int(np.hypot(*(targets - (x, y)).T).argmin())
        edge = shapely.get_coordinates(fields[nearest])
        top_m = ground_at(plan, ground, *edge.T).max() + MOST_RELIEF_M
        marched_m, lost_m = march(plan, ground, (x, y), targets[nearest], top_m)
        excess_m.append(ours_ft * FOOT_M - marched_m - 0.016 * lost_m)
    half_cell_m = losses_per_metre(np.arange(360.0)).max() * CELL_M * np.sqrt(0.5)
    assert np.isfinite(excess_m).sum() > 350
    assert np.nanmax(excess_m) <= half_cell_m + ONE_FOOT_M
    # Most lines here are clear of hills: then the two agree to the difference between the field's
    # middle and its near end.
    assert np.nanmedian(excess_m) > -losses_per_metre(np.arange(360.0)).max() * 250.0


def march(plan, ground, start, end, top_m) -> tuple[float, float]:
    """Altitude needed for a straight glide, and the height it loses, metres.

    At the worst airspeed, over the highest ground within two cells to each side.
    """
    east, north = end[0] - start[0], end[1] - start[1]
    length_m = float(np.hypot(east, north))
    loss = float(losses_per_metre(np.degrees(np.arctan2(east, north))).max())
    along = np.arange(0.0, length_m, STEP_M)
    aside = np.arange(-2 * CELL_M, 2 * CELL_M + 1, STEP_M)[:, None]
    across = np.array([-north, east]) / length_m
    x_m = start[0] + east / length_m * along + aside * across[0]
    y_m = start[1] + north / length_m * along + aside * across[1]
    highest_m = ground_at(plan, ground, x_m, y_m).max(axis=0)
    clear_m = (highest_m + CLEARANCE_FT * FOOT_M + loss * along).max()
    return max(clear_m, top_m + ARRIVAL_FT * FOOT_M + loss * length_m), loss * length_m


def test_outside_the_model_nothing_is_known(tmp_path: Path) -> None:
    """The area moved until its western part leaves the box."""
    path = real_hills.write_project(tmp_path, real_hills.read_model(), cell="100 m")
    moved = shapely.box(WEST - 0.03, 36.31, WEST + 0.05, 36.37)
    feature = {"type": "Feature", "properties": {}, "geometry": shapely.geometry.mapping(moved)}
    (tmp_path / "area.geojson").write_text(
        json.dumps({"type": "FeatureCollection", "features": [feature]}), encoding="utf-8"
    )
    plan = evaluate(read_project(path))
    assert plan.verdict is Verdict.UNKNOWN
    x_m, y_m = np.meshgrid(plan.grid.centre_x_m(), plan.grid.centre_y_m())
    lon, lat = plan.frame.to_lonlat(x_m, y_m)
    is_outside = (lon < WEST) | (lon > EAST) | (lat < SOUTH) | (lat > NORTH)
    assert 0.2 < is_outside.mean() < 0.8
    cells = plan.cells
    for array in (
        cells.terrain_amsl_ft,
        cells.legal_floor_amsl_ft,
        cells.glide_required_amsl_ft,
        *cells.sector_amsl_ft,
    ):
        assert (array[is_outside] == UNKNOWN_FT).all()
    for altitude_ft in (0, 3000, 4000, 30_000):
        assert (cells.classes(altitude_ft)[is_outside] == CellClass.UNKNOWN).all()
        assert not cells.is_legal(altitude_ft)[is_outside].any()
        assert not cells.is_safe(altitude_ft)[is_outside].any()
    for shares in plan.planned:
        assert shares.unknown_share > 0.3
    # Well inside the box the ground is known.
    is_inside = (lon > WEST + 0.01) & (lat > SOUTH) & (lat < NORTH)
    assert (cells.terrain_amsl_ft[is_inside] != UNKNOWN_FT).all()
    assert answer_point(plan, 36.34, WEST - 0.02, 4000).verdict is Verdict.UNKNOWN
