"""From longitude and latitude to the project's metres by a polynomial that a page can evaluate."""

from __future__ import annotations

from typing import Final

import numpy as np
from attrs import frozen

from areaplan.errors import InputError
from areaplan.geodesy import LocalFrame
from areaplan.grid import Float64Array, Grid

DEGREE: Final = 7
LARGEST_ERROR_M: Final = 0.05
_NODES: Final = 33
# Twice as dense as the nodes and falling between them, so the check sees other places.
_CHECKS: Final = 71


@frozen(eq=False)
class PlaceFit:
    """A polynomial for the map projection of a grid.

    With u = (lon - lon_mid_deg) / lon_half_deg and v likewise, x = sum of x_m[i, j] u^i v^j
    over i + j <= DEGREE, and y likewise.

    Attributes
    ----------
    lon_mid_deg, lat_mid_deg, lon_half_deg, lat_half_deg : float
        Middle and half-size of the box that holds the grid, degrees.
    x_m, y_m : float64 arrays, shape (DEGREE + 1, DEGREE + 1)
        Coefficients in metres; 0 where i + j > DEGREE.
    error_m : float
        Largest distance from the projection at the places checked, metres.
    """

    lon_mid_deg: float
    lat_mid_deg: float
    lon_half_deg: float
    lat_half_deg: float
    x_m: Float64Array
    y_m: Float64Array
    error_m: float

    def as_json(self) -> dict[str, object]:
        """The form that page/place.js reads."""
        return {
            "lon_mid_deg": self.lon_mid_deg,
            "lat_mid_deg": self.lat_mid_deg,
            "lon_half_deg": self.lon_half_deg,
            "lat_half_deg": self.lat_half_deg,
            "x_m": self.x_m.tolist(),
            "y_m": self.y_m.tolist(),
        }


def fit_place(frame: LocalFrame, grid: Grid) -> PlaceFit:
    """Fit the polynomial over a grid by least squares and check it between the nodes.

    Parameters
    ----------
    frame : LocalFrame
        The projection to follow.
    grid : Grid
        Where it must hold, in metres of that frame.

    Raises
    ------
    InputError
        The polynomial misses the projection by more than LARGEST_ERROR_M: the grid is too large
        or too near a pole for the page to name the right cell.
    """
    west, south, east, north = lonlat_box(frame, grid)
    mid = (0.5 * (west + east), 0.5 * (south + north))
    half = (0.5 * (east - west), 0.5 * (north - south))
    # Chebyshev nodes keep the error level out to the edges (Trefethen, "Approximation Theory and
    # Approximation Practice", SIAM 2013, ch. 2).
    nodes = np.cos(np.pi * np.arange(_NODES) / (_NODES - 1))
    u, v = (axis.ravel() for axis in np.meshgrid(nodes, nodes))
    powers = [(i, j) for i in range(DEGREE + 1) for j in range(DEGREE + 1 - i)]
    design = np.column_stack([u**i * v**j for i, j in powers])
    local = np.column_stack(frame.to_local(mid[0] + u * half[0], mid[1] + v * half[1]))
    solution = np.linalg.lstsq(design, local, rcond=None)[0]
    x_m, y_m = np.zeros((2, DEGREE + 1, DEGREE + 1))
    for (i, j), (x, y) in zip(powers, solution, strict=True):
        x_m[i, j], y_m[i, j] = round(x, 6), round(y, 6)  # a micrometre: shorter text
    places = np.linspace(-1.0, 1.0, _CHECKS)
    u, v = (axis.ravel() for axis in np.meshgrid(places, places))
    true_x, true_y = frame.to_local(mid[0] + u * half[0], mid[1] + v * half[1])
    error_m = float(
        np.hypot(
            np.polynomial.polynomial.polyval2d(u, v, x_m) - true_x,
            np.polynomial.polynomial.polyval2d(u, v, y_m) - true_y,
        ).max()
    )
    if not error_m < LARGEST_ERROR_M:
        raise InputError.single(
            "map",
            "grid",
            found=f"the page's map projection is off by {error_m:.2f} m over the grid",
            expected=f"less than {LARGEST_ERROR_M} m",
            fix="make the practice area or `around` in [grid] smaller",
        )
    return PlaceFit(*mid, *half, x_m, y_m, error_m)


def lonlat_box(frame: LocalFrame, grid: Grid) -> tuple[float, float, float, float]:
    """West, south, east, north in degrees of the smallest box that holds a grid's edges."""
    along = np.linspace(0.0, 1.0, 65)
    x_m = grid.x_min_m + along * grid.cols * grid.cell_m
    y_m = grid.y_max_m - along * grid.rows * grid.cell_m
    edges_x = np.concatenate([x_m, x_m, np.full(65, x_m[0]), np.full(65, x_m[-1])])
    edges_y = np.concatenate([np.full(65, y_m[0]), np.full(65, y_m[-1]), y_m, y_m])
    lon, lat = frame.to_lonlat(edges_x, edges_y)
    # 1e-5 degrees, about a metre: edges bulge between the sampled places by far less.
    return (
        float(lon.min()) - 1e-5,
        float(lat.min()) - 1e-5,
        float(lon.max()) + 1e-5,
        float(lat.max()) + 1e-5,
    )
