"""The one door to the GDAL-based packages, with a clean environment behind it.

A `PROJ_DATA`, `PROJ_LIB` or `GDAL_DATA` that another program has set points rasterio and pyogrio at
a database of the wrong version: coordinate systems then fail to open. The wheels carry their own
data, so the variables are cleared before either package is imported.
"""

from __future__ import annotations

import os
from types import ModuleType
from typing import Final

_MISLEADING: Final = ("PROJ_DATA", "PROJ_LIB", "GDAL_DATA")


def clear_data_variables() -> None:
    """Remove the variables that lead GDAL and PROJ to another program's data."""
    for variable in _MISLEADING:
        os.environ.pop(variable, None)


def load_rasterio() -> ModuleType:
    """Import rasterio in a clean environment."""
    clear_data_variables()
    import rasterio

    return rasterio  # type: ignore[no-any-return, unused-ignore]


def load_pyogrio() -> ModuleType:
    """Import pyogrio in a clean environment."""
    clear_data_variables()
    import pyogrio
    import pyogrio.raw

    return pyogrio  # type: ignore[no-any-return, unused-ignore]


def load_pyproj() -> ModuleType:
    """Import pyproj in a clean environment."""
    clear_data_variables()
    import pyproj

    return pyproj  # type: ignore[no-any-return, unused-ignore]
