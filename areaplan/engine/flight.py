"""Formulas of level and gliding flight: turns, the glide in wind, the stop on the ground.

Every function takes numbers or arrays that broadcast against each other, and answers with a NumPy
number or array. NaN in gives NaN out. Angles are in degrees, directions in degrees true; a wind is
given by the direction that it blows *from*.

Notes
-----
Assumptions throughout: a steady wind, the same at all heights; steady flight without slip; the
standard acceleration of gravity.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from areaplan.engine.ranges import within
from areaplan.engine.wind import heading_for_track
from areaplan.grid import Float64Array

STANDARD_GRAVITY_MPS2: Final = 9.80665  # NIST SP 330 (2019), 3rd CGPM resolution 2


def load_factor(bank_deg: ArrayLike) -> Float64Array:
    """Load factor of a level turn, 1 / cos(bank), in units of g.

    Parameters
    ----------
    bank_deg : float or array
        At least 0, below 90.

    Raises
    ------
    ValueError
        A bank outside that range.

    References
    ----------
    FAA-H-8083-25, *Pilot's Handbook of Aeronautical Knowledge*, "Load factors in steep turns".
    """
    bank = within(bank_deg, "bank in degrees", 0.0, below=90.0)
    return 1.0 / np.cos(np.radians(bank))


def stall_speed(level_stall_speed_mps: ArrayLike, load_factor_g: ArrayLike) -> Float64Array:
    """Stalling speed under a load factor, m/s: the level one times its square root.

    Parameters
    ----------
    level_stall_speed_mps : float or array
        Stalling speed wings level at 1 g, m/s, at least 0.
    load_factor_g : float or array
        At least 0, in units of g; see `load_factor` for that of a turn.

    Raises
    ------
    ValueError
        A negative value.

    References
    ----------
    FAA-H-8083-25, "Load factors and stalling speeds".
    """
    speed = within(level_stall_speed_mps, "stall speed in m/s", 0.0)
    return speed * np.sqrt(within(load_factor_g, "load factor", 0.0))


def turn_radius(tas_mps: ArrayLike, bank_deg: ArrayLike) -> Float64Array:
    """Radius of a level turn through the air, V^2 / (g tan(bank)), metres.

    Parameters
    ----------
    tas_mps : float or array
        True airspeed, m/s, above 0.
    bank_deg : float or array
        Above 0, below 90.

    Raises
    ------
    ValueError
        A value outside these ranges.

    References
    ----------
    FAA-H-8083-25, "Radius of turn" (there in knots and feet, with the constant 11.26).
    """
    speed = within(tas_mps, "airspeed in m/s", 0.0, is_open=True)
    return speed**2 / (STANDARD_GRAVITY_MPS2 * _tan_bank(bank_deg))


def turn_rate(tas_mps: ArrayLike, bank_deg: ArrayLike) -> Float64Array:
    """Rate of a level turn, g tan(bank) / V, degrees per second.

    Parameters and errors as `turn_radius`.

    References
    ----------
    FAA-H-8083-25, "Rate of turn".
    """
    speed = within(tas_mps, "airspeed in m/s", 0.0, is_open=True)
    return np.degrees(STANDARD_GRAVITY_MPS2 * _tan_bank(bank_deg) / speed)


def turn_time(
    tas_mps: ArrayLike, bank_deg: ArrayLike, angle_deg: ArrayLike = 360.0
) -> Float64Array:
    """Seconds that a level turn through an angle (a full circle unless said) takes.

    Parameters and errors as `turn_radius`; `angle_deg` at least 0.
    """
    angle = within(angle_deg, "angle in degrees", 0.0)
    return angle / turn_rate(tas_mps, bank_deg)


def radius_at_rate(tas_mps: ArrayLike, rate_deg_per_s: ArrayLike) -> Float64Array:
    """Radius of a turn of given rate (3 degrees per second: "rate one"), metres: V / rate.

    Raises
    ------
    ValueError
        Airspeed or rate not above 0.
    """
    speed = within(tas_mps, "airspeed in m/s", 0.0, is_open=True)
    rate = within(rate_deg_per_s, "rate in degrees per second", 0.0, is_open=True)
    return speed / np.radians(rate)


def glide_speeds(tas_mps: ArrayLike, glide_ratio: ArrayLike) -> tuple[Float64Array, Float64Array]:
    """Split the airspeed of a glide into its horizontal part and its sink, both m/s.

    A ratio r is distance through the air over height lost, so the path is inclined by
    atan(1 / r): horizontal V r / sqrt(1 + r^2), sink V / sqrt(1 + r^2).

    Parameters
    ----------
    tas_mps : float or array
        True airspeed along the path, m/s, above 0.
    glide_ratio : float or array
        Above 0.

    Raises
    ------
    ValueError
        A value not above 0.

    References
    ----------
    FAA-H-8083-3, *Airplane Flying Handbook*, ch. 3: "if an airplane travels 10,000 feet forward
    while descending 1,000 feet, its glide ratio is said to be 10 to 1".
    """
    speed = within(tas_mps, "airspeed in m/s", 0.0, is_open=True)
    ratio = within(glide_ratio, "glide ratio", 0.0, is_open=True)
    sink = speed / np.sqrt(1.0 + ratio**2)
    return sink * ratio, sink


def loss_per_metre(
    track_deg_true: ArrayLike,
    tas_mps: ArrayLike,
    glide_ratio: ArrayLike,
    wind_speed_mps: ArrayLike,
    wind_from_deg_true: ArrayLike,
) -> Float64Array:
    """Height lost per metre of ground along a track in wind: sink over groundspeed.

    Parameters
    ----------
    track_deg_true : float or array
        Direction over the ground, degrees true.
    tas_mps : float or array
        True airspeed along the path, m/s, above 0.
    glide_ratio : float or array
        Still-air ratio at that speed, above 0.
    wind_speed_mps, wind_from_deg_true : float or array
        The wind, m/s (at least 0) and degrees true.

    Returns
    -------
    float or array
        Metres per metre; infinity where there is no headway along the track.

    Raises
    ------
    ValueError
        A value outside these ranges.

    Notes
    -----
    The greatest loss over a range of airspeeds stands at one of its two ends. With t the tail
    wind and q the cross wind along the track, s and c the sine and cosine of the glide angle and
    u = sqrt(c^2 V^2 - q^2), the loss is s V / (t + u). The sign of its slope over V is that of
    t u - q^2. Without a tail wind (t <= 0) that is never positive: the slowest speed is worst.
    With one, u grows with V, so the sign turns at most once, from - to +: the loss first falls,
    then rises. Either way no speed between two others loses more than the worse of them.
    """
    horizontal, sink = glide_speeds(tas_mps, glide_ratio)
    _, groundspeed = heading_for_track(
        track_deg_true, horizontal, wind_speed_mps, wind_from_deg_true
    )
    # No headway comes back as NaN; a NaN that was given must stay one.
    is_stuck = np.isnan(groundspeed) & ~np.isnan(
        horizontal
        + np.asarray(track_deg_true, dtype=np.float64)
        + np.asarray(wind_speed_mps, dtype=np.float64)
        + np.asarray(wind_from_deg_true, dtype=np.float64)
    )
    return np.where(is_stuck, np.inf, sink / groundspeed)[()]


def glide_ratio_in_shear(glide_ratio: float, tas_mps: float, shear_per_s: float) -> float:
    """Least ratio of a glide down through a wind that changes with height.

    Parameters
    ----------
    glide_ratio : float
        Ratio in a steady wind, above 0.
    tas_mps : float
        Greatest true airspeed flown, m/s, above 0.
    shear_per_s : float
        Greatest change of the wind vector with height, m/s per metre, at least 0.

    Returns
    -------
    float
        0 where the shear takes all the aircraft can give: no steady glide is left.

    Raises
    ------
    ValueError
        A value outside these ranges.

    Notes
    -----
    To keep its airspeed V the aircraft is speeded up over the ground as fast as the wind ahead of
    it falls off: sin G = D / W + (dw/dt) / g along its path. Sinking at V sin G through a shear k
    the wind changes by at most k V sin G a second, so sin G <= sin(G0) / (1 - k V / g), with
    D / W <= sin(G0) = 1 / sqrt(1 + r^2) at the speed of the steady glide. (DERIVED here.)
    """
    ratio = float(within(glide_ratio, "glide ratio", 0.0, is_open=True))
    speed = float(within(tas_mps, "airspeed in m/s", 0.0, is_open=True))
    shear = float(within(shear_per_s, "shear per second", 0.0))
    if shear == 0.0:
        return ratio
    left = 1.0 - shear * speed / STANDARD_GRAVITY_MPS2
    over = left * left * (1.0 + ratio * ratio) - 1.0  # 1 / sin^2 - 1 of the glide in the shear
    return float(np.sqrt(over)) if left > 0.0 and over > 0.0 else 0.0


def glide_distance(height_m: ArrayLike, glide_ratio: ArrayLike) -> Float64Array:
    """Distance covered in still air from a height, metres: height times ratio.

    Raises
    ------
    ValueError
        A negative height or a ratio not above 0.

    References
    ----------
    FAA-H-8083-3, ch. 3, as in `glide_speeds`.
    """
    height = within(height_m, "height in metres", 0.0)
    return height * within(glide_ratio, "glide ratio", 0.0, is_open=True)


def gliding_turn_loss(
    tas_mps: ArrayLike, glide_ratio: ArrayLike, bank_deg: ArrayLike, angle_deg: ArrayLike
) -> Float64Array:
    """Height lost in a gliding turn flown at the level glide's lift coefficient, metres.

    Speed is that of the straight glide times sqrt(n), sink that of the straight glide times
    n^1.5, so the height lost per radian is 2 V^2 / (g r sin(2 bank)), least at 45 degrees.

    Parameters
    ----------
    tas_mps : float or array
        True airspeed V of the *straight* glide, m/s, above 0.
    glide_ratio : float or array
        Ratio r of the straight glide, above 0.
    bank_deg : float or array
        Above 0, below 90.
    angle_deg : float or array
        Angle turned through, at least 0.

    Raises
    ------
    ValueError
        A value outside these ranges.

    Notes
    -----
    - The path's slope is taken as small. With it (glide angle G in the turn, G1 straight) the loss
      is cos(G)^2 / cos(G1) times this one, which is less: the formula errs on the safe side.
    - Rolling in and out is not counted: the reaction time has to hold it.

    References
    ----------
    Welch, Welch and Irving, *The Complete Soaring Pilot's Handbook*, table of circling flight.
    """
    speed = within(tas_mps, "airspeed in m/s", 0.0, is_open=True)
    ratio = within(glide_ratio, "glide ratio", 0.0, is_open=True)
    bank = within(bank_deg, "bank in degrees", 0.0, below=90.0, is_open=True)
    angle = np.radians(within(angle_deg, "angle in degrees", 0.0))
    weight = STANDARD_GRAVITY_MPS2 * ratio * np.sin(np.radians(2.0 * bank))
    return 2.0 * speed**2 / weight * angle


def least_loss_bank(drag_quotient: ArrayLike) -> Float64Array:
    """Bank that loses the least height per angle turned just above the stall, degrees.

    cos(bank) = sqrt(1/2) sqrt(1 - k^2).

    Parameters
    ----------
    drag_quotient : float or array
        k = C_D0 / C_Lmax + C_Lmax / (pi e A), from 0 to below 1.

    Raises
    ------
    ValueError
        A value outside that range.

    References
    ----------
    J. T. Lowry, *Performance of Light Aircraft* (AIAA 1999), gliding turns.
    """
    quotient = within(drag_quotient, "drag quotient", 0.0, below=1.0)
    return np.degrees(np.arccos(np.sqrt(0.5 * (1.0 - quotient**2))))


def kinetic_height(tas_mps: ArrayLike) -> Float64Array:
    """Height that a speed is worth, V^2 / (2 g), metres.

    Raises
    ------
    ValueError
        A negative speed.
    """
    return within(tas_mps, "airspeed in m/s", 0.0) ** 2 / (2.0 * STANDARD_GRAVITY_MPS2)


def stopping_distance(groundspeed_mps: ArrayLike, deceleration_g: ArrayLike) -> Float64Array:
    """Distance of a stop at even deceleration, v^2 / (2 n g), metres.

    Parameters
    ----------
    groundspeed_mps : float or array
        At touchdown, m/s, at least 0.
    deceleration_g : float or array
        n, above 0, in units of g.

    Raises
    ------
    ValueError
        A value outside these ranges.

    References
    ----------
    FAA-H-8083-3C, p. 18-3 (9 g from 50 and 100 mph).
    """
    deceleration = within(deceleration_g, "deceleration in g", 0.0, is_open=True)
    return kinetic_height(groundspeed_mps) / deceleration


def _tan_bank(bank_deg: ArrayLike) -> Float64Array:
    bank = within(bank_deg, "bank in degrees", 0.0, below=90.0, is_open=True)
    return np.tan(np.radians(bank))
