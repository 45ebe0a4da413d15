"""What stands in and round the fields: trees, structures, wires and obstacles, found quickly."""

from __future__ import annotations

from typing import Final

import numpy as np
from attrs import frozen
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from areaplan.engine.features import FeatureSet
from areaplan.grid import Float64Array
from areaplan.planning.ground import Ground
from areaplan.planning.layers import Layers
from areaplan.planning.project import FieldLimits
from areaplan.planning.things import collect, woods
from areaplan.rules.model import Counted

TREES: Final = "trees"
WIRE: Final = "wire"
STRUCTURE: Final = "structure"
OBSTACLE: Final = "obstacle"
_SOLID: Final = ((WIRE, Counted.WIRE), (STRUCTURE, Counted.STRUCTURE), (OBSTACLE, Counted.OBSTACLE))
# How far off a thing of unknown top is looked at: 300 m of height at 1:10.
UNKNOWN_TOP_REACH_M: Final = 3000.0
# Ground may fall away under the approach by as much as the steepest strip allowed, and half more.
_FALL_RESERVE: Final = 1.5
_LEAST_FALL_SHARE: Final = 0.1


@frozen(eq=False)
class Surrounds:
    """Everything that stands, in one table.

    Attributes
    ----------
    features : FeatureSet
    names, kinds : tuple of str
        For each feature; kinds are TREES, WIRE, STRUCTURE and OBSTACLE.
    keep_clear_m : float64 array, shape (features,)
        How near a strip may come; 0 for trees, beside which fields end.
    geometries : tuple of shapely geometry
        Longitude/latitude.
    """

    features: FeatureSet
    names: tuple[str, ...]
    kinds: tuple[str, ...]
    keep_clear_m: Float64Array
    geometries: tuple[BaseGeometry, ...]
    _box_m: Float64Array

    def chosen(self, indices: NDArray[np.intp]) -> Surrounds:
        """Some of them, in the order of their indices."""
        return Surrounds(
            self.features.chosen(indices),
            tuple(self.names[i] for i in indices),
            tuple(self.kinds[i] for i in indices),
            self.keep_clear_m[indices],
            tuple(self.geometries[i] for i in indices),
            self._box_m[indices],
        )

    def near(self, polygon: BaseGeometry, lowest_amsl_m: float, limits: FieldLimits) -> Surrounds:
        """Those that can shorten a strip in a field whose lowest ground is given."""
        if not len(self.features):
            return self
        west, south, east, north = polygon.bounds
        fall = max(
            limits.approach_slope - _FALL_RESERVE * limits.steepest,
            _LEAST_FALL_SHARE * limits.approach_slope,
        )
        height_m = self.features.top_amsl_m - lowest_amsl_m
        reach_m = np.where(
            np.isnan(height_m), UNKNOWN_TOP_REACH_M, np.maximum(0.0, height_m) / fall
        )
        reach_m += self.keep_clear_m + self.features.spread_m
        is_near = (
            (self._box_m[:, 0] - reach_m <= east)
            & (self._box_m[:, 2] + reach_m >= west)
            & (self._box_m[:, 1] - reach_m <= north)
            & (self._box_m[:, 3] + reach_m >= south)
        )
        return self.chosen(np.flatnonzero(is_near))


def find_surrounds(layers: Layers, ground: Ground, limits: FieldLimits) -> Surrounds:
    """Gather what stands anywhere on the grid and near it."""
    groups = [(kind, collect(layers, ground, (counted,))) for kind, counted in _SOLID]
    groups.append((TREES, woods(layers, ground)))
    features = FeatureSet.joined([things.features for _, things in groups])
    kinds = tuple(kind for kind, things in groups for _ in things.names)
    keep_m = np.array([0.0 if kind == TREES else limits.wire_clearance_m for kind in kinds])
    return Surrounds(
        features,
        tuple(name for _, things in groups for name in things.names),
        kinds,
        keep_m,
        tuple(geometry for _, things in groups for geometry in things.geometries),
        _boxes(features),
    )


def _boxes(features: FeatureSet) -> Float64Array:
    if not len(features):
        return np.empty((0, 4))
    x, y = features.segments_m[:, [0, 2]], features.segments_m[:, [1, 3]]
    first = features.first_segment[:-1]
    low, high = np.minimum.reduceat, np.maximum.reduceat
    sides = (low(x.min(axis=1), first), low(y.min(axis=1), first))
    return np.stack([*sides, high(x.max(axis=1), first), high(y.max(axis=1), first)], axis=1)
