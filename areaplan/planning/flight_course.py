"""A recorded flight as points to judge: every half cell along the line between its fixes."""

from __future__ import annotations

import numpy as np
from attrs import frozen

from areaplan.atmosphere import altimeter_offset_m
from areaplan.errors import InputError
from areaplan.geodesy import LocalFrame
from areaplan.grid import BoolArray, Float64Array
from areaplan.planning.flown import Course
from areaplan.sources.recorded_flight import RecordedFlight

LONGEST_STEP_S = 20.0  # over more than this nobody knows where the aeroplane was
_STANDING_M = 1.0  # a shorter step has no direction


@frozen(eq=False)
class FlightCourse:
    """Arrays of shape (n,), in the order flown.

    Attributes
    ----------
    course : Course
        The middle of each piece; altitude NaN where not recorded, track NaN where standing.
    time_s : float64 array
        Of that middle, seconds since the recording began.
    lasts_s : float64 array
        What each piece stands for.
    groundspeed_mps : float64 array
    is_doubtful : bool array
        The recording itself can't be believed there.
    gaps_s : tuple of (float, float)
        Begin and end of each time within the flight in which nothing was recorded.
    """

    course: Course
    time_s: Float64Array
    lasts_s: Float64Array
    groundspeed_mps: Float64Array
    is_doubtful: BoolArray
    gaps_s: tuple[tuple[float, float], ...]


def altitudes_flown(
    flight: RecordedFlight, altimeter_setting_pa: float | None
) -> tuple[Float64Array, str]:
    """Altitude of each point in metres, and in words where it comes from.

    Pressure altitudes with the altimeter setting give what an altimeter showed, by which legal
    altitudes are flown. Without a setting the satellite altitudes are taken.

    Parameters
    ----------
    flight : RecordedFlight
    altimeter_setting_pa : float or None
        Pascals.

    Returns
    -------
    tuple of float64 array, str
        Metres AMSL, shape (n,), NaN where not recorded.

    Raises
    ------
    InputError
        Neither kind of altitude can be used.
    """
    has_pressure = bool(np.isfinite(flight.pressure_altitude_m).any())
    has_gnss = bool(np.isfinite(flight.gnss_amsl_m).any())
    if has_pressure and altimeter_setting_pa is not None:
        offset_m = altimeter_offset_m(altimeter_setting_pa)
        words = f"pressure altitude with the altimeter at {altimeter_setting_pa / 100.0:.1f} hPa"
        return flight.pressure_altitude_m + offset_m, words
    if has_gnss:
        why = ", which holds no pressure altitudes" if altimeter_setting_pa is not None else ""
        return flight.gnss_amsl_m, f"satellite altitude of the recording{why}"
    found = "pressure altitudes alone" if has_pressure else "no altitude that can be used"
    raise InputError.single(
        flight.name,
        "",
        found=found,
        expected="pressure altitudes with an altimeter setting, or altitudes above mean sea level",
        fix='give --altimeter, such as "1013.2 hPa" or "29.92 inHg"'
        if has_pressure
        else "take a recording that holds altitudes",
    )


def flight_course(
    flight: RecordedFlight, altitude_amsl_m: Float64Array, frame: LocalFrame, cell_m: float
) -> FlightCourse:
    """Cut the line between fixes into pieces of at most half a cell.

    Assumptions: between two fixes the aeroplane flew straight, at a steady speed and climb.

    Parameters
    ----------
    flight : RecordedFlight
    altitude_amsl_m : float64 array, shape (n,)
        As `altitudes_flown`.
    frame : LocalFrame
    cell_m : float
        Side of a cell, metres.

    Raises
    ------
    InputError
        No two fixes follow each other closely enough.
    """
    x_m, y_m = (np.asarray(each) for each in frame.to_local(flight.lon, flight.lat))
    step_s = np.diff(flight.time_s)
    is_whole = (np.diff(flight.segment) == 0) & (step_s <= LONGEST_STEP_S)
    if not is_whole.any():
        raise InputError.single(
            flight.name,
            "",
            found="no two points follow each other closely",
            expected=f"a point at least every {LONGEST_STEP_S:g} s",
            fix="record with a shorter interval",
        )
    first = np.flatnonzero(is_whole)
    east, north = np.diff(x_m)[first], np.diff(y_m)[first]
    length_m, span_s = np.hypot(east, north), step_s[first]
    pieces = np.maximum(1, np.ceil(length_m / (cell_m / 2.0))).astype(np.int64)
    leg = np.repeat(np.arange(first.size), pieces)
    number = np.arange(leg.size) - np.repeat(np.cumsum(pieces) - pieces, pieces)
    share = (number + 0.5) / pieces[leg]
    track = np.degrees(np.arctan2(east, north)) % 360.0
    track[length_m < _STANDING_M] = np.nan
    climb_m = np.diff(altitude_amsl_m)[first]
    at = first[leg]
    return FlightCourse(
        course=Course(
            x_m[at] + share * east[leg],
            y_m[at] + share * north[leg],
            altitude_amsl_m[at] + share * climb_m[leg],
            track[leg],
        ),
        time_s=flight.time_s[at] + share * span_s[leg],
        lasts_s=(span_s / pieces)[leg],
        groundspeed_mps=(length_m / span_s)[leg],
        is_doubtful=(flight.is_doubtful[:-1] & flight.is_doubtful[1:])[at],
        gaps_s=tuple(
            (float(flight.time_s[k]), float(flight.time_s[k + 1]))
            for k in np.flatnonzero(~is_whole)
        ),
    )
