"""Point, line and area features as flat arrays of segments, the form that kernels take."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import shapely
from attrs import frozen
from numpy.typing import ArrayLike, NDArray
from shapely.geometry.base import BaseGeometry

from areaplan.grid import BoolArray, Float64Array


@frozen(eq=False)
class FeatureSet:
    """Features in local metres with a top and a spread.

    Attributes
    ----------
    segments_m : float64 array, shape (n_segments, 4)
        x0, y0, x1, y1 of each segment; a point is a segment of no length. Finite.
    first_segment : int64 array, shape (n_features + 1,)
        Feature i owns the segments from first_segment[i] up to first_segment[i + 1], at least one.
    is_area : bool array, shape (n_features,)
        True where the segments are the closed rings of a polygon, whose inside belongs to the
        feature (holes do not). Outer rings run counter-clockwise and holes clockwise: inside is
        where the winding number is not zero, so parts that overlap by mistake do not cancel.
    top_amsl_m : float64 array, shape (n_features,)
        Height of the top above mean sea level; NaN where it is not known.
    spread_m : float64 array, shape (n_features,)
        Horizontal uncertainty, finite and at least 0: the feature may stand this much nearer.

    Raises
    ------
    ValueError
        An array breaks what is said above; the message names the first feature that does.
    """

    segments_m: Float64Array
    first_segment: NDArray[np.int64]
    is_area: BoolArray
    top_amsl_m: Float64Array
    spread_m: Float64Array

    def __attrs_post_init__(self) -> None:
        count, owned = self.is_area.size, np.diff(self.first_segment)
        if self.segments_m.ndim != 2 or self.segments_m.shape[1] != 4:
            raise ValueError(f"segments_m has shape {self.segments_m.shape}; expected (n, 4)")
        for name, size in (
            ("first_segment", owned.size),
            ("top_amsl_m", self.top_amsl_m.size),
            ("spread_m", self.spread_m.size),
        ):
            if size != count:
                raise ValueError(f"{name} speaks for {size} features; expected {count}")
        if self.first_segment[0] != 0 or self.first_segment[-1] != len(self.segments_m):
            raise ValueError("first_segment must run from 0 to the number of segments")
        _refuse(owned < 1, "has no segment")
        is_finite = np.isfinite(self.segments_m).all(axis=1)
        if count:
            whole = np.logical_and.reduceat(is_finite, self.first_segment[:-1])
            _refuse(~whole, "has a coordinate that is not finite")
        _refuse(np.isneginf(self.top_amsl_m), "has a top of minus infinity")
        _refuse(~(self.spread_m >= 0.0) | np.isposinf(self.spread_m), "has no usable spread")

    def __len__(self) -> int:
        """Count of features."""
        return int(self.is_area.size)

    def chosen(self, indices: NDArray[np.intp]) -> FeatureSet:
        """Some of the features, in the order of their indices."""
        first, end = self.first_segment[indices], self.first_segment[indices + 1]
        owned = end - first
        ends = np.concatenate([np.zeros(1, dtype=np.int64), np.cumsum(owned)])
        # Count on from each feature's first segment.
        segment = np.arange(ends[-1]) + np.repeat(first - ends[:-1], owned)
        return FeatureSet(
            self.segments_m[segment],
            ends,
            self.is_area[indices],
            self.top_amsl_m[indices],
            self.spread_m[indices],
        )

    @classmethod
    def joined(cls, sets: Sequence[FeatureSet]) -> FeatureSet:
        """The features of one or more sets, one set after the other."""
        counts = np.concatenate([np.diff(one.first_segment) for one in sets])
        return cls(
            np.concatenate([one.segments_m for one in sets]),
            np.concatenate([np.zeros(1, dtype=np.int64), np.cumsum(counts)]),
            np.concatenate([one.is_area for one in sets]),
            np.concatenate([one.top_amsl_m for one in sets]),
            np.concatenate([one.spread_m for one in sets]),
        )

    @classmethod
    def from_geometries(
        cls,
        geometries: Sequence[BaseGeometry],
        top_amsl_m: ArrayLike,
        spread_m: ArrayLike = 0.0,
    ) -> FeatureSet:
        """Flatten shapely geometries in local metres.

        Parameters
        ----------
        geometries : sequence of shapely geometry
            Points, lines, polygons and their multi-forms; not mixed collections, not empty.
        top_amsl_m, spread_m : float or array of float, shape (len(geometries),)
            Metres; see the attributes.

        Raises
        ------
        ValueError
            A geometry is missing, empty or of mixed kind, or breaks a rule of the attributes; the
            message names its position.
        """
        count = len(geometries)
        array: NDArray[Any] = np.empty(count, dtype=object)
        array[:] = geometries
        _refuse(shapely.is_missing(array) | shapely.is_empty(array), "is missing or empty")
        parts, owner = _single_parts(array)
        dimension = shapely.get_dimensions(parts)
        lowest = np.full(count, 3)
        highest = np.full(count, -1)
        np.minimum.at(lowest, owner, dimension)
        np.maximum.at(highest, owner, dimension)
        _refuse(lowest != highest, "mixes points, lines and polygons")

        segments, owner_of_segment = _segments_of(parts, owner, dimension)
        order = np.argsort(owner_of_segment, kind="stable")
        first = np.zeros(count + 1, dtype=np.int64)
        np.cumsum(np.bincount(owner_of_segment, minlength=count), out=first[1:])
        return cls(
            np.ascontiguousarray(segments[order]),
            first,
            highest == 2,
            np.array(np.broadcast_to(np.asarray(top_amsl_m, dtype=np.float64), count)),
            np.array(np.broadcast_to(np.asarray(spread_m, dtype=np.float64), count)),
        )


def _refuse(is_bad: BoolArray, what: str) -> None:
    if is_bad.any():
        raise ValueError(f"feature {int(np.argmax(is_bad))} {what}")


def _single_parts(geometries: NDArray[Any]) -> tuple[NDArray[Any], NDArray[np.intp]]:
    """Points, lines and polygons of all geometries, and the geometry that each belongs to."""
    parts, owner = geometries, np.arange(len(geometries))
    while (shapely.get_type_id(parts) >= shapely.GeometryType.MULTIPOINT).any():
        parts, origin = shapely.get_parts(parts, return_index=True)
        owner = owner[origin]
    # A part of a multi-form can itself be empty; the geometry as a whole was seen not to be.
    is_part = ~shapely.is_empty(parts)
    return parts[is_part], owner[is_part]


def _segments_of(
    parts: NDArray[Any], owner: NDArray[np.intp], dimension: NDArray[np.int32]
) -> tuple[Float64Array, NDArray[np.intp]]:
    """Segments of all parts, rings turned the right way, and the geometry each belongs to."""
    points = shapely.get_coordinates(parts[dimension == 0])
    lines = parts[dimension == 1]
    rings, polygon = shapely.get_rings(parts[dimension == 2], return_index=True)
    line_segments, line = _pairs(lines)
    ring_segments, ring = _pairs(rings)
    if len(rings):
        is_outer = np.concatenate([[True], polygon[1:] != polygon[:-1]])
        # Shoelace formula, from the ring's own first point to keep its digits.
        origin = np.tile(ring_segments[_firsts(ring), :2], 2)[ring]
        x0, y0, x1, y1 = (ring_segments - origin).T
        turn = np.bincount(ring, x0 * y1 - x1 * y0)
        is_backward = ((turn > 0.0) != is_outer)[ring]
        ring_segments[is_backward] = ring_segments[is_backward][:, [2, 3, 0, 1]]
    point_owner, line_owner, area_owner = (owner[dimension == kind] for kind in range(3))
    return (
        np.concatenate([np.hstack([points, points]), line_segments, ring_segments]),
        np.concatenate([point_owner, line_owner[line], area_owner[polygon[ring]]]),
    )


def _pairs(lines: NDArray[Any]) -> tuple[Float64Array, NDArray[np.intp]]:
    """Consecutive points of each line as segments, and the line of each."""
    xy, line = shapely.get_coordinates(lines, return_index=True)
    is_pair = line[1:] == line[:-1]
    return np.hstack([xy[:-1], xy[1:]])[is_pair], line[1:][is_pair]


def _firsts(sorted_index: NDArray[np.intp]) -> NDArray[np.intp]:
    """Position of the first entry of each value of a sorted index that misses no value."""
    return np.flatnonzero(np.concatenate([[True], sorted_index[1:] != sorted_index[:-1]]))
