"""References that a person drew, held to the shape that they are drawn as."""

from __future__ import annotations

from typing import Final

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from areaplan.engine.rectangles import rectangles_among
from areaplan.engine.straight_runs import straight_fit
from areaplan.errors import Fault, InputError
from areaplan.planning._reference_rows import to_local
from areaplan.planning.ground import Ground
from areaplan.planning.ground_reference import Reference, ReferenceLimits, direction_deg
from areaplan.planning.layers import Layers
from areaplan.sources.layers import DrawnReference, ReferenceKind

_ANY_SIDE_M: Final = (1e-3, 1e9)  # a person chose its size
_ANY_SHARE: Final = 1e-9


def drawn_references(
    layers: Layers, ground: Ground, limits: ReferenceLimits
) -> tuple[Reference, ...]:
    """Drawn references in file order, of any size, but of the shape that they say.

    Raises
    ------
    InputError
        A line strays from its straight, or an outline is no rectangle; all that do are named.
    """
    found: list[Reference] = []
    faults: list[Fault] = []
    for layer in layers.references:
        paths = layer.record.paths
        local = to_local([row.geometry for row in layer.rows], ground)
        for row, geometry in zip(layer.rows, local, strict=True):
            try:
                found.append(_reference(row, geometry, paths, limits))
            except InputError as error:
                faults += error.faults
    if faults:
        raise InputError(faults)
    return tuple(found)


def _reference(
    row: DrawnReference, local: BaseGeometry, paths: tuple[str, ...], limits: ReferenceLimits
) -> Reference:
    if row.use is ReferenceKind.LINE:
        return _line(row, local, paths, limits)
    if row.use is ReferenceKind.RECTANGLE:
        return _rectangle(row, local, paths, limits)
    if row.use is ReferenceKind.POINT:
        return Reference(row.name, row.use, local, paths, None, 0.0, is_drawn=True)
    dx, dy = np.diff(shapely.get_coordinates(local), axis=0)[0].tolist()
    return Reference(
        row.name,
        row.use,
        local,
        paths,
        direction_deg(dx, dy),
        float(np.hypot(dx, dy)),
        is_drawn=True,
    )


def _line(
    row: DrawnReference, local: BaseGeometry, paths: tuple[str, ...], limits: ReferenceLimits
) -> Reference:
    ends, off_m = straight_fit(shapely.get_coordinates(local))
    if off_m > limits.off_straight_m:
        raise InputError.single(
            ", ".join(paths),
            row.name,
            found=f"a line that strays {off_m:.0f} m from a straight one",
            expected=f"at most {limits.off_straight_m:g} m: it is flown as a straight line",
            fix="draw each straight stretch as a feature of its own",
        )
    dx, dy = (ends[1] - ends[0]).tolist()
    return Reference(
        row.name,
        row.use,
        shapely.LineString(ends),
        paths,
        direction_deg(dx, dy),
        float(np.hypot(dx, dy)),
        off_straight_m=off_m,
        is_drawn=True,
    )


def _rectangle(
    row: DrawnReference, local: BaseGeometry, paths: tuple[str, ...], limits: ReferenceLimits
) -> Reference:
    fit = rectangles_among([local], *_ANY_SIDE_M, least_fill_share=_ANY_SHARE)
    share = float(fit.fill_share[0]) if len(fit) else 0.0
    if share < limits.least_fill_share:
        raise InputError.single(
            ", ".join(paths),
            row.name,
            found=f"an outline that fills {share:.0%} of the smallest rectangle round it",
            expected=f"at least {limits.least_fill_share:.0%}: it is flown as a rectangle",
            fix="draw its four corners, or choose another field",
        )
    return Reference(
        row.name,
        row.use,
        shapely.Polygon(fit.corners_xy_m[0]),
        paths,
        float(fit.direction_deg_grid[0]),
        float(fit.length_m[0]),
        width_m=float(fit.width_m[0]),
        is_drawn=True,
    )
