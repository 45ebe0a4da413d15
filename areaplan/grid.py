"""The one raster frame of a project: square cells in local metres, row 0 in the north."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from attrs import field, frozen, validators
from numpy.typing import NDArray

from areaplan.errors import OutsideDataError

Float64Array = NDArray[np.float64]
Float32Array = NDArray[np.float32]
Int16Array = NDArray[np.int16]
Int32Array = NDArray[np.int32]
BoolArray = NDArray[np.bool_]


@frozen
class Grid:
    """A raster of square cells in a local projected frame.

    Attributes
    ----------
    x_min_m, y_max_m : float
        Easting of the west edge and northing of the north edge, local metres.
    cell_m : float
        Side of a cell in metres, above 0.
    rows, cols : int
        Counts of cells; row 0 is the northernmost, column 0 the westernmost.
    """

    x_min_m: float
    y_max_m: float
    cell_m: float = field(validator=validators.gt(0.0))
    rows: int = field(validator=validators.ge(1))
    cols: int = field(validator=validators.ge(1))

    @classmethod
    def covering(
        cls, x_min_m: float, y_min_m: float, x_max_m: float, y_max_m: float, cell_m: float
    ) -> Grid:
        """Lay the smallest grid over a box, its edges on whole multiples of the cell size.

        Parameters
        ----------
        x_min_m, y_min_m, x_max_m, y_max_m : float
            The box, local metres; a box of no width or height still gets one cell.
        cell_m : float
            Side of a cell, metres.

        Raises
        ------
        ValueError
            The box is inside out or not finite, or the cell is not above 0.
        """
        if not (-math.inf < x_min_m <= x_max_m < math.inf):
            raise ValueError(f"x runs from {x_min_m} to {x_max_m} m")
        if not (-math.inf < y_min_m <= y_max_m < math.inf):
            raise ValueError(f"y runs from {y_min_m} to {y_max_m} m")
        if not 0.0 < cell_m < math.inf:
            raise ValueError(f"the side of a cell is {cell_m} m")
        west = math.floor(x_min_m / cell_m) * cell_m
        north = math.ceil(y_max_m / cell_m) * cell_m
        cols = max(1, math.ceil((x_max_m - west) / cell_m))
        rows = max(1, math.ceil((north - y_min_m) / cell_m))
        return cls(west, north, cell_m, rows, cols)

    @property
    def shape(self) -> tuple[int, int]:
        """Rows, columns."""
        return self.rows, self.cols

    @property
    def x_max_m(self) -> float:
        """Easting of the east edge, local metres."""
        return self.x_min_m + self.cols * self.cell_m

    @property
    def y_min_m(self) -> float:
        """Northing of the south edge, local metres."""
        return self.y_max_m - self.rows * self.cell_m

    def centre_x_m(self) -> Float64Array:
        """Eastings of the column centres, shape (cols,), local metres."""
        return self.x_min_m + (np.arange(self.cols, dtype=np.float64) + 0.5) * self.cell_m

    def centre_y_m(self) -> Float64Array:
        """Northings of the row centres, shape (rows,), local metres."""
        return self.y_max_m - (np.arange(self.rows, dtype=np.float64) + 0.5) * self.cell_m

    def cell_of(self, x_m: float, y_m: float) -> tuple[int, int]:
        """Row and column of the cell that holds a place.

        Raises
        ------
        OutsideDataError
            The place lies outside the grid, or is not finite.
        """
        col = (x_m - self.x_min_m) / self.cell_m
        row = (self.y_max_m - y_m) / self.cell_m
        if not (0.0 <= col < self.cols and 0.0 <= row < self.rows):
            raise OutsideDataError(
                f"the place {x_m:.0f} m east, {y_m:.0f} m north of the centre of the area "
                "lies outside the evaluated grid"
            )
        return int(row), int(col)

    def full(self, value: float, dtype: Any = np.float64) -> NDArray[Any]:
        """Array of the grid's shape filled with a value."""
        return np.full(self.shape, value, dtype=dtype)
