"""Recorded flights: a published record, broken rows told one by one, and hostile files."""

import math
from datetime import UTC, datetime

import numpy as np
import pytest

from areaplan.errors import InputError
from areaplan.render.gpx import GpxPoint, GpxTrack, gpx_bytes
from areaplan.sources.recorded_flight import read_flight

# FAI, Technical Specification for GNSS Flight Recorders, 2nd edition, as quoted in common
# descriptions of the form: 16:02:40 UTC, 54 deg 07.121' N, 2 deg 49.342' W, 280 m pressure,
# 421 m satellite altitude; then additional fields. Date record HFDTE160701: 16 July 2001.
PUBLISHED_B = "B1602405407121N00249342WA002800042120509950"
PUBLISHED_DAY = "HFDTE160701"
GEOID = "HFALGALTGNSS:GEO"


def igc(tmp_path, *lines, name="flight.igc", end="\r\n"):
    path = tmp_path / name
    path.write_bytes((end.join(["AXXX001", *lines]) + end).encode("latin-1"))
    return read_flight(path, name)


def fix(clock, lat="5407121N", lon="00249342W", valid="A", pressure="00280", gnss="00421"):
    return f"B{clock}{lat}{lon}{valid}{pressure}{gnss}"


def test_the_published_record_is_read_as_published(tmp_path):
    flight = igc(tmp_path, PUBLISHED_DAY, GEOID, PUBLISHED_B, fix("160245"))
    assert flight.form == "IGC"
    assert flight.begins == datetime(2001, 7, 16, 16, 2, 40, tzinfo=UTC)
    assert flight.lat[0] == pytest.approx(54.118683, abs=1e-6)
    assert flight.lon[0] == pytest.approx(-2.822367, abs=1e-6)
    assert flight.pressure_altitude_m[0] == 280.0
    assert flight.gnss_amsl_m[0] == 421.0
    assert flight.time_s.tolist() == [0.0, 5.0]
    assert (flight.rows_read, flight.rows_rejected) == (2, 0)


def test_satellite_altitude_counts_only_when_it_is_above_mean_sea_level(tmp_path):
    for said in ((), ("HFALGALTGNSS:ELL",)):
        flight = igc(tmp_path, PUBLISHED_DAY, *said, PUBLISHED_B, fix("160245"))
        assert np.isnan(flight.gnss_amsl_m).all()
        assert flight.pressure_altitude_m.tolist() == [280.0, 280.0]
        assert any("ellipsoid" in note for note in flight.notes)


def test_zeros_are_no_pressure_sensor_and_other_settings_no_pressure_altitude(tmp_path):
    bare = [fix(clock, pressure="00000") for clock in ("160240", "160245")]
    flight = igc(tmp_path, PUBLISHED_DAY, GEOID, *bare)
    assert np.isnan(flight.pressure_altitude_m).all()
    assert flight.gnss_amsl_m.tolist() == [421.0, 421.0]
    flight = igc(tmp_path, PUBLISHED_DAY, "HFALPALTPRESSURE:MSL", PUBLISHED_B, fix("160245"))
    assert np.isnan(flight.pressure_altitude_m).all()


def test_negative_altitudes_and_the_long_form_of_the_date(tmp_path):
    low = fix("160240", pressure="-0035", gnss="-0010")
    flight = igc(tmp_path, "HFDTEDATE:160701,01", GEOID, low, fix("160245"))
    assert flight.begins.date().isoformat() == "2001-07-16"
    assert flight.pressure_altitude_m[0] == -35.0
    assert flight.gnss_amsl_m[0] == -10.0


def test_midnight_is_passed_once(tmp_path):
    rows = [fix("235958"), fix("000003"), fix("000008")]
    flight = igc(tmp_path, PUBLISHED_DAY, *rows)
    assert flight.time_s.tolist() == [0.0, 5.0, 10.0]


def test_each_bad_row_is_rejected_and_told(tmp_path):
    bad = [
        fix("160241", valid="V"),
        fix("160242", lat="5460000N"),
        fix("160243", lat="9107121N"),
        fix("256100"),
        "B16024",
        fix("160239"),
    ]
    flight = igc(tmp_path, fix("160230"), PUBLISHED_DAY, PUBLISHED_B, *bad, fix("160250"))
    assert len(flight) == 2
    assert (flight.rows_read, flight.rows_rejected) == (9, 7)
    told = [note for note in flight.notes if note.startswith("rejected")]
    assert len(told) == 6
    assert "before the date" in told[0]
    assert "no three-dimensional fix" in told[1]
    assert told[-1] == "rejected: 2 more rows"


def test_a_jump_makes_both_its_ends_doubtful(tmp_path):
    rows = [fix("160240"), fix("160245"), fix("160250", lat="5507121N"), fix("160255")]
    flight = igc(tmp_path, PUBLISHED_DAY, *rows)
    assert flight.is_doubtful.tolist() == [False, True, True, True]
    assert any("faster than" in note for note in flight.notes)


@pytest.mark.parametrize(
    ("lines", "words"),
    [
        ([PUBLISHED_B, PUBLISHED_B], "no date"),
        ([PUBLISHED_DAY, PUBLISHED_B], "1 usable points"),
        (["HFDTE320701", PUBLISHED_B, fix("160250")], "HFDTE320701"),
        ([], "no date"),
    ],
)
def test_files_that_hold_no_flight_are_bad_input(tmp_path, lines, words):
    with pytest.raises(InputError, match=words):
        igc(tmp_path, *lines)


def gpx(tmp_path, content, name="flight.gpx"):
    path = tmp_path / name
    path.write_bytes(content if isinstance(content, bytes) else content.encode())
    return read_flight(path, name)


def document(points, version="1/1", before=""):
    return (
        f'<?xml version="1.0"?>{before}<gpx xmlns="http://www.topografix.com/GPX/{version}" '
        f'version="1.1" creator="t"><trk><name>x</name>{points}</trk></gpx>'
    )


def point(lat, lon, *more):
    return f'<trkpt lat="{lat}" lon="{lon}">{"".join(more)}</trkpt>'


FIRST = "<ele>300.5</ele><time>2026-11-25T14:30:00Z</time>"
SECOND = "<ele>310</ele><time>2026-11-25T08:30:05.500-06:00</time>"


def test_what_the_writer_writes_comes_back(tmp_path):
    times = [datetime(2026, 11, 25, 14, 30, second, tzinfo=UTC) for second in (0, 4, 9)]
    points = tuple(
        GpxPoint(45.0 + index / 1000, -35.0, 300.0 + index, moment)
        for index, moment in enumerate(times)
    )
    content = gpx_bytes(
        title="t",
        description="d",
        made=times[0],
        waypoints=[GpxPoint(1, 1, 5.0, times[0])],
        tracks=[GpxTrack("flown", (points[:2], points[2:]))],
    )
    flight = gpx(tmp_path, content)
    assert flight.begins == times[0]
    assert flight.time_s.tolist() == [0.0, 4.0, 9.0]
    assert flight.lat.tolist() == pytest.approx([45.0, 45.001, 45.002])
    assert flight.gnss_amsl_m.tolist() == [300.0, 301.0, 302.0]
    assert flight.segment.tolist() == [0, 0, 1]
    assert np.isnan(flight.pressure_altitude_m).all()
    assert any("common practice" in note for note in flight.notes)


@pytest.mark.parametrize("version", ["1/0", "1/1"])
def test_times_of_any_offset_and_extensions_are_read(tmp_path, version):
    extra = '<extensions><x:ele xmlns:x="urn:x">9999</x:ele></extensions>'
    points = f"<trkseg>{point(45, -35, FIRST, extra)}{point(45.001, -35, SECOND)}</trkseg>"
    flight = gpx(tmp_path, document(points, version))
    assert flight.time_s.tolist() == [0.0, 5.5]
    assert flight.gnss_amsl_m.tolist() == [300.5, 310.0]


def test_points_without_place_or_time_are_rejected_and_bad_heights_unknown(tmp_path):
    points = "".join(
        [
            point(45, -35, FIRST),
            point(91, -35, SECOND),
            point("x", -35, SECOND),
            point(45, -35, "<ele>300</ele>"),
            point(45, -35, "<time>2026-11-25T14:30:03</time>"),
            point(45, -35, "<time>yesterday</time>"),
            point(45, -35, "<ele>99999</ele>", "<time>2026-11-25T14:30:04Z</time>"),
        ]
    )
    flight = gpx(tmp_path, document(f"<trkseg>{points}</trkseg>"))
    assert len(flight) == 2
    assert (flight.rows_read, flight.rows_rejected) == (7, 5)
    assert math.isnan(flight.gnss_amsl_m[1])
    assert any("1 of 2 points have none" in note for note in flight.notes)
    assert sum("no place" in note for note in flight.notes) == 2


SWELLING = '<!DOCTYPE gpx [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;">]>'


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (document("", before=SWELLING), "document type"),
        ("<gpx>", "root element"),
        ("<kml xmlns='http://www.topografix.com/GPX/1/1'/>", "root element"),
        (document("<trkseg>")[:-20], "no element|not well-formed|mismatched|unclosed"),
        (b"\x00\x01\x02", "well-formed"),
        (document(""), "0 usable points"),
        ('<?xml version="1.0" encoding="none-such"?><gpx/>', "encoding"),
    ],
)
def test_hostile_and_broken_files_are_bad_input(tmp_path, content, words):
    with pytest.raises(InputError, match=words) as caught:
        gpx(tmp_path, content)
    assert "flight.gpx" in str(caught.value)
    assert "fix:" in str(caught.value)


def test_other_endings_and_missing_files_are_bad_input(tmp_path):
    with pytest.raises(InputError, match="recorded flight ending"):
        read_flight(tmp_path / "flight.txt", "flight.txt")
    with pytest.raises(InputError, match="no such file"):
        read_flight(tmp_path / "flight.gpx", "flight.gpx")
