"""`areaplan track` as people and programs use it, in a process of its own."""

import json
import re
from datetime import UTC, datetime, timedelta

import pytest

from areaplan.render.gpx import GpxPoint, GpxTrack, gpx_bytes
from areaplan.units import FOOT_M
from tests.cli.running import run
from tests.planning.builder import lonlat, plain_country


@pytest.fixture(scope="module")
def project(tmp_path_factory):
    return plain_country(tmp_path_factory.mktemp("track")).project()


def gpx(folder, altitude_ft, name="lesson.gpx"):
    begins = datetime(2026, 11, 25, 15, 0, tzinfo=UTC)
    points = []
    for second in range(0, 100, 2):
        lon, lat = lonlat(-2000.0 + 40.0 * second, 0.0)
        points.append(GpxPoint(lat, lon, altitude_ft * FOOT_M, begins + timedelta(seconds=second)))
    path = folder / name
    track = GpxTrack("flown", (tuple(points),))
    path.write_bytes(gpx_bytes(title="t", description="d", made=begins, tracks=[track]))
    return path


def igc(folder, pressure_ft, satellite_ft, refers_to="GEO"):
    lines = ["AXXX001", "HFDTE251126", f"HFALGALTGNSS:{refers_to}"]
    for second in range(0, 100, 2):
        lon, lat = lonlat(-2000.0 + 40.0 * second, 0.0)
        north, east = (divmod(round(degrees * 60_000), 60_000) for degrees in (lat, lon))
        lines.append(
            f"B15{second // 60:02d}{second % 60:02d}{north[0]:02d}{north[1]:05d}N"
            f"{east[0]:03d}{east[1]:05d}EA{round(pressure_ft * FOOT_M):05d}"
            f"{round(satellite_ft * FOOT_M):05d}"
        )
    path = folder / "lesson.igc"
    path.write_bytes(("\r\n".join(lines) + "\r\n").encode())
    return path


@pytest.mark.parametrize(
    ("setting", "status", "differ_ft"),
    # FAA-H-8083-25 (PHAK): 30.10 inHg adds 165 ft to a pressure altitude, 29.70 takes 205 ft off.
    [("30.10 inHg", 0, None), ("30.42 inHg", 3, 293), ("29.70 inHg", 3, 370)],
)
def test_a_wrong_setting_is_told_first_and_never_meets(
    project, tmp_path, setting, status, differ_ft
):
    flight = igc(tmp_path, 2200 - 165, 2200)
    words = ("track", project, flight, "--altimeter", setting)
    done, in_json = run(*words), run(*words, "--json")
    assert done.returncode == in_json.returncode == status, done.stderr
    contradiction = json.loads(in_json.stdout)["contradiction"]
    if differ_ft is None:
        assert contradiction is None
        assert "one of them is wrong" not in done.stdout
        return
    assert done.stdout.startswith(contradiction)
    told = re.fullmatch(
        r"The altimeter setting and the satellite altitudes differ by (\d+) ft: one of them is "
        r"wrong\.",
        contradiction,
    )
    assert int(told[1]) == pytest.approx(differ_ft, abs=4)  # whole metres in the file


def test_the_map_says_a_wrong_setting_first_too(project, tmp_path):
    page = tmp_path / "map.html"
    flight = igc(tmp_path, 2200 - 165, 2200)
    done = run("track", project, flight, "--altimeter", "30.42 inHg", "--map", page, "--json")
    assert done.returncode == 3, done.stderr
    html = page.read_text(encoding="utf-8")
    contradiction = json.loads(done.stdout)["contradiction"]
    sheet = html[html.index('<aside id="sheet"') :]
    assert sheet.index("Recorded flight") < sheet.index(contradiction) < sheet.index("UNKNOWN")
    assert sheet.index(contradiction) < sheet.index("Practice area sheet")


def test_satellite_altitudes_above_the_ellipsoid_decide_nothing(project, tmp_path):
    flight = igc(tmp_path, 2200, 3200, refers_to="ELL")
    done = run("track", project, flight, "--altimeter", "29.92 inHg")
    assert done.returncode == 0, done.stderr
    text = " ".join(done.stdout.split())
    assert "not compared with satellite altitudes, so a wrong setting would not show" in text


def test_a_flight_that_met_everything(project, tmp_path):
    figure, page = tmp_path / "profile.svg", tmp_path / "map.html"
    words = ("--figure", figure, "--map", page, "--json")
    done = run("track", project, gpx(tmp_path, 2200), *words)
    assert done.returncode == 0, done.stderr
    told = json.loads(done.stdout)
    assert told["verdict"] == "MET"
    assert told["altitudes"].startswith("satellite altitude")
    assert told["margins_by_rule"][0]["margin_ft"] == 700
    assert told["seconds"]["in_area"] == pytest.approx(50.0, abs=3.0)
    assert told["written"] == [str(page), str(figure)]
    assert figure.read_text(encoding="utf-8").startswith("<svg")
    assert page.read_text(encoding="utf-8").startswith("<!DOCTYPE html>")


def test_status_tells_not_met_and_not_certain(project, tmp_path):
    low = run("track", project, gpx(tmp_path, 1300))
    assert low.returncode == 1, low.stderr
    assert "NOT MET" in low.stdout
    assert "not for enforcement" in low.stdout
    near = run("track", project, gpx(tmp_path, 1300), "--uncertainty", "1000 ft")
    assert near.returncode == 3
    assert "UNKNOWN" in near.stdout


def test_the_wind_met_is_said(project, tmp_path):
    done = run("track", project, gpx(tmp_path, 2200), "--wind", "270/20")
    assert "270/20 kt as asked" in " ".join(done.stdout.split())


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("--altimeter", "29.92"), "--altimeter"),
        (("--uncertainty", "100"), "--uncertainty"),
        (("--wind", "north"), "--wind"),
        (("--figure", "none/such/p.svg"), "--figure"),
    ],
)
def test_bad_words_are_bad_input(project, tmp_path, words, told):
    done = run("track", project, gpx(tmp_path, 2200), *words)
    assert done.returncode == 2
    assert told in done.stderr
    assert "fix:" in done.stderr
    assert "Traceback" not in done.stderr


def test_a_file_that_is_no_flight_is_bad_input(project, tmp_path):
    done = run("track", project, tmp_path / "none.igc")
    assert done.returncode == 2
    assert "no such file" in done.stderr
    (tmp_path / "x.igc").write_text("AXXX\nHFDTE251126\n", encoding="utf-8")
    assert run("track", project, tmp_path / "x.igc").returncode == 2
