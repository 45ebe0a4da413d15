"""Recorded flights: what a receiver wrote down, pressure and satellite altitudes kept apart."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from pathlib import Path
from typing import Final

import numpy as np
from attrs import frozen

from areaplan.errors import InputError
from areaplan.grid import BoolArray, Float64Array, Int32Array
from areaplan.sources._files import require_file, sha256_of

_FASTEST_MPS: Final = 250.0  # between two points; no light aeroplane moves so fast
_MOST_NOTED: Final = 5  # rejected rows that are told one by one


@frozen(eq=False)
class RecordedFlight:
    """Points in the order of their times; arrays of one shape (n,), n at least 2.

    Attributes
    ----------
    name : str
        The file as named by whoever asked.
    form : str
        "GPX" or "IGC".
    begins : datetime
        UTC, of the first point.
    time_s : float64 array
        Seconds since then, rising.
    lat, lon : float64 array
        Degrees, WGS 84.
    gnss_amsl_m : float64 array
        Satellite altitude above mean sea level, metres; NaN where not recorded, or where what it
        refers to is not mean sea level.
    pressure_altitude_m : float64 array
        In the standard atmosphere, above the 1013.25 hPa surface, metres; NaN where not recorded.
    segment : int32 array
        Number of the piece that a point belongs to: between two pieces nothing was recorded.
    is_doubtful : bool array
        The step to or from the point is faster than any light aeroplane.
    sha256 : str
    rows_read, rows_rejected : int
    notes : tuple of str
        What a person must know: rejected rows and why, what altitudes refer to.
    """

    name: str
    form: str
    begins: datetime
    time_s: Float64Array
    lat: Float64Array
    lon: Float64Array
    gnss_amsl_m: Float64Array
    pressure_altitude_m: Float64Array
    segment: Int32Array
    is_doubtful: BoolArray
    sha256: str
    rows_read: int
    rows_rejected: int
    notes: tuple[str, ...] = ()

    def __len__(self) -> int:
        return int(self.time_s.size)


@frozen
class Row:
    """One point as read: where, when, how high; `place` names it in messages."""

    place: str
    time: datetime
    lat: float
    lon: float
    gnss_amsl_m: float
    pressure_altitude_m: float
    segment: int


def read_flight(path: Path, name: str) -> RecordedFlight:
    """Read a recorded flight by the ending of its file.

    Parameters
    ----------
    path : Path
    name : str
        As whoever asked writes it, for messages.

    Raises
    ------
    InputError
        No such file, no known form, or fewer than two usable points.
    """
    # Imported here: each reader imports this module's classes.
    from areaplan.sources.recorded_gpx import read_gpx
    from areaplan.sources.recorded_igc import read_igc

    readers = {".gpx": read_gpx, ".igc": read_igc}
    reader = readers.get(path.suffix.lower())
    if reader is None:
        raise InputError.single(
            name,
            "",
            found=f'a file ending in "{path.suffix}"',
            expected="a recorded flight ending in .gpx or .igc",
            fix="save the recording as GPX 1.1 or IGC",
        )
    require_file(path, name)
    return reader(path, name)


def as_flight(
    rows: Sequence[Row],
    rejected: Sequence[str],
    notes: Sequence[str],
    *,
    path: Path,
    name: str,
    form: str,
) -> RecordedFlight:
    """Put rows into arrays; rows whose time does not go on are rejected and told.

    Raises
    ------
    InputError
        Fewer than two usable points.
    """
    refused = list(rejected)
    kept: list[Row] = []
    for row in rows:
        if kept and row.time <= kept[-1].time:
            refused.append(f"{row.place}: its time is not later than the point before")
        else:
            kept.append(row)
    if len(kept) < 2:
        raise InputError.single(
            name,
            "",
            found=f"{len(kept)} usable points" + (f" ({refused[0]})" if refused else ""),
            expected="at least two points with place and time",
            fix="export the recorded track, not the planned route, with its times",
        )
    time_s = np.array([(row.time - kept[0].time).total_seconds() for row in kept])
    lat, lon = np.array([row.lat for row in kept]), np.array([row.lon for row in kept])
    segment = np.array([row.segment for row in kept], dtype=np.int32)
    is_doubtful = _too_fast(time_s, lat, lon, segment)
    told = list(notes)
    if is_doubtful.any():
        told.append(
            f"{int(is_doubtful.sum())} points lie at steps faster than {_FASTEST_MPS:g} m/s: "
            "what they say is taken as unknown"
        )
    told += [f"rejected: {text}" for text in refused[:_MOST_NOTED]]
    if len(refused) > _MOST_NOTED:
        told.append(f"rejected: {len(refused) - _MOST_NOTED} more rows")
    return RecordedFlight(
        name=name,
        form=form,
        begins=kept[0].time,
        time_s=time_s,
        lat=lat,
        lon=lon,
        gnss_amsl_m=np.array([row.gnss_amsl_m for row in kept]),
        pressure_altitude_m=np.array([row.pressure_altitude_m for row in kept]),
        segment=segment,
        is_doubtful=is_doubtful,
        sha256=sha256_of([path]),
        rows_read=len(rows) + len(rejected),
        rows_rejected=len(refused),
        notes=tuple(told),
    )


def _too_fast(
    time_s: Float64Array, lat: Float64Array, lon: Float64Array, segment: Int32Array
) -> BoolArray:
    """Both ends of every step within a piece that no light aeroplane could make."""
    from areaplan.sources._environment import load_pyproj

    geod = load_pyproj().Geod(ellps="WGS84")
    _, _, distance_m = geod.inv(lon[:-1], lat[:-1], lon[1:], lat[1:])
    is_fast = np.asarray(distance_m) > _FASTEST_MPS * np.diff(time_s)
    is_fast &= np.diff(segment) == 0
    answer = np.zeros(time_s.shape, dtype=np.bool_)
    answer[:-1] |= is_fast
    answer[1:] |= is_fast
    return answer
