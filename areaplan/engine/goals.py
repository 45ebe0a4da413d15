"""Where glides may end, sector by sector: single cells with altitudes of their own.

`glide.py` takes an arrival altitude that is the same for all sectors as an array of the grid's
shape. Altitudes that differ by sector come as a list of the few cells that have one, so that no
array is held twelve times.
"""

from __future__ import annotations

import numpy as np
from attrs import field, frozen
from numpy.typing import NDArray

from areaplan.engine._glide_kernels import GoalRows
from areaplan.engine.moves import SECTORS
from areaplan.engine.sweeps import Group, altitude_in_steps
from areaplan.grid import Float32Array, Int16Array

Indices = NDArray[np.int64]


@frozen(eq=False)
class Goals:
    """Cells at which a glide of a sector may end; arrays of shape (goals,).

    Attributes
    ----------
    row, col : int64 array
        The cell; any point of it counts.
    sector : int64 array
        Of the glide that may end there, on any track of its cone.
    amsl_m : float32 array
        At or above which it may.
    label : int16 array
        The field that it has then reached.
    """

    row: Indices = field()
    col: Indices
    sector: Indices
    amsl_m: Float32Array
    label: Int16Array

    @row.validator
    def _check(self, _attribute: object, _value: Indices) -> None:
        arrays = (self.row, self.col, self.sector, self.amsl_m, self.label)
        if len({array.shape for array in arrays}) != 1 or self.row.ndim != 1:
            raise ValueError(f"goals of shapes {[array.shape for array in arrays]}; expected one")
        if self.sector.size and not (self.sector.min() >= 0 and self.sector.max() < SECTORS):
            raise ValueError(f"sectors up to {self.sector.max()}; expected 0 to {SECTORS - 1}")

    @classmethod
    def none(cls) -> Goals:
        """No goal at all."""
        whole = np.empty(0, np.int64)
        return cls(whole, whole, whole, np.empty(0, np.float32), np.empty(0, np.int16))

    def require_within(self, shape: tuple[int, ...]) -> None:
        """Check that all cells are of a grid.

        Raises
        ------
        ValueError
            One is not.
        """
        for name, index, count in (("row", self.row, shape[0]), ("column", self.col, shape[1])):
            if index.size and not (index.min() >= 0 and index.max() < count):
                raise ValueError(f"goals in {name} {index.max()}; expected 0 to {count - 1}")

    def rows_for(self, group: Group, shape: tuple[int, ...]) -> GoalRows:
        """The goals of a group's sectors as a sweep reads them.

        Parameters
        ----------
        group : Group
            Which sectors; columns take the place of rows where it is turned.
        shape : tuple of int
            Of the grid.
        """
        number = np.full(SECTORS, -1)
        number[list(group.sectors)] = np.arange(len(group.sectors))
        row, col = (self.col, self.row) if group.is_turned else (self.row, self.col)
        count = shape[1] if group.is_turned else shape[0]
        own = np.flatnonzero(number[self.sector] >= 0)
        # Of several goals of one cell the lowest comes first, of equal ones the lowest label.
        order = own[np.lexsort((self.label[own], self.amsl_m[own], col[own], row[own]))]
        return GoalRows(
            np.searchsorted(row[order], np.arange(count + 1)),
            col[order],
            number[self.sector[order]],
            altitude_in_steps(self.amsl_m[order]),
            self.label[order].astype(np.int16),
        )
