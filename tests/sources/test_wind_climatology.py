"""Wind climatologies: what is read, and what is refused by line."""

import pytest

from areaplan.errors import InputError
from areaplan.sources.wind_climatology import WindClass, read_climatology

HEAD = "direction_deg_true,speed_kt,frequency\n"


def written(folder, text):
    path = folder / "wind.csv"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return path


def test_shares_and_calm_and_remarks(tmp_path):
    text = "# made up\n" + HEAD + ",0,0.25\n\n360, 10 ,0.5\n# more\n45.5,20,0.25\n"
    found = read_climatology(written(tmp_path, text))
    assert found.classes == (
        WindClass(0.0, 0.0, 0.25),
        WindClass(0.0, 10.0, 0.5),
        WindClass(45.5, 20.0, 0.25),
    )
    assert len(found.sha256) == 64


def test_per_cent_is_the_same_as_shares(tmp_path):
    one = read_climatology(written(tmp_path, HEAD + ",0,0.25\n10,5,0.75\n")).classes
    assert read_climatology(written(tmp_path, HEAD + ",0,25\n10,5,75\n")).classes == one


def test_rounding_is_scaled_down_but_never_up(tmp_path):
    more = read_climatology(written(tmp_path, HEAD + ",0,50.2\n10,5,50.2\n")).classes
    assert sum(one.share for one in more) == pytest.approx(1.0, abs=1e-12)
    less = read_climatology(written(tmp_path, HEAD + ",0,49.8\n10,5,49.8\n")).classes
    assert sum(one.share for one in less) == pytest.approx(0.996, abs=1e-12)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("direction,speed,frequency\n0,0,1\n", ["line 1", "direction_deg_true"]),
        ("# only a remark\n", ["no heading"]),
        (HEAD, ["sum to 0"]),
        (HEAD + "10,5,0.4\n", ["sum to 0.4", "calm"]),
        (HEAD + "10,5,2\n", ["sum to 2"]),
        (HEAD + "10,5\n,0,1\n", ["line 2", "2 values"]),
        (HEAD + "N,5,1\n", ["line 2", 'direction "N"']),
        (HEAD + ",5,1\n", ["line 2", "direction"]),
        (HEAD + "361,5,1\n", ["line 2", "361"]),
        (HEAD + "10,-5,1\n", ["line 2", "speed"]),
        (HEAD + "10,nan,1\n", ["line 2", "speed"]),
        (HEAD + "10,5,-1\n", ["line 2", "frequency"]),
        (HEAD + "10,5,inf\n", ["line 2", "frequency"]),
        (HEAD + "10,5,0.5\n10,5.0,0.5\n", ["line 3", "line 2 again"]),
        (HEAD + "0,0,0.5\n,0,0.5\n", ["line 3", "again"]),
        (b"\xff\xfe\x00", ["UTF-8"]),
        (b"", ["empty"]),
    ],
)
def test_faults_name_line_and_fix(tmp_path, text, words):
    with pytest.raises(InputError) as caught:
        read_climatology(written(tmp_path, text))
    for word in words:
        assert word in str(caught.value)
    assert "fix:" in str(caught.value)


def test_every_fault_is_told(tmp_path):
    with pytest.raises(InputError) as caught:
        read_climatology(written(tmp_path, HEAD + "x,1,1\n1,y,1\n1,1,z\n"))
    assert [fault.key for fault in caught.value.faults] == ["line 2", "line 3", "line 4"]
