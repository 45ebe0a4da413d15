"""A flight's text, JSON, profile and map: every figure of the review, hostile names dead."""

import json
from xml.etree import ElementTree as ET

import numpy as np
import pytest
import shapely
from attrs import evolve

from areaplan.planning.evaluation import evaluate
from areaplan.planning.flight_review import review_flight
from areaplan.planning.flight_spells import SpellKind
from areaplan.planning.flown import flown_scene
from areaplan.planning.plan import UNKNOWN_FT, UNREACHABLE_FT, Verdict
from areaplan.planning.project_file import read_project
from areaplan.render.flight_figure import profile_svg, write_profile
from areaplan.render.flight_frame import LEFT, NO_DATA, RIGHT
from areaplan.render.flight_json import flight_as_json
from areaplan.render.flight_lines import MOST_TIMES, flown_lines
from areaplan.render.flight_map import write_flight_map
from areaplan.render.flight_text import clock, duration, flight_text
from areaplan.sources.recorded_flight import read_flight
from areaplan.units import feet_text
from tests.planning.builder import FRAME, plain_country
from tests.render.scenery import HOSTILE_NAMES
from tests.render.unpacking import Page
from tests.render.visiting import DESKTOP, PHONE, Visit

SVG = "{http://www.w3.org/2000/svg}"


def told_on_map(spell):
    """Nobody knows where a gap was flown."""
    return spell.kind is not SpellKind.NOT_RECORDED


def igc_text():
    """Eastward through the area at 500 m pressure altitude, a dip to 420 m, a gap of a minute."""
    lines = ["AXXX001", "HFDTE251126", "HFALGALTGNSS:ELL"]
    for second in range(0, 160, 2):
        if 90 < second < 150:
            continue
        lon, lat = FRAME.to_lonlat(-3000.0 + 40.0 * second, 100.0)
        height = 420 if 60 <= second <= 70 else 500
        minutes_lat, minutes_lon = round(lat % 1 * 60_000), round(lon % 1 * 60_000)
        lines.append(
            f"B15{second // 60:02d}{second % 60:02d}{int(lat):02d}{minutes_lat:05d}N"
            f"{int(lon):03d}{minutes_lon:05d}EA{height:05d}{height + 50:05d}"
        )
    return "\r\n".join(lines) + "\r\n"


@pytest.fixture(scope="module")
def review(tmp_path_factory):
    folder = tmp_path_factory.mktemp("flown")
    (folder / "lesson.igc").write_bytes(igc_text().encode())
    scene = flown_scene(evaluate(read_project(plain_country(folder).project())))
    flight = read_flight(folder / "lesson.igc", "lesson.igc")
    return review_flight(scene, flight, 101_325.0, 15.0)


@pytest.fixture(scope="module")
def hostile(review):
    return evolve(review, flight=evolve(review.flight, name=HOSTILE_NAMES[0]))


def test_text_tells_verdict_times_margins_spells_and_doubts(review):
    text = flight_text(review)
    assert "NOT MET" in text
    for row in review.by_rule:
        assert row.limit.rule in text
        assert f"{row.margin_ft:+,} ft" in text
    assert f"Spells: {len(review.spells)}" in text
    assert "not for enforcement" in text
    assert "pressure altitude with the altimeter at 1013.2 hPa" in text
    assert "ellipsoid" in text
    assert "not for navigation" in text
    assert "15:00:00 to 15:02:38 UTC on 2026-11-25" in text


def test_the_altitudes_told_are_those_of_the_recording(review):
    """Pressure altitudes at the standard setting are altitudes; pieces end within a fix of them."""
    low_ft, high_ft = review.altitudes_amsl_ft
    recorded_ft = review.flight.pressure_altitude_m / 0.3048
    assert np.nanmin(recorded_ft) - 2 <= low_ft <= high_ft <= np.nanmax(recorded_ft) + 1
    assert high_ft > np.nanmax(recorded_ft) - 100
    words = f"lowest {feet_text(low_ft)} AMSL, highest {feet_text(high_ft)} AMSL"
    assert words in flight_text(review)
    assert flight_as_json(review)["altitudes_amsl_ft"] == [low_ft, high_ft]


def test_durations_are_minutes_and_seconds():
    assert duration(59.4) == "59 s"
    assert duration(59.6) == "1 min 00 s"
    assert duration(3725.0) == "62 min 05 s"


def test_json_holds_the_review_in_plain_values(review):
    told = json.loads(json.dumps(flight_as_json(review), allow_nan=False))
    assert told["verdict"] == "NOT_MET"
    assert told["flight"]["sha256"] == review.flight.sha256
    assert told["flight"]["begins"] == "2026-11-25T15:00:00Z"
    assert len(told["spells"]) == len(review.spells)
    worst = min(row["worst_margin_ft"] for row in told["spells"] if row["rule"])
    assert worst == told["margins_by_rule"][0]["margin_ft"]
    assert told["margins_by_rule"][0]["quote"]
    assert told["notes"][0].startswith("For debriefing")
    assert told["seconds"]["gaps"] == 60.0


def test_lines_follow_the_flight_and_break_at_the_gap(review):
    lines = flown_lines(review)
    assert len(lines.flight) == 2
    first, second = (shape for shape, _, _ in lines.flight)
    flight = review.flight
    assert first.coords[0] == pytest.approx((flight.lon[0], flight.lat[0]))
    assert second.coords[-1] == pytest.approx((flight.lon[-1], flight.lat[-1]))
    assert len(lines.spells) == sum(told_on_map(one) for one in review.spells)
    whole = shapely.MultiLineString([first, second])
    for shape, words, high in lines.times:
        assert whole.distance(shape) < 1e-9
        assert words.endswith(" UTC")
        assert high.endswith(" ft AMSL") or high == "altitude not recorded"
    moments = [words.removesuffix(" UTC") for _, words, _ in lines.times]
    assert moments[0] == clock(review, 0.0)
    assert moments[-1] == clock(review, float(flight.time_s[-1]))
    assert all(one.endswith(":00") for one in moments[1:-1])
    assert 2 <= len(moments) <= MOST_TIMES + 2
    for shape, words, when in lines.spells:
        assert shapely.hausdorff_distance(shapely.union(whole, shape), whole) < 1e-9
        assert words
        assert "UTC" in when


def visible_words(html):
    return " ".join(" ".join(Page(html).visible).split())


def test_the_map_says_first_what_the_text_does(review, tmp_path):
    """The verdict on the flight apart from the area's, and every note before believing it."""
    write_flight_map(review, tmp_path / "m.html")
    html = (tmp_path / "m.html").read_text(encoding="utf-8")
    words = visible_words(html)
    area = words.index("Practice area sheet")
    head = f"Recorded flight {review.flight.name} NOT MET inside the practice area: at least one"
    assert words.index(head) < area
    low_ft, high_ft = review.altitudes_amsl_ft
    told = f"lowest {feet_text(low_ft)} AMSL, highest {feet_text(high_ft)} AMSL: as you flew?"
    assert words.index(told) < area
    for note in review.notes:
        assert area < words.index(note) < words.index("At the altitude chosen")
    assert html == (tmp_path / "m.html").read_text(encoding="utf-8")


def test_the_map_says_a_contradiction_before_all_else(review, tmp_path):
    check = evolve(review.altitude_check, contradiction="The two altitudes <b>differ</b>.")
    doubted = evolve(review, altitude_check=check, verdict=Verdict.UNKNOWN)
    write_flight_map(doubted, tmp_path / "m.html")
    html = (tmp_path / "m.html").read_text(encoding="utf-8")
    assert "<b>differ" not in html
    words = visible_words(html)
    begin = words.index("Recorded flight lesson.igc")
    assert words[begin:].startswith(
        "Recorded flight lesson.igc The two altitudes <b>differ</b>. UNKNOWN inside the practice "
        "area: altimeter setting and satellite altitudes contradict each other."
    )
    assert flight_text(doubted).startswith("The two altitudes <b>differ</b>.")
    assert begin < words.index("Practice area sheet")
    assert "Recorded flight: UNKNOWN, altitudes contradict" in words


@pytest.mark.browser
def test_a_phone_shows_the_doubt_above_the_map(browser, review, tmp_path):
    check = evolve(review.altitude_check, contradiction="They differ.")
    path = tmp_path / "m.html"
    write_flight_map(evolve(review, altitude_check=check, verdict=Verdict.UNKNOWN), path)
    visit = Visit(browser, path, viewport=PHONE, is_mobile=True, has_touch=True)
    head = visit.page.locator("#sheet-toggle").inner_text()
    assert head.startswith("Recorded flight: UNKNOWN, altitudes contradict")
    assert visit.run("document.documentElement.scrollWidth") <= PHONE["width"]
    visit.page.locator("#sheet-toggle").tap()
    alert = visit.page.locator("#sheet [role=alert]").first
    assert alert.is_visible()
    assert alert.bounding_box()["y"] < PHONE["height"] / 3
    visit.page.emulate_media(media="print")
    visit.page.wait_for_timeout(200)
    assert alert.is_visible()
    assert visit.run(
        "document.querySelector('.first').getBoundingClientRect().top < "
        "document.querySelector('main').getBoundingClientRect().top"
    )
    visit.context.close()


def test_profile_shows_a_bar_for_every_spell_and_repeats(review):
    svg = profile_svg(review)
    root = ET.fromstring(svg)
    fills = [each.get("fill") or "" for each in root.iter(f"{SVG}rect")]
    bars = [one for one in fills if one.startswith("url(#profile-") and one != NO_DATA]
    assert len(bars) == len(review.spells)
    assert sum(one.kind is SpellKind.NOT_LEGAL for one in review.spells) == bars.count(
        "url(#profile-0)"
    )
    lines = [each for each in root.iter(f"{SVG}polyline") if each.get("stroke-width") == "2.2"]
    assert len(lines) == 2  # the altitude flown, broken at the gap
    assert svg == profile_svg(review)


def texts(svg):
    return [each.text for each in ET.fromstring(svg).iter(f"{SVG}text")]


def test_margins_stand_in_a_column_and_their_sign_is_explained(review):
    """No mark stands before a margin that could be read as part of it."""
    lines = flight_text(review).splitlines()
    assert not any(line.lstrip().startswith("*") for line in lines)
    begin = next(i for i, line in enumerate(lines) if line.startswith("Margins to each rule"))
    assert "with a minus sign, beyond the limit" in " ".join(lines[begin : begin + 2])
    for row in review.by_rule:
        label = f"  {f'{row.margin_ft:+,} ft'.replace(',', ' '):>12}  "
        assert any(line.startswith(label) for line in lines)
    for spell in review.spells:
        assert any(line.startswith(f"      {clock(review, spell.begin_s)}  for ") for line in lines)


def test_take_offs_and_landings_are_told_in_a_sentence(review):
    words = " ".join(flight_text(review).split())
    assert "although the rules make an exception for what take-off and landing require." in words


def test_profile_says_what_the_strips_count_and_what_is_not_recorded(review):
    said = texts(profile_svg(review))
    assert any(words.startswith("Inside the practice area only") for words in said)
    assert said.count("not recorded") == len(review.flown.gaps_s) == 1
    assert "no data here" not in said
    assert not any("leaves the top" in words for words in said)


def test_profile_tells_the_time_of_day_and_the_minutes_flown(review):
    svg = profile_svg(review)
    rows = {}
    for each in ET.fromstring(svg).iter(f"{SVG}text"):
        rows.setdefault(each.get("y"), []).append((each.get("x"), each.text))
    (times,) = [row for row in rows.values() if ("84.0", "15:00:00") in row]
    (minutes,) = [row for row in rows.values() if ("84.0", "0") in row]
    flown_s = dict(minutes)
    for x, words in times:
        if words != "UTC":
            hour, minute, second = map(int, words.split(":"))
            elapsed_s = (hour - 15) * 3600 + minute * 60 + second
            assert float(flown_s[x]) * 60.0 == pytest.approx(elapsed_s, abs=1.0)
    assert len(times) > 4


def test_profile_says_where_the_data_end(review):
    cells = review.plan.cells
    terrain = cells.terrain_amsl_ft.copy()
    terrain[:, : terrain.shape[1] // 2] = UNKNOWN_FT
    half = evolve(review, plan=evolve(review.plan, cells=evolve(cells, terrain_amsl_ft=terrain)))
    root = ET.fromstring(profile_svg(half))
    said = [each.text for each in root.iter(f"{SVG}text")]
    assert said.count("no data here") == 1
    columns = [each for each in root.iter(f"{SVG}rect") if each.get("fill") == NO_DATA]
    (first, gap) = [each for each in columns if float(each.get("height")) > 100.0]
    # Eastward at 40 m/s from 3 km west of the middle: half of the grid ends after 75 s.
    scale = (RIGHT - LEFT) / float(review.flight.time_s[-1])
    assert float(first.get("x")) == pytest.approx(LEFT, abs=1.0)
    assert float(first.get("width")) / scale == pytest.approx(75.0, abs=2.0)
    assert float(gap.get("width")) / scale == pytest.approx(60.0, abs=0.1)


@pytest.mark.parametrize(
    ("feet", "words"),
    [(9_876, "up to 9 876 ft AMSL."), (UNREACHABLE_FT, "or no altitude known would do.")],
)
def test_profile_says_why_the_glide_leaves_the_top(review, feet, words):
    required = review.margins.glide_required_amsl_ft.copy()
    required[: required.size // 2] = feet
    high = evolve(review, margins=evolve(review.margins, glide_required_amsl_ft=required))
    said = texts(profile_svg(high))
    (why,) = [one for one in said if "leaves the top" in one]
    assert why.endswith(words)
    short = "no altitude" if feet == UNREACHABLE_FT else "up to 9 876 ft"
    assert short in said
    svg = profile_svg(high)
    assert "inf" not in svg
    assert "nan" not in svg


def test_hostile_names_stay_words(hostile, tmp_path):
    root = ET.fromstring(profile_svg(hostile))
    assert not list(root.iter(f"{SVG}script"))
    write_profile(hostile, tmp_path / "p.svg")
    assert ET.parse(tmp_path / "p.svg").getroot().tag == f"{SVG}svg"
    write_flight_map(hostile, tmp_path / "m.html")
    assert HOSTILE_NAMES[0] not in (tmp_path / "m.html").read_text(encoding="utf-8")


@pytest.mark.browser
def test_the_map_draws_the_flight_and_tells_its_spells(browser, hostile, tmp_path):
    path = tmp_path / "flight.html"
    write_flight_map(hostile, path)
    visit = Visit(browser, path, viewport=DESKTOP)
    counts = visit.run(
        "Object.fromEntries(areaplan.parts.drawing.layers.map((one) => [one.id, one.rows.length]))"
    )
    assert counts["flown"] == 2
    assert counts["flown_times"] == len(flown_lines(hostile).times)
    assert counts["flown_spells"] == sum(told_on_map(one) for one in hostile.spells)
    assert visit.run("window.broken") is None
    assert visit.complaints == []
    assert visit.run("window.violations") == []
    assert visit.requests == [path.as_uri()]
    visit.context.close()
