"""Something that stands on the ground, as every module that builds makes it."""

from __future__ import annotations

from attrs import frozen
from shapely.geometry.base import BaseGeometry


@frozen(eq=False)
class Standing:
    """A structure in local metres; `height_ft` is None where nobody measured it."""

    name: str
    kind: str
    geometry: BaseGeometry
    height_ft: float | None
