"""Obstacle tables of every form against published rows, and what becomes of bad rows."""

from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from areaplan.errors import InputError
from areaplan.sources._obstacle_rows import RowError, dat_day, dat_obstacle
from areaplan.sources.obstacle_accuracy import accuracy_of_codes
from areaplan.sources.obstacles import read_obstacles
from areaplan.units import FOOT_M, parse_length
from tests.sources.making import faults_of, spec_of
from tests.sources.obstacle_tables import (
    HALF_DIGIT_DEG,
    HEADER,
    JACKSBORO,
    VERBATIM,
    dat_line,
    read,
    table,
    write_dat,
    write_published_csv,
)


# --- published rows -------------------------------------------------------------------------------
def test_the_rows_laid_out_here_have_the_published_columns():
    assert VERBATIM.read_text().rstrip("\n") == dat_line(
        "01-001307", state="AL", city="DAUPHIN ISLAND", position="30 10 45.00N 088 04 39.00W",
        kind="RIG", agl="00236", amsl="00236", lighting="R", accuracy="5D", marking="M",
        study="1990ASO01578OE", action="C", day="2014138",
    )  # fmt: skip


@pytest.mark.parametrize("row", table("faa_obstacle_samples.csv"), ids=lambda row: row["number"])
def test_published_rows(tmp_path, row):
    if row["seen"] == "verbatim":
        line = next(x for x in VERBATIM.read_text().split("\n") if x.startswith(row["number"]))
    else:
        line = dat_line(
            row["number"],
            position=row["position"],
            agl=f"{int(row['agl_ft']):05d}",
            amsl=f"{int(row['amsl_ft']):05d}",
            accuracy=row["accuracy"],
            verified=row["verified"],
        )
    if row["form"] == "dat":
        layer = read(write_dat(tmp_path / "a.dat", line))
    else:
        lat, lon = row["position"][:12], row["position"][13:]
        cells = {
            "OAS": row["number"], "VERIFIED STATUS": row["verified"], "LATDEC": row["lat_deg"],
            "LONDEC": row["lon_deg"], "DMSLAT": lat, "DMSLON": lon, "TYPE": "TOWER             ",
            "CITY": "SOMEWHERE       ", "AGL": row["agl_ft"], "AMSL": row["amsl_ft"],
            "ACCURACY": f" {row['accuracy']}", "ACTION": "A", "JDATE": "2020001 ",
        }  # fmt: skip
        layer = read(write_published_csv(tmp_path / "a.csv", cells))
    (obstacle,) = layer.rows
    assert obstacle.name == row["number"]
    assert obstacle.lat == pytest.approx(float(row["lat_deg"]), abs=HALF_DIGIT_DEG)
    assert obstacle.lon == pytest.approx(float(row["lon_deg"]), abs=HALF_DIGIT_DEG)
    assert obstacle.top_agl_m == pytest.approx(float(row["agl_ft"]) * FOOT_M, abs=1e-9)
    assert obstacle.top_amsl_m == pytest.approx(float(row["amsl_ft"]) * FOOT_M, abs=1e-9)
    assert obstacle.is_verified is (row["verified"] == "O")
    meant = accuracy_of_codes(*row["accuracy"])
    assert obstacle.horizontal_accuracy_m == meant.horizontal_m
    assert obstacle.vertical_accuracy_m == meant.vertical_m


def test_the_verbatim_row_word_by_word(tmp_path):
    """Facts printed with the row: R, 5, D, M, 2014-05-18 (Julian day 2014138)."""
    (obstacle,) = read(write_dat(tmp_path / "a.dat", VERBATIM.read_text().strip("\n"))).rows
    assert obstacle.kind == "RIG"
    assert (obstacle.horizontal_accuracy_m, obstacle.vertical_accuracy_m) == (
        500 * FOOT_M,
        50 * FOOT_M,
    )
    assert obstacle.accuracy_is_known
    assert dat_day(VERBATIM.read_text()) == date(2014, 5, 18)


def test_a_published_file_as_it_is():
    layer = read(JACKSBORO, edition="02/18/24")
    assert len(layer.rows) == layer.record.rows_read == layer.record.rows_used == 16
    assert layer.record.rows_rejected == 0
    assert layer.record.effective == date(2024, 2, 18)
    first = layer.rows[0]
    assert (first.name, first.kind) == ("47-001760", "TOWER")
    assert first.lat == pytest.approx(36 + 11 / 60 + 17 / 3600, abs=1e-12)
    assert first.lon == pytest.approx(-(84 + 5 / 60 + 52 / 3600), abs=1e-12)
    assert first.top_agl_m == pytest.approx(320 * FOOT_M)
    assert first.top_amsl_m == pytest.approx(1434 * FOOT_M)


def test_accuracy_codes_are_the_published_ones():
    rows = table("faa_accuracy_codes.csv")
    assert len(rows) == 18
    for row in rows:
        is_horizontal = row["axis"] == "horizontal"
        known = accuracy_of_codes(*((row["code"], "A") if is_horizontal else ("1", row["code"])))
        value_m = known.horizontal_m if is_horizontal else known.vertical_m
        if row["plus_or_minus"] == "unknown":
            assert value_m == (250 if is_horizontal else 50) * FOOT_M
            assert not known.is_known
        else:
            assert value_m == pytest.approx(parse_length(row["plus_or_minus"]), abs=1e-9)
            assert known.is_known


def test_blank_codes_are_unknown_and_foreign_ones_are_refused():
    blank = accuracy_of_codes(" ", "")
    assert (blank.horizontal_m, blank.vertical_m) == (250 * FOOT_M, 50 * FOOT_M)
    assert not blank.is_known
    for codes in (("0", "A"), ("1", "J"), ("A", "1"), ("I", "A"), ("1", "9")):
        with pytest.raises(KeyError):
            accuracy_of_codes(*codes)


# --- bad rows are named, counted and never dropped in silence -------------------------------------
BAD = {
    "truncated": dat_line("47-000002")[:100],
    "number of feet": dat_line("47-000002", agl="0O100"),
    "absurd": dat_line("47-000002", agl="99999"),
    "not a position": dat_line("47-000002", position="36 60 00.00N 084 00 00.00W"),
    "not a position (hemisphere)": dat_line("47-000002", position="36 00 00.00X 084 00 00.00W"),
    "not a position (range)": dat_line("47-000002", position="91 00 00.00N 084 00 00.00W"),
    "accuracy code": dat_line("47-000002", accuracy="0A"),
    "verification": dat_line("47-000002", verified="?"),
    "action": dat_line("47-000002", action="X"),
    "not a position (control)": dat_line("47-000002", position="36 \x1c0 00.00N 084 00 00.00W"),
}


@pytest.mark.parametrize("why", BAD)
def test_a_bad_row_is_named_and_counted(tmp_path, why):
    good = [dat_line(f"47-{i:06d}") for i in range(10, 13)]
    layer = read(write_dat(tmp_path / "a.dat", good[0], BAD[why], *good[1:]))
    assert [o.name for o in layer.rows] == ["47-000010", "47-000011", "47-000012"]
    record = layer.record
    assert (record.rows_read, record.rows_used, record.rows_rejected) == (4, 3, 1)
    note = next(n for n in record.notes if "47-000002 (line 6)" in n)
    assert "1 rows could not be used, so as many obstacles may be missing" in note
    assert "\x1c" not in note


def test_a_row_without_a_number_is_named_by_its_line(tmp_path):
    good = [dat_line(f"47-{i:06d}") for i in range(3)]
    layer = read(write_dat(tmp_path / "a.dat", *good, "x" * 128))
    assert any("line 8: no obstacle number" in note for note in layer.record.notes)


def test_a_table_of_mostly_bad_rows_is_an_error(tmp_path):
    bad = [BAD["absurd"]] * 3
    assert read(write_dat(tmp_path / "a.dat", *bad, *[dat_line()] * 3)).record.rows_rejected == 3
    with pytest.raises(InputError, match="4 of 7 rows cannot be used") as error:
        read(write_dat(tmp_path / "b.dat", *bad, BAD["action"], *[dat_line()] * 3))
    faults_of(error)


def test_dismantled_obstacles_are_left_out_and_counted(tmp_path):
    gone = dat_line("47-000009", action="D")
    layer = read(write_dat(tmp_path / "a.dat", dat_line(), gone))
    assert [o.name for o in layer.rows] == ["47-000001"]
    assert (layer.record.rows_read, layer.record.rows_used, layer.record.rows_rejected) == (2, 1, 0)
    assert any("1 rows are of dismantled obstacles" in note for note in layer.record.notes)


def test_far_away_rows_are_kept(tmp_path):
    far = dat_line("02-292529", position="52 43 15.70N 174 06 36.60E")
    spec = spec_of("obstacles", write_dat(tmp_path / "a.dat", dat_line(), far))
    assert len(read_obstacles(spec, (-85.0, 35.0, -83.0, 37.0)).rows) == 2


def test_notes_tell_of_unknown_accuracy_and_old_heights(tmp_path):
    old = dat_line("47-000003", day="2001070")  # one day before NAVD 88, by the file's read-me
    new = dat_line("47-000004", day="2001071")
    vague = dat_line("47-000005", accuracy="9I")
    layer = read(write_dat(tmp_path / "a.dat", old, new, vague))
    assert any("heights of 1 rows" in n and "NGVD29" in n for n in layer.record.notes)
    assert any("accuracy of 1 of 3 rows is not stated" in n for n in layer.record.notes)
    assert [o.accuracy_is_known for o in layer.rows] == [True, True, False]


def test_currency_date_and_the_projects_own(tmp_path):
    path = write_dat(tmp_path / "a.dat", dat_line())
    assert read(path).record.effective == date(2024, 2, 18)
    record = read(path, effective=date(2025, 1, 1)).record
    assert record.effective == date(2025, 1, 1)
    assert any("currency date is 2024-02-18" in note for note in record.notes)
    bad = ["  CURRENCY DATE = 13/45/24", *HEADER[1:]]
    with pytest.raises(InputError, match="MM/DD/YY") as error:
        read(write_dat(tmp_path / "b.dat", dat_line(), header=bad))
    faults_of(error)


def test_line_ends_and_blank_lines_do_not_matter(tmp_path):
    dos = write_dat(tmp_path / "a.dat", dat_line(), "", dat_line("47-000002"), "\x1a")
    unix = write_dat(tmp_path / "b.dat", dat_line().rstrip(), dat_line("47-000002"), end="\n")
    bare = write_dat(tmp_path / "c.dat", dat_line(), dat_line("47-000002"), header=())
    assert read(dos).rows == read(unix).rows == read(bare).rows
    assert any("no currency date" in note for note in read(bare).record.notes)


def test_a_file_cut_in_a_row_or_after_it_says_so(tmp_path):
    whole = write_dat(tmp_path / "a.dat", *[dat_line(f"47-{i:06d}") for i in range(4)]).read_bytes()
    cut = tmp_path / "b.dat"
    cut.write_bytes(whole[:-60])
    record = read(cut).record
    assert record.rows_rejected == 1
    assert any("cut short at" in n and "47-000003" in n for n in record.notes)
    cut.write_bytes(whole[:-2])
    assert any("the file may be cut short" in n for n in read(cut).record.notes)


def test_files_that_are_no_obstacle_table(tmp_path):
    for number, text in enumerate(("hello\nworld\n", "\n", "\n".join(HEADER) + "\n")):
        path = tmp_path / f"{number}.dat"
        path.write_text(text)
        with pytest.raises(InputError) as error:
            read(path)
        faults_of(error)


DEGREES = st.tuples(st.integers(0, 89), st.integers(0, 59), st.integers(0, 5999))


@settings(deadline=None, max_examples=200)
@given(
    lat=DEGREES, lon=DEGREES, north=st.booleans(), east=st.booleans(),
    agl=st.integers(0, 3300), amsl=st.integers(-1499, 33_000),
    horizontal=st.sampled_from("123456789"), vertical=st.sampled_from("ABCDEFGHI"),
    verified=st.sampled_from("OU"), number=st.integers(0, 999_999),
)  # fmt: skip
def test_fixed_width_rows_come_back_as_they_were_written(
    lat, lon, north, east, agl, amsl, horizontal, vertical, verified, number
):
    def text(parts, width):
        return f"{parts[0]:0{width}d} {parts[1]:02d} {parts[2] / 100:05.2f}"

    def value(parts):
        return parts[0] + parts[1] / 60 + parts[2] / 360_000

    line = dat_line(
        f"47-{number:06d}",
        position=f"{text(lat, 2)}{'N' if north else 'S'} {text(lon, 3)}{'E' if east else 'W'}",
        agl=f"{agl:05d}",
        amsl=f"{amsl:05d}",
        accuracy=horizontal + vertical,
        verified=verified,
    )
    assert len(line) == 128
    obstacle = dat_obstacle(line)
    assert obstacle.lat == pytest.approx(value(lat) * (1 if north else -1), abs=1e-11)
    assert obstacle.lon == pytest.approx(value(lon) * (1 if east else -1), abs=1e-11)
    assert round(obstacle.top_agl_m / FOOT_M) == agl
    assert round(obstacle.top_amsl_m / FOOT_M) == amsl
    assert obstacle.accuracy_is_known == (horizontal != "9" and vertical != "I")
    assert obstacle.is_verified == (verified == "O")


@settings(deadline=None, max_examples=300)
@given(st.data())
def test_a_spoilt_row_is_read_or_refused_but_never_crashes(data):
    line = list(dat_line())
    for _ in range(data.draw(st.integers(1, 4))):
        place = data.draw(st.integers(0, 127))
        line[place] = chr(data.draw(st.integers(0, 255)))
    try:
        obstacle = dat_obstacle("".join(line))
    except RowError:
        return
    assert obstacle is None or abs(obstacle.lat) <= 90
