"""What the strips of a field are: the form in which measured strips travel."""

from __future__ import annotations

from attrs import frozen

from areaplan.grid import Float64Array, Int32Array

DIRECTIONS = 36
DIRECTION_STEP_DEG = 10.0


@frozen(eq=False)
class Strips:
    """The best strip of one field for each landing direction.

    Entry i is for landing on the bearing 10 i degrees true. Arrays of shape (36,) unless said
    otherwise; zero length and NaN places where no strip of the needed width fits.

    Attributes
    ----------
    touchdown_m, rollout_m : float64 array, shape (36, 2)
        Middle of the strip's two ends, local metres: where the landing comes in, and where it ends.
    length_m : float64 array
        Between the two, all inside the field at the needed width.
    lost_before_m, lost_after_m : float64 array
        Length lost at the end landed over, behind what stands there (height times the approach
        slope), and kept clear at the other end.
    usable_m : float64 array
        Length less both, not below 0. Both are what makes one direction of an axis longer than
        the other.
    slope : float64 array
        Rise over run in the direction of landing, positive uphill; NaN where the ground is unknown.
    steepest : float64 array
        Greatest slope, either sign, over any stretch of the strip that the ground's cells can tell.
    roughness_m : float64 array
        Standard deviation of the ground about the strip's own plane.
    obstacle : int32 array
        Which feature costs most at the end landed over; -1 where none.
    """

    touchdown_m: Float64Array
    rollout_m: Float64Array
    length_m: Float64Array
    lost_before_m: Float64Array
    lost_after_m: Float64Array
    usable_m: Float64Array
    slope: Float64Array
    steepest: Float64Array
    roughness_m: Float64Array
    obstacle: Int32Array
