"""Whether a recording contradicts the altimeter setting that it is judged by.

A wrong setting moves every margin alike, and nothing else in a review would show it. A recording
that also holds satellite altitudes above mean sea level can.
"""

from __future__ import annotations

import numpy as np
from attrs import frozen

from areaplan.grid import BoolArray
from areaplan.planning.flight_course import FlightCourse
from areaplan.sources.recorded_flight import RecordedFlight
from areaplan.units import feet_text, feet_up


@frozen
class AltitudeCheck:
    """What comparing the two kinds of altitude showed.

    Attributes
    ----------
    difference_ft : int or None
        Altitude by the altimeter setting less the satellite one, the median along the flight,
        whole feet rounded away from 0; None where they were not compared.
    contradiction : str
        One sentence to be told before all else; empty unless they differ by more than the
        uncertainty.
    note : str
        What the contradiction means, or why nothing was compared; empty where they agree, and
        where the recording holds one kind alone and is judged by that.
    """

    difference_ft: int | None = None
    contradiction: str = ""
    note: str = ""


def check_altitudes(
    flight: RecordedFlight,
    altimeter_setting_pa: float | None,
    by_setting: FlightCourse,
    by_satellites: FlightCourse,
    is_judged: BoolArray,
    uncertainty_ft: int,
) -> AltitudeCheck:
    """Compare the altitudes by the altimeter setting with the satellite ones.

    The median is taken over the pieces judged, as the verdict rests on them; over the whole flight
    where the two kinds were not recorded together there. Half the pieces can be wild without
    moving it.

    Assumption: the air has the standard's temperature. In air warmer or colder an altimeter rightly
    set is off by a share of the height above the place that the setting is for, and nothing in the
    recording tells this from a wrong setting.

    Parameters
    ----------
    flight : RecordedFlight
    altimeter_setting_pa : float or None
        Pascals.
    by_setting : FlightCourse
        With the altitudes of `flight_course.altitudes_flown`.
    by_satellites : FlightCourse
        The same pieces with the satellite altitudes.
    is_judged : bool array
        Of the pieces.
    uncertainty_ft : int
        Of the altitudes judged by, either way.
    """
    if not np.isfinite(flight.pressure_altitude_m).any():
        return AltitudeCheck()
    has_satellites = bool(np.isfinite(flight.gnss_amsl_m).any())
    if altimeter_setting_pa is None:
        return AltitudeCheck(note="Pressure altitudes were not compared: no altimeter setting.")
    difference_m = by_setting.course.altitude_amsl_m - by_satellites.course.altitude_amsl_m
    is_both = np.isfinite(difference_m) & ~by_setting.is_doubtful
    if not is_both.any():
        why = (
            "the two kinds were not recorded together"
            if has_satellites
            else "the recording holds none that is said to be above mean sea level"
        )
        return AltitudeCheck(
            note="The altimeter setting was not compared with satellite altitudes, so a wrong "
            f"setting would not show: {why}."
        )
    chosen = is_both & is_judged if (is_both & is_judged).any() else is_both
    median_m = float(np.median(difference_m[chosen]))
    size_ft = feet_up(abs(median_m))
    difference_ft = -size_ft if median_m < 0.0 else size_ft
    if size_ft <= uncertainty_ft:
        return AltitudeCheck(difference_ft)
    higher = "higher" if median_m > 0.0 else "lower"
    return AltitudeCheck(
        difference_ft,
        f"The altimeter setting and the satellite altitudes differ by {feet_text(size_ft)}: one of "
        "them is wrong.",
        f"The margins and times told go by the altimeter setting, {feet_text(size_ft)} {higher} "
        "than by the satellite altitudes; the verdict rests on neither alone. Air much warmer or "
        "colder than the standard can make part of the difference.",
    )
