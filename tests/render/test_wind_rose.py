"""The wind limits as figure, text, JSON and part of the sheet."""

import json
import math
import re
from xml.etree import ElementTree

import numpy as np
import pytest
from attrs import evolve

from areaplan.engine.tiles import Window
from areaplan.planning.limits_by_wind import DirectionLimit, WindLimits, YearShare
from areaplan.planning.plan import Verdict
from areaplan.render.map import map_html
from areaplan.render.wind_rose import wind_rose_svg
from areaplan.render.wind_text import COMPASS, limit_words, wind_as_json, wind_text, year_words
from areaplan.units import KNOT_MPS, Wind
from tests.render.plan_fixture import plan

SVG = "{http://www.w3.org/2000/svg}"
NASTY = "years <b>&\"'</b> ]]> 2001"


def direction(number):
    """Limits that differ all round: none at N, unknown beyond at E, all tested at S."""
    one = DirectionLimit(
        22.5 * number, 2 * number, 2 * number + 2, lat=10.0, lon=20.0, required_amsl_ft=2501,
        field=NASTY, share_kept=0.5,
    )  # fmt: skip
    changes = {
        0: {"limit_kt": None, "fails_kt": 0, "required_amsl_ft": None},
        4: {"is_unknown": True, "required_amsl_ft": None},
        8: {"limit_kt": 40, "fails_kt": None, "lat": None, "lon": None, "share_kept": 1.0},
    }
    return evolve(one, **changes.get(number, {}))


LIMITS = WindLimits(
    altitude_amsl_ft=2500,
    own_wind=Wind(210.0, 14 * KNOT_MPS),
    verdict=Verdict.NOT_MET,
    step_kt=2,
    highest_kt=40,
    directions=tuple(direction(number) for number in range(16)),
    window=Window(0, 1, 0, 4),
    cell_limit_kt=np.tile(np.array([-3, -1, 10, 40], np.int8), (16, 1, 1)),
    year=YearShare(0.4999, 0.0101, NASTY, "wind.csv", "0" * 64),
)


def shapes(svg):
    return ElementTree.fromstring(svg)


def test_the_figure_is_well_formed_and_says_what_it_shows():
    root = shapes(wind_rose_svg(LIMITS))
    words = " ".join(root.itertext())
    assert root.get("role") == "img"
    named = root.get("aria-labelledby").split()
    assert {element.get("id") for element in root.iter()} >= set(named)
    for text in (
        "Wind limits at 2 500 ft AMSL",
        "210/14 kt: NOT MET",
        "not for navigation",
        "degrees true",
        "Speeds tested: every 2 kt to 40 kt, and 1 kt below the first that fails.",
        "beyond what the data can tell",
    ):
        assert text in re.sub(r"\s+", " ", words)
    told = root.find(f"{SVG}desc").text
    assert "from N not even in calm" in told
    assert "from E 8 kt, not known beyond" in told
    assert "from S 40 kt, the strongest tested" in told
    assert NASTY in told, "escaped once, not twice"


def test_the_figure_may_stand_in_the_page():
    """No style, script, link or event: the page's policy allows none of them inline."""
    svg = wind_rose_svg(LIMITS)
    for element in shapes(svg).iter():
        assert element.tag.removeprefix(SVG) in {
            "svg", "title", "desc", "defs", "pattern", "rect", "path", "circle", "text",
        }  # fmt: skip
        assert not {
            key for key in element.attrib if key.startswith("on") or key in ("style", "href")
        }
    assert "<b>" not in svg
    assert svg == wind_rose_svg(LIMITS)


def test_plain_is_exactly_what_is_judged_met():
    """Winds all over the circle: the colour painted last at their place is their verdict's."""
    root = shapes(wind_rose_svg(LIMITS))
    fills = {"#5DBCE2": Verdict.MET, "url(#wind-rose-lost)": Verdict.NOT_MET,
             "url(#wind-rose-untold)": Verdict.UNKNOWN}  # fmt: skip
    pieces = []
    for path in root.iter(f"{SVG}path"):
        if path.get("fill") in fills:
            points = [float(one) for one in re.findall(r"-?\d+\.\d+", path.get("d"))]
            pieces.append((points, fills[path.get("fill")]))
    assert {verdict for _, verdict in pieces} == set(Verdict)
    for bearing in np.arange(1.0, 360.0, 7.3):
        for knots in (1.0, 5.0, 7.0, 9.0, 13.0, 25.0, 39.0):
            x = 240.0 + knots / 40.0 * 165.0 * math.sin(math.radians(bearing))
            y = 258.0 - knots / 40.0 * 165.0 * math.cos(math.radians(bearing))
            found = [verdict for points, verdict in pieces if holds(points, x, y)]
            assert found == [LIMITS.judge(bearing, knots)], (bearing, knots)


def holds(points, x, y):
    """Whether a piece of a ring, by the corners of its outline, holds a place."""
    corners = [(points[0], points[1]), (points[2], points[3]), (points[6], points[7])]
    (x0, y0), (x1, y1), (x2, y2) = ((a - 240.0, 258.0 - b) for a, b in corners)
    inner, outer = math.hypot(x0, y0), math.hypot(x1, y1)
    bearing = math.degrees(math.atan2(x - 240.0, 258.0 - y)) % 360.0
    first = math.degrees(math.atan2(x1, y1)) % 360.0
    last = math.degrees(math.atan2(x2, y2)) % 360.0 or 360.0
    radius = math.hypot(x - 240.0, 258.0 - y)
    return inner < radius < outer and first < bearing < (last if last > first else last + 360.0)


def test_no_wind_could_be_tested():
    """Calm alone, as for an aircraft slower than the first step: no circle, no division by zero."""
    calm = evolve(LIMITS, highest_kt=0, year=None)
    assert "Wind limits" in " ".join(shapes(wind_rose_svg(calm)).itertext())


@pytest.mark.parametrize(
    ("number", "words", "short"),
    [
        (0, "not even in calm", "none"),
        (1, "2 kt", "2 kt"),
        (4, "8 kt, not known beyond", "8 kt ?"),
        (8, "40 kt, the strongest tested", "40 kt +"),
    ],
)
def test_words_of_a_limit(number, words, short):
    one = LIMITS.directions[number]
    assert limit_words(one, 40) == words
    assert limit_words(one, 40, is_short=True) == short
    unknown = evolve(one, limit_kt=None, is_unknown=True)
    assert limit_words(unknown, 40) == "unknown even in calm"


def test_shares_are_rounded_to_the_cautious_side():
    assert year_words(LIMITS.year) == (
        f"Within the limits for 49 % of the year, not known for 2 % ({NASTY})."
    )


def test_text_tells_every_direction_and_what_is_assumed():
    text = wind_text(LIMITS, plan().project)
    for name in COMPASS:
        assert re.search(rf"^{name} +\d", text, re.MULTILINE)
    assert "10.0000 20.0000 at 0 kt: no field at any height considered" in text
    assert "10.0000 20.0000 at 10 kt: unknown" in text
    assert "needs 2 501 ft" in text
    assert re.search(r"^S +180\.0 40 kt, the strongest tested +66 % +33 % +33 %$", text, re.M)
    for words in (
        "crosswind",
        "1 kt below the first",
        "No rule in force",
        "same at all heights",
        "lesser of",
        "not for navigation",
    ):
        assert words in re.sub(r"\s+", " ", text)


def test_json_has_plain_values():
    told = json.loads(json.dumps(wind_as_json(LIMITS, plan().project), allow_nan=False))
    assert told["verdict"] == "NOT_MET"
    assert told["wind"]["speed_kt"] == 14.0
    assert [row["limit_kt"] for row in told["directions"]][:2] == [None, 2]
    assert told["directions"][8]["fails_kt"] is None
    assert told["directions"][3]["share_of_area_up_to"] == {
        "10_kt": pytest.approx(2 / 3),
        "20_kt": pytest.approx(1 / 3),
        "30_kt": pytest.approx(1 / 3),
    }
    assert told["year"]["holds"] == 0.4999
    assert told["assumptions"]
    assert told["cautions"]


def test_the_sheet_holds_the_rose_when_asked():
    with_rose, without = map_html(plan(), LIMITS), map_html(plan())
    assert 'id="wind-limits"' not in without
    assert "<svg" not in without[without.index("<aside") : without.index("</aside>")]
    panel = with_rose[with_rose.index('id="wind-limits"') :]
    assert wind_rose_svg(LIMITS) in panel
    assert "not even in calm" in panel
    assert "<b>&" not in panel[: panel.index("</details>")]
