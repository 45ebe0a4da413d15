"""The wind triangle, solved from either end.

Takes numbers or arrays that broadcast; directions in degrees true, a wind by where it blows *from*.
Assumption: a steady horizontal wind, the same at all heights, but for `winds_between`.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike

from areaplan.engine.ranges import within
from areaplan.grid import Float64Array


def heading_for_track(
    track_deg_true: ArrayLike,
    tas_mps: ArrayLike,
    wind_speed_mps: ArrayLike,
    wind_from_deg_true: ArrayLike,
) -> tuple[Float64Array, Float64Array]:
    """Solve the wind triangle for a wanted track.

    With a the angle from the track to where the wind blows from, W its speed and V the airspeed:
    crab = asin(W sin(a) / V), groundspeed = V cos(crab) - W cos(a).

    Parameters
    ----------
    track_deg_true : float or array
        Direction over the ground, degrees true.
    tas_mps : float or array
        Horizontal true airspeed, m/s, above 0.
    wind_speed_mps, wind_from_deg_true : float or array
        The wind, m/s (at least 0) and degrees true.

    Returns
    -------
    heading_deg_true, groundspeed_mps : tuple of float or array
        Heading in [0, 360) and groundspeed; both NaN where no heading makes headway along the
        track.

    Raises
    ------
    ValueError
        An airspeed not above 0, or a negative wind speed.

    References
    ----------
    FAA-H-8083-25, "Wind triangle or vector analysis" (the law of sines in that triangle).
    """
    track = np.asarray(track_deg_true, dtype=np.float64)
    speed = within(tas_mps, "airspeed in m/s", 0.0, is_open=True)
    wind = within(wind_speed_mps, "wind speed in m/s", 0.0)
    angle = np.radians(np.asarray(wind_from_deg_true, dtype=np.float64) - track)
    across = wind * np.sin(angle)
    along_air = np.sqrt(np.maximum(speed**2 - across**2, 0.0))
    groundspeed = along_air - wind * np.cos(angle)
    is_going = (np.abs(across) <= speed) & (groundspeed > 0.0)
    heading = (track + np.degrees(np.arctan2(across, along_air))) % 360.0
    return np.where(is_going, heading, np.nan)[()], np.where(is_going, groundspeed, np.nan)[()]


def track_for_heading(
    heading_deg_true: ArrayLike,
    tas_mps: ArrayLike,
    wind_speed_mps: ArrayLike,
    wind_from_deg_true: ArrayLike,
) -> tuple[Float64Array, Float64Array]:
    """Add the wind to a heading: the track made good and the groundspeed.

    Parameters and errors as `heading_for_track`, with the heading in place of the track.

    Returns
    -------
    track_deg_true, groundspeed_mps : tuple of float or array
        Track in [0, 360); NaN where the aircraft stands still over the ground.
    """
    heading = np.radians(np.asarray(heading_deg_true, dtype=np.float64))
    speed = within(tas_mps, "airspeed in m/s", 0.0, is_open=True)
    wind = within(wind_speed_mps, "wind speed in m/s", 0.0)
    source = np.radians(np.asarray(wind_from_deg_true, dtype=np.float64))
    east = speed * np.sin(heading) - wind * np.sin(source)
    north = speed * np.cos(heading) - wind * np.cos(source)
    groundspeed = np.hypot(east, north)
    track = np.degrees(np.arctan2(east, north)) % 360.0
    return np.where(groundspeed > 0.0, track, np.nan)[()], groundspeed[()]


def wind_vectors(speed_mps: ArrayLike, from_deg_true: ArrayLike) -> Float64Array:
    """Where winds blow to: metres a second east and north on a new last axis."""
    speed = within(speed_mps, "wind speed in m/s", 0.0)[..., np.newaxis]
    source = np.radians(np.asarray(from_deg_true, dtype=np.float64))
    blowing_to: Float64Array = -speed * np.stack([np.sin(source), np.cos(source)], axis=-1)
    return blowing_to


def winds_between(
    rows: Sequence[tuple[float, float]], step_mps: float
) -> tuple[Float64Array, Float64Array]:
    """Winds along a profile whose vector changes evenly from each row to the next.

    Parameters
    ----------
    rows : sequence of (float, float)
        Speed in m/s and where it blows from, degrees true; at least one.
    step_mps : float
        Farthest that two winds that follow each other may lie apart, m/s, above 0.

    Returns
    -------
    speed_mps, from_deg_true : float64 arrays
        The rows as they were given, and winds between them.
    """
    speed, source = (np.array(column, dtype=np.float64) for column in zip(*rows, strict=True))
    ends = wind_vectors(speed, source)
    speeds, sources = [speed[:1]], [source[:1]]
    for i in range(1, len(rows)):
        count = max(1, int(np.ceil(np.hypot(*(ends[i] - ends[i - 1])) / step_mps)))
        share = np.arange(1, count)[:, np.newaxis] / count
        east, north = ((1.0 - share) * ends[i - 1] + share * ends[i]).T
        speeds += [np.hypot(east, north), speed[i : i + 1]]
        sources += [np.degrees(np.arctan2(-east, -north)) % 360.0, source[i : i + 1]]
    return np.concatenate(speeds), np.concatenate(sources)
