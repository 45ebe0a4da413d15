"""A point mass flown by its bank alone: scipy's ODE solver, and nothing of the engine's geometry.

Heading rate g tan(bank) / V; over the ground the air velocity plus the wind. Bank and airspeed are
given at samples; between two samples of one stretch they follow a cubic spline. Where an instant
stands twice the bank jumps, and a new stretch begins.
"""

import math
from itertools import pairwise

import numpy as np
from scipy.integrate import solve_ivp
from scipy.interpolate import CubicSpline

G = 9.80665


def stretches(time_s):
    """Index pairs (first, one past the last) between the instants that stand twice."""
    cuts = [0, *(np.flatnonzero(np.diff(time_s) == 0.0) + 1), len(time_s)]
    return list(pairwise(cuts))


def fly(time_s, bank_deg, tas_mps, wind_from_deg, wind_mps, place, heading_deg):
    """East, north (m) and heading (degrees, running on) at every sample.

    `tas_mps` an array like `bank_deg`; `place` (east, north) and `heading_deg` at the entry.
    """
    source = math.radians(wind_from_deg)
    drift = -wind_mps * math.sin(source), -wind_mps * math.cos(source)
    state = np.array([*place, math.radians(heading_deg)])
    found = []
    for first, past in stretches(time_s):
        times = time_s[first:past]
        if len(times) == 1:
            found.append(state[:, np.newaxis])
            continue
        bank = CubicSpline(times, np.radians(bank_deg[first:past]))
        speed = CubicSpline(times, tas_mps[first:past])

        def slope(t, y, bank=bank, speed=speed):
            v = float(speed(t))
            return [
                v * math.sin(y[2]) + drift[0],
                v * math.cos(y[2]) + drift[1],
                G * math.tan(float(bank(t))) / v,
            ]

        flown = solve_ivp(
            slope, (times[0], times[-1]), state, t_eval=times, rtol=1e-8, atol=1e-8, method="DOP853"
        )
        assert flown.success, flown.message
        found.append(flown.y)
        state = flown.y[:, -1]
    east, north, heading = np.concatenate(found, axis=1)
    return east, north, np.degrees(heading)
