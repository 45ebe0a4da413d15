"""An example on real hills: python data_samples/real_hills.py [--obstacles FILE] [--out DIR].

The ground is the elevation model that matplotlib carries among its sample data, read from the
installed package; the obstacles are rows of a published file. Everything else is an EXAMPLE and
surveyed by nobody: the area is drawn anywhere, the aircraft is invented, no house, wire, wood,
town or airspace is looked at, and the landing fields are only the flattest ground that a rule
finds in the elevation model. Do not fly by it.

It shows what real files do to a plan. Two things they teach here:

- A file's own labels may be wrong. The model states ymin = 36.733 and ymax = 36.446: the north
  edge *plus* the height of the model instead of less it. `georeference` tells the two apart by the
  ground under the obstacles: height of the top above the sea less that above the ground.
- The flattest ground is water. A model levels lakes to the metre, so `flat_ground` leaves out
  every place at a height at which still water lies.

Needs the package on the path and matplotlib, which the test extra brings.
"""

from __future__ import annotations

import json
import os
from collections.abc import Callable
from pathlib import Path
from typing import Any, Final

import click
import numpy as np
import shapely
from attrs import frozen
from numpy.typing import NDArray

from areaplan.api import InputError, Plan, evaluate, plan_text, read_project, write_map
from areaplan.geodesy import distance_and_bearing

MODEL: Final = "jacksboro_fault_dem.npz"
STEP_DEG: Final = 1.0 / 1200.0  # three seconds of arc
# The labels that are right: north-west corner of the north-westernmost pixel, degrees.
WEST, NORTH = -84.41375, 36.44625

# Drawn for the example, in longitude and latitude: a basin and the hills on three sides of it.
AREA: Final = (
    (-84.2450, 36.3080), (-84.2120, 36.2980), (-84.1560, 36.3160), (-84.1380, 36.3450),
    (-84.1500, 36.3720), (-84.1900, 36.3880), (-84.2330, 36.3760),
)  # fmt: skip
OBSTACLES: Final = (
    Path(__file__).resolve().parent.parent / "tests/authorities/faa_obstacles_jacksboro.dat"
)

# The rule for "flat ground", a demonstration only: nothing says that one could land there.
LENGTH_M: Final = 400.0
WIDTH_M: Final = 180.0
MOST_RELIEF_M: Final = 6
STILL_POSTS: Final = 3  # so many by so many posts of one height are taken for still water

PROJECT: Final = """\
# Written by data_samples/real_hills.py. An EXAMPLE: real hills, everything else unsurveyed.

[project]
name = "EXAMPLE over real hills, surveyed by nobody"
school = "no school: an example"
area = "area.geojson"
planned_altitudes = ["3000 ft AMSL", "4000 ft AMSL"]
rules = ["us"]
activities = ["training"]
day = 2026-11-25

[aircraft]
name = "invented trainer"
best_glide_speed = { value = "65 kt", source = "invented" }
best_glide_ratio = { value = 9.0, source = "invented" }
glide_derating = { value = "20 %", source = "invented" }
manoeuvre_speed = { value = "90 kt", source = "invented" }
stall_speed = { value = "48 kt", source = "invented" }

[wind]
value = "240/10 kt"
source = "invented"

[grid]
cell = "@@CELL@@"
around = "2.5 NM"

[[source]]
kind = "terrain"
files = ["terrain.tif"]
edition = "@@MODEL@@ of matplotlib's sample data, SRTM, 3 seconds of arc; trees are partly in it"
vertical_datum = "EGM96"

[[source]]
kind = "obstacles"
files = [@@OBSTACLES@@]
edition = "rows of a past edition, for the example"
vertical_datum = "NAVD88"
covers = "all"

[[source]]
kind = "fields"
files = ["fields.geojson"]
edition = "flattest ground of the elevation model, found by a rule; CONFIRMED BY NOBODY"
covers = "all"
"""
NONE_SAID: Final = {
    "airspace": "EXAMPLE ONLY, no chart was read: there may well be airspace here",
    "congested": "EXAMPLE ONLY, nobody surveyed it: there may well be towns here",
    "assemblies": "EXAMPLE ONLY, nobody surveyed it: there may well be fairgrounds here",
    "noise-sensitive": "EXAMPLE ONLY, nobody asked: there may well be parks and farms here",
}


@frozen(eq=False)
class ElevationModel:
    """Heights as the file has them, and where its own labels put its north edge.

    Attributes
    ----------
    heights_amsl_m : int16 array, shape (rows, cols)
        Metres above mean sea level; row 0 is the northernmost. Posts are the pixels' centres.
    labelled_north : float
        The greater of the labels ymin and ymax, degrees.
    """

    heights_amsl_m: NDArray[np.int16]
    labelled_north: float

    def at(
        self, lon: NDArray[np.float64], lat: NDArray[np.float64], north: float = NORTH
    ) -> NDArray[np.float64]:
        """Heights between posts, bilinear, metres AMSL; NaN beyond the outer posts.

        Parameters
        ----------
        lon, lat : float64 array
            Degrees.
        north : float
            Where the north edge is taken to lie, degrees.
        """
        rows, cols = self.heights_amsl_m.shape
        down, across = (north - lat) / STEP_DEG - 0.5, (lon - WEST) / STEP_DEG - 0.5
        is_inside = (down >= 0) & (down <= rows - 1) & (across >= 0) & (across <= cols - 1)
        row = np.clip(np.floor(down), 0, rows - 2).astype(int)
        col = np.clip(np.floor(across), 0, cols - 2).astype(int)
        south, east = down - row, across - col
        corners = self.heights_amsl_m.astype(np.float64)
        upper = corners[row, col] * (1 - east) + corners[row, col + 1] * east
        lower = corners[row + 1, col] * (1 - east) + corners[row + 1, col + 1] * east
        return np.where(is_inside, upper * (1 - south) + lower * south, np.nan)


@frozen
class Agreement:
    """How well a placement of the model agrees with the ground under the obstacles, metres.

    `mean_m` and `deviation_m` (standard deviation of the sample) are of model less obstacle file;
    NaN with fewer than two rows.
    """

    placement: str
    rows: int
    mean_m: float
    deviation_m: float


@frozen(eq=False)
class FlatGround:
    """A block of posts with little relief; row and column are of its north-western post."""

    row: int
    col: int
    rows: int
    cols: int
    relief_m: int

    def box(self) -> shapely.Polygon:
        """The box between the outer posts, longitude and latitude."""
        west, north = WEST + (self.col + 0.5) * STEP_DEG, NORTH - (self.row + 0.5) * STEP_DEG
        east, south = west + (self.cols - 1) * STEP_DEG, north - (self.rows - 1) * STEP_DEG
        return shapely.box(west, south, east, north)


def read_model() -> ElevationModel:
    """Read the elevation model from the installed matplotlib.

    Raises
    ------
    InputError
        matplotlib, or its sample data, is not installed.
    """
    try:
        from matplotlib import cbook

        with np.load(cbook.get_sample_data(MODEL, asfileobj=False)) as data:
            return ElevationModel(data["elevation"], max(float(data["ymin"]), float(data["ymax"])))
    except (ImportError, FileNotFoundError) as error:
        raise InputError.single(
            MODEL,
            "",
            found=f"not there ({error})",
            expected="the elevation model among the sample data of matplotlib",
            fix="install matplotlib from its wheel, for instance with areaplan's test extra",
        ) from error


def georeference(plan: Plan, model: ElevationModel) -> tuple[Agreement, ...]:
    """Compare the ground under the obstacles with the model, in its true place and as labelled."""
    stated = [
        (row.lon, row.lat, row.top_amsl_m - row.top_agl_m)
        for layer in plan.layers.obstacles
        for row in layer.rows
        if row.top_amsl_m is not None and row.top_agl_m is not None
    ]
    lon, lat, below_m = np.array(stated, dtype=np.float64).reshape(-1, 3).T
    return (
        _agreement("in its true place", model.at(lon, lat) - below_m),
        _agreement("by its own labels", model.at(lon, lat, model.labelled_north) - below_m),
    )


def _agreement(placement: str, apart_m: NDArray[np.float64]) -> Agreement:
    apart_m = apart_m[~np.isnan(apart_m)]
    if apart_m.size < 2:
        return Agreement(placement, apart_m.size, np.nan, np.nan)
    return Agreement(placement, apart_m.size, float(apart_m.mean()), float(apart_m.std(ddof=1)))


def flat_ground(heights_amsl_m: NDArray[np.int16]) -> list[FlatGround]:
    """Blocks of at least `LENGTH_M` by `WIDTH_M`, either way round, that do not overlap.

    A block has at most `MOST_RELIEF_M` between its lowest and its highest post, and no post at a
    height at which still water lies. The flattest comes first.
    """
    is_wet = np.isin(heights_amsl_m, _water_levels(heights_amsl_m))
    found = []
    for rows, cols in _block_shapes(heights_amsl_m.shape[0]):
        relief = _windows(heights_amsl_m, rows, cols, np.ptp)
        is_dry = ~_windows(is_wet, rows, cols, np.any)
        found += [
            FlatGround(int(row), int(col), rows, cols, int(relief[row, col]))
            for row, col in np.argwhere((relief <= MOST_RELIEF_M) & is_dry)
        ]
    found.sort(key=lambda block: (block.relief_m, block.row, block.col, block.rows))
    is_taken = np.zeros(heights_amsl_m.shape, dtype=np.bool_)
    chosen = []
    for block in found:
        posts = np.s_[block.row : block.row + block.rows, block.col : block.col + block.cols]
        if not is_taken[posts].any():
            is_taken[posts] = True
            chosen.append(block)
    return chosen


def _water_levels(heights_amsl_m: NDArray[np.int16]) -> NDArray[np.int16]:
    is_level = _windows(heights_amsl_m, STILL_POSTS, STILL_POSTS, np.ptp) == 0
    return np.unique(heights_amsl_m[: is_level.shape[0], : is_level.shape[1]][is_level])


def _windows(
    values: NDArray[Any], rows: int, cols: int, measure: Callable[..., NDArray[Any]]
) -> NDArray[Any]:
    """A measure of every window of the array."""
    return measure(np.lib.stride_tricks.sliding_window_view(values, (rows, cols)), axis=(2, 3))


def _block_shapes(model_rows: int) -> tuple[tuple[int, int], tuple[int, int]]:
    """Posts down and across for a block that lies north-south, and one that lies east-west."""
    middle = NORTH - model_rows * STEP_DEG / 2
    down_m, _ = distance_and_bearing(middle, WEST, middle + STEP_DEG, WEST)
    across_m, _ = distance_and_bearing(middle, WEST, middle, WEST + STEP_DEG)

    def posts(length_m: float, step_m: float) -> int:
        return int(np.ceil(length_m / step_m)) + 1

    return (
        (posts(LENGTH_M, down_m), posts(WIDTH_M, across_m)),
        (posts(WIDTH_M, down_m), posts(LENGTH_M, across_m)),
    )


def write_project(
    folder: Path, model: ElevationModel, obstacles: Path = OBSTACLES, *, cell: str = "25 m"
) -> Path:
    """Write the project and its files; returns the project file.

    Parameters
    ----------
    folder : Path
        Made if it is not there; files of an earlier run are replaced.
    model : ElevationModel
    obstacles : Path
        Obstacle file; the project refers to it where it lies.
    cell : str
        Side of a grid cell, with its unit.
    """
    folder.mkdir(parents=True, exist_ok=True)
    _write_terrain(folder / "terrain.tif", model.heights_amsl_m)
    _write_geojson(folder / "area.geojson", [({"name": "EXAMPLE area"}, shapely.Polygon(AREA))])
    remark = "EXAMPLE: flat in the elevation model; confirmed by nobody"
    fields = [
        ({"name": f"flat ground {number}", "remarks": f"{remark}; relief {block.relief_m} m"},
         block.box())
        for number, block in enumerate(flat_ground(model.heights_amsl_m), start=1)
    ]  # fmt: skip
    _write_geojson(folder / "fields.geojson", fields)
    name = Path(os.path.relpath(obstacles.resolve(), folder.resolve())).as_posix()
    text = PROJECT.replace("@@CELL@@", cell).replace("@@MODEL@@", MODEL)
    text = text.replace("@@OBSTACLES@@", _quoted(name))
    for kind, words in NONE_SAID.items():
        text += f'\n[[source]]\nkind = "{kind}"\nnone_because = "{words}"\n'
    project = folder / "project.toml"
    project.write_text(text, encoding="utf-8")
    return project


def _quoted(text: str) -> str:
    """A TOML basic string (TOML 1.0.0, "String"): JSON escapes are legal in it."""
    return json.dumps(text, ensure_ascii=False)


def _write_terrain(path: Path, heights_amsl_m: NDArray[np.int16]) -> None:
    import rasterio
    from rasterio.transform import from_origin

    rows, cols = heights_amsl_m.shape
    with rasterio.open(
        path,
        "w",
        driver="GTiff",
        width=cols,
        height=rows,
        count=1,
        dtype="int16",
        crs="EPSG:4326",
        transform=from_origin(WEST, NORTH, STEP_DEG, STEP_DEG),
        compress="deflate",
        predictor=2,
    ) as file:
        file.write(heights_amsl_m, 1)
        file.set_band_unit(1, "metre")
        file.update_tags(AREA_OR_POINT="Area", SOURCE=MODEL)


def _write_geojson(path: Path, rows: list[tuple[dict[str, str], shapely.Polygon]]) -> None:
    features = [
        {"type": "Feature", "properties": values, "geometry": shapely.geometry.mapping(shape)}
        for values, shape in rows
    ]
    text = json.dumps({"type": "FeatureCollection", "features": features})
    path.write_text(text + "\n", encoding="utf-8")


def georeference_text(agreements: tuple[Agreement, ...]) -> str:
    """The comparison in words."""
    lines = ["Ground under the obstacles (top above the sea less top above the ground) and model:"]
    lines += [
        f"  the model {row.placement}: {row.rows} obstacles over it; model less file "
        f"{row.mean_m:+.1f} m in the mean, standard deviation {row.deviation_m:.1f} m"
        for row in agreements
    ]
    return "\n".join(lines)


@click.command()
@click.option(
    "--obstacles",
    type=click.Path(path_type=Path, exists=True, dir_okay=False),
    default=OBSTACLES,
    help="Obstacle file over the model; a few published rows if not given.",
)
@click.option(
    "--out",
    type=click.Path(path_type=Path, file_okay=False),
    default=Path("maps/real-hills"),
    help="Folder for the project and its map.",
)
def main(obstacles: Path, out: Path) -> None:
    """Write an example project over real hills, judge it and draw its map."""
    try:
        model = read_model()
        plan = evaluate(read_project(write_project(out, model, obstacles)))
    except InputError as error:
        raise click.ClickException(str(error)) from error
    write_map(plan, out / "map.html")
    click.echo(plan_text(plan))
    click.echo(f"\n{georeference_text(georeference(plan, model))}")
    click.echo(f"\nEXAMPLE, surveyed by nobody. Project and map: {out}")


if __name__ == "__main__":
    main()
