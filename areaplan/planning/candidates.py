"""Fields that land cover proposes: where to look for one, never that there is one.

A candidate is ground that, by every layer of the project, might be a field: of a candidate class,
clear of everything that stands, of roads, wires and the edges of woods, not steep, outside towns
and crowds, and wide and long enough. About one pixel of land cover in four is wrong, and ditches,
fences, stock, crops and small wires are in no layer: a person looks at each before it may be called
a field.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from typing import Final

import numpy as np
import shapely
from attrs import evolve, frozen
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

from areaplan.engine.features import FeatureSet
from areaplan.engine.standoff import NO_FEATURE, cells_touching_index
from areaplan.grid import BoolArray, Float64Array
from areaplan.planning.clean_ground import clean_cells
from areaplan.planning.field_measure import measure_fields
from areaplan.planning.ground import Ground
from areaplan.planning.layers import Layers
from areaplan.planning.measured import MeasuredField
from areaplan.planning.project import Project
from areaplan.sources._environment import load_rasterio
from areaplan.sources.land_cover_legends import LAST_RANK, NOT_A_CANDIDATE
from areaplan.sources.layers import LandingField

# Larger stretches are cut: a person confirms what can be overlooked from one place.
MOST_ACROSS_M: Final = 1_500.0
MOST_CANDIDATES: Final = 100

_TOLERANCE_CELLS: Final = 0.4  # how far the outline may stray from the steps of the cells, inward
# Outlines keep this much more inside, for rounding and for edges that are straight in degrees.
_INSET_M: Final = 0.25
_LEAST_SHARE: Final = 0.01


@frozen(eq=False)
class Proposals:
    """What land cover proposes.

    Attributes
    ----------
    fields : tuple of LandingField
        The best class first, the largest of a class first.
    notes : tuple of str
        What could not be looked at, and what was left out.
    """

    fields: tuple[LandingField, ...]
    notes: tuple[str, ...]


@frozen(eq=False)
class Candidates:
    """Proposals, measured.

    Attributes
    ----------
    counting : tuple of MeasuredField
        Those to which a glide may lead; none unless the project says that candidates count.
    others : tuple of MeasuredField
        All others, to be shown apart.
    notes : tuple of str
        As `Proposals.notes`.
    """

    counting: tuple[MeasuredField, ...] = ()
    others: tuple[MeasuredField, ...] = ()
    notes: tuple[str, ...] = ()


def measured_candidates(project: Project, layers: Layers, ground: Ground) -> Candidates:
    """Propose fields from land cover and measure them as drawn ones are."""
    found = propose_fields(project, layers, ground)
    if not found.fields:
        return Candidates(notes=found.notes)
    rows = measure_fields(project, layers, ground, found.fields, is_candidate=True)
    return Candidates(
        tuple(row for row in rows if row.counts),
        tuple(row for row in rows if not row.counts),
        found.notes,
    )


def unconfirmed_caution(measured: Iterable[MeasuredField]) -> tuple[str, ...]:
    """Say loudly that fields count at which nobody has looked; nothing where none does."""
    count = sum(row.is_candidate and row.counts for row in measured)
    if not count:
        return ()
    return (
        f"{count} UNCONFIRMED FIELDS COUNT: land cover proposes them and nobody has looked; about "
        "one pixel in four of land cover is wrong, and it shows no wire, ditch, fence or stock",
    )


def candidate_fields(project: Project, layers: Layers, ground: Ground) -> tuple[LandingField, ...]:
    """Fields of `propose_fields` alone."""
    return propose_fields(project, layers, ground).fields


def propose_fields(project: Project, layers: Layers, ground: Ground) -> Proposals:
    """Propose fields from land cover.

    Parameters
    ----------
    project : Project
        Its `fields` give width, least length, steepest slope and clearance from wires.
    layers : Layers
    ground : Ground

    Returns
    -------
    Proposals
        Fields named "candidate 1" and so on. Each lies wholly in clean cells (see
        `clean_ground.clean_cells`), and has room for a strip's width throughout. Of more than
        `MOST_CANDIDATES` those nearest to the practice area. None without land cover.
    """
    if not layers.land_cover:
        return Proposals((), ())
    clean = clean_cells(project, layers, ground)
    found: list[tuple[int, Polygon]] = []
    is_taken = clean.rank == NOT_A_CANDIDATE
    for rank in range(NOT_A_CANDIDATE + 1, LAST_RANK + 1):
        # Ground of better ranks that was too small alone may do together with this one's.
        is_open = ~is_taken & (clean.rank <= rank)
        shapes = list(_outlines(is_open, ground, project))
        if not shapes:
            continue
        # Outlines are inset, so that no cell touches two of them.
        index = cells_touching_index(ground.grid, FeatureSet.from_geometries(shapes, 0.0))
        is_now = index != NO_FEATURE
        worst = np.zeros(len(shapes), dtype=np.int16)
        np.maximum.at(worst, index[is_now], clean.rank[is_now])
        found += [(int(its), shape) for its, shape in zip(worst, shapes, strict=True)]
        is_taken |= is_now
    kept = _nearest(found, ground.frame.geometry_to_local(layers.area.rows[0].geometry))
    notes = list(clean.notes)
    if len(kept) < len(found):
        notes.append(
            f"{len(found) - len(kept)} more candidates are left out: only the {len(kept)} nearest "
            "to the area are looked at"
        )
    kept.sort(key=lambda item: (item[0], -item[1].area, item[1].bounds))
    return Proposals(
        tuple(
            _as_field(number, rank, shape, layers, ground)
            for number, (rank, shape) in enumerate(kept, 1)
        ),
        tuple(notes),
    )


def _nearest(found: list[tuple[int, Polygon]], area: BaseGeometry) -> list[tuple[int, Polygon]]:
    def order(item: tuple[int, Polygon]) -> tuple[float, int, float, tuple[float, ...]]:
        rank, shape = item
        return float(shapely.distance(area, shape)), rank, -shape.area, shape.bounds

    return sorted(found, key=order)[:MOST_CANDIDATES]


def _outlines(is_open: BoolArray, ground: Ground, project: Project) -> Iterator[Polygon]:
    """Outlines inside the connected open cells, wide and long enough; local metres."""
    load_rasterio()
    from rasterio import features
    from rasterio.transform import from_origin

    grid, needs = ground.grid, project.fields
    corner = from_origin(grid.x_min_m, grid.y_max_m, grid.cell_m, grid.cell_m)
    # Cells that meet at a corner only are not connected: nothing rolls through a point.
    rings = features.shapes(
        is_open.astype(np.uint8), mask=is_open, connectivity=4, transform=corner
    )
    for mapping, _ in rings:
        region = shapely.geometry.shape(mapping)
        if region.area < needs.width_m * needs.least_length_m:
            continue
        for piece in _cut(region, grid.cell_m):
            for shape in _inside(piece, needs.width_m, grid.cell_m):
                if _has_room(shape, needs.width_m, needs.least_length_m):
                    yield shape


def _cut(region: BaseGeometry, cell_m: float) -> Iterator[Polygon]:
    """Pieces no longer than `MOST_ACROSS_M`, cut along the edges of cells."""
    west, south, east, north = region.bounds
    if max(east - west, north - south) <= max(MOST_ACROSS_M, 2.0 * cell_m):
        yield from _polygons(region)
        return
    if east - west >= north - south:
        middle = west + cell_m * round((east - west) / 2.0 / cell_m)
        halves = shapely.box(west, south, middle, north), shapely.box(middle, south, east, north)
    else:
        middle = south + cell_m * round((north - south) / 2.0 / cell_m)
        halves = shapely.box(west, south, east, middle), shapely.box(west, middle, east, north)
    for half in halves:
        for part in _polygons(shapely.intersection(region, half)):
            yield from _cut(part, cell_m)


def _inside(region: Polygon, width_m: float, cell_m: float) -> Iterator[Polygon]:
    """Simple outlines inside a region, everywhere at least the width across.

    The region shrinks by half the width, the tolerance and the inset, is simplified by no more
    than the tolerance, and grows back by half the width. What is simplified lies within the
    tolerance of the shrunk shape, so all of it lies in the region, less the inset: an opening of a
    shape is part of it (Serra, *Image Analysis and Mathematical Morphology*, 1982, ch. II; from
    memory). Square corners shrink by more than round ones and bevelled ones grow by less.
    """
    half_m, tolerance_m = 0.5 * width_m, _TOLERANCE_CELLS * cell_m
    shrunk = shapely.buffer(region, -(half_m + tolerance_m + _INSET_M), join_style="mitre")
    simple = shapely.simplify(shrunk, tolerance_m)
    yield from _polygons(shapely.buffer(simple, half_m, join_style="bevel"))


def _polygons(geometry: BaseGeometry) -> Iterator[Polygon]:
    """Polygons of a geometry; what has no area is left."""
    yield from (part for part in shapely.get_parts(geometry) if isinstance(part, Polygon))


def _has_room(shape: Polygon, width_m: float, least_length_m: float) -> bool:
    """Whether a strip could fit by area and by the length of the narrowest box round the shape."""
    if shape.is_empty or shape.area < width_m * least_length_m:
        return False
    box = shapely.oriented_envelope(shape)
    diagonal_m = float(np.hypot(*np.ptp(shapely.get_coordinates(box)[[0, 2]], axis=0)))
    return diagonal_m >= least_length_m


def _as_field(
    number: int, rank: int, shape: Polygon, layers: Layers, ground: Ground
) -> LandingField:
    cover = _cover_words(shape, layers, ground)
    return LandingField(
        name=f"candidate {number}",
        geometry=_to_lonlat(shape, ground),
        surface=f"by land cover {cover}; nobody has looked",
        cover=cover,
        cover_rank=rank,
    )


def _to_lonlat(shape: Polygon, ground: Ground) -> BaseGeometry:
    def pairs(xy: Float64Array) -> Float64Array:
        return np.column_stack(ground.frame.to_lonlat(xy[:, 0], xy[:, 1]))

    return shapely.orient_polygons(shapely.transform(shape, pairs))


def _cover_words(shape: Polygon, layers: Layers, ground: Ground) -> str:
    """Classes of the pixels at the cells' centres in a shape, with their shares."""
    grid = ground.grid
    west, south, east, north = shape.bounds
    top, left = grid.cell_of(west, north)
    bottom, right = grid.cell_of(east, south)
    part = evolve(
        grid,
        x_min_m=grid.x_min_m + left * grid.cell_m,
        y_max_m=grid.y_max_m - top * grid.cell_m,
        rows=bottom - top + 1,
        cols=right - left + 1,
    )
    x_m, y_m = np.meshgrid(part.centre_x_m(), part.centre_y_m())
    is_here = shapely.contains_xy(shape, x_m, y_m)
    for cover in layers.land_cover:
        found = cover.classes_on_grid(part, ground.frame)[is_here]
        counts = Counter(found[found >= 0].tolist())
        if counts:
            return _shares((cover.legend.classes[place].name, n) for place, n in _most(counts))
    return "of unknown class"


def _most(counts: Counter[int]) -> list[tuple[int, int]]:
    return sorted(counts.items(), key=lambda item: (-item[1], item[0]))


def _shares(counted: Iterable[tuple[str, int]]) -> str:
    rows = list(counted)
    total = sum(count for _, count in rows)
    words = [f"{name} {count / total:.0%}" for name, count in rows if count / total >= _LEAST_SHARE]
    return ", ".join(words)
