"""The winds that a glide may meet: the project's wind at the ground, and its table of winds aloft.

The combination is conservative: the wind vector changes evenly with altitude, from the lowest
ground (where [wind] blows) to the first row and from row to row; each wind of that profile, up to
`glide.ABOVE_PLANNED_M` above the highest planned altitude, is taken as if it might blow at every
height, and every surface takes the greatest loss over all of them, in every direction. What the
change itself costs comes off the glide ratio (`flight.glide_ratio_in_shear`). Above the highest row
its wind is held; the table has to reach the highest planned altitude.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from attrs import frozen

from areaplan.engine.flight import STANDARD_GRAVITY_MPS2, glide_ratio_in_shear
from areaplan.engine.wind import wind_vectors
from areaplan.errors import InputError
from areaplan.planning.project import Project
from areaplan.units import FOOT_M, KNOT_MPS, Wind

# A row as near the lowest ground as this, or below it, is taken as this far above: the wind at the
# ground is itself one at 10 m or so, and no instrument tells its change over less.
THINNEST_LAYER_M: Final = 100.0 * FOOT_M
# Beyond this share of g a glide that keeps its airspeed is no longer a steady one.
MOST_OF_GRAVITY: Final = 0.5


@frozen
class WindsMet:
    """Winds from the ground upwards, and every mixture of two that follow each other.

    Attributes
    ----------
    winds : tuple of Wind
        At least one; the first blows at the ground.
    shear_per_s : float
        Greatest change of the wind vector with height, m/s per metre.
    """

    winds: tuple[Wind, ...]
    shear_per_s: float = 0.0

    @property
    def speed_mps(self) -> tuple[float, ...]:
        """Speeds, from the ground upwards."""
        return tuple(wind.speed_mps for wind in self.winds)

    @property
    def from_deg_true(self) -> tuple[float, ...]:
        """Where they blow from, from the ground upwards."""
        return tuple(wind.from_deg_true for wind in self.winds)

    @property
    def aloft(self) -> tuple[tuple[float, float], ...]:
        """Speed and direction of all but the first."""
        return tuple(zip(self.speed_mps[1:], self.from_deg_true[1:], strict=True))

    def glide_ratio(self, steady_ratio: float, fastest_mps: float, project: Project) -> float:
        """Ratio of the steady glide, less what the change of the wind costs.

        Raises
        ------
        InputError
            The wind changes faster than a steady glide can follow.
        """
        if self.shear_per_s * fastest_mps > MOST_OF_GRAVITY * STANDARD_GRAVITY_MPS2:
            per_100_ft = self.shear_per_s * THINNEST_LAYER_M / KNOT_MPS
            most = MOST_OF_GRAVITY * STANDARD_GRAVITY_MPS2 / fastest_mps
            raise InputError.single(
                str(project.path),
                "wind_aloft",
                found=f"a wind that changes by {per_100_ft:.0f} kt in 100 ft",
                expected=f"at most {most * THINNEST_LAYER_M / KNOT_MPS:.0f} kt in 100 ft",
                fix="check heights and units of the rows; in such a shear nobody trains",
            )
        return glide_ratio_in_shear(steady_ratio, fastest_mps, self.shear_per_s)


def winds_met(project: Project, lowest_m: float, highest_m: float) -> WindsMet:
    """All winds of a project between two altitudes AMSL.

    Parameters
    ----------
    project : Project
    lowest_m : float
        Lowest ground, where the project's wind blows.
    highest_m : float
        Rows above the first one at or above this altitude are left out.

    Returns
    -------
    WindsMet
        The project's wind alone where it has no table.
    """
    rows = project.winds_aloft
    below = [row for row in rows if row.height_amsl_m < highest_m]
    rows = rows[: len(below) + 1]
    if not rows:
        return WindsMet((project.wind,))
    winds = (project.wind, *(row.wind for row in rows))
    vectors = wind_vectors(
        [wind.speed_mps for wind in winds], [wind.from_deg_true for wind in winds]
    )
    change_mps = np.hypot(*np.diff(vectors, axis=0).T)
    heights_m = np.array([lowest_m, *(row.height_amsl_m for row in rows)])
    thickness_m = np.maximum(np.diff(heights_m), THINNEST_LAYER_M)
    return WindsMet(winds, float(np.max(change_mps / thickness_m)))


def refuse_wind_as_fast(project: Project, wind_mps: float, slowest_mps: float) -> None:
    """Refuse a wind as fast as the slowest airspeed that figures are flown at.

    Raises
    ------
    InputError
        It is as fast, or one of the two is not known.
    """
    if not wind_mps < slowest_mps:
        raise InputError.single(
            str(project.path),
            "wind",
            found=f"a wind of {wind_mps / KNOT_MPS:.0f} kt",
            expected=f"below the airspeed of the figures, {slowest_mps / KNOT_MPS:.0f} kt",
            fix="give a wind in which they can be flown",
        )
