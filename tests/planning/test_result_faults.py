"""Saved results that were cut, flipped, edited or forged: each fault by its name and place."""

import contextlib
import io
import json
import re
import struct
import zipfile

import numpy as np
import pytest
import shapely
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from areaplan.errors import InputError
from areaplan.planning import result_file
from areaplan.planning.result_file import is_saved_result, read_result, result_bytes
from tests.planning.packed_results import DIGESTS, members, pack


def faults_of(file, content):
    file.write_bytes(content)
    with pytest.raises(InputError) as caught:
        read_result(file)
    assert all(one.place == str(file) and one.fix for one in caught.value.faults)
    return caught.value.faults


@settings(max_examples=300, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.data())
def test_a_flipped_byte_is_named_or_changes_nothing(packed, tmp_path, data):
    """Only the archive's own times and attributes, which say nothing of a result, may differ."""
    place = data.draw(st.integers(0, len(packed) - 1))
    flip = data.draw(st.integers(1, 255))
    file = tmp_path / "flipped.zip"
    file.write_bytes(packed[:place] + bytes([packed[place] ^ flip]) + packed[place + 1 :])
    with contextlib.suppress(InputError):
        assert result_bytes(read_result(file)) == packed


@settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(share=st.floats(0.0, 1.0, exclude_max=True))
def test_a_file_cut_short_is_refused(packed, tmp_path, share):
    faults_of(tmp_path / "cut.zip", packed[: int(share * len(packed))])


@pytest.mark.parametrize("content", [b"", b"[project]\n", b"PK\x03\x04", b"PK\x05\x06" + bytes(18)])
def test_what_is_no_archive_or_an_empty_one(file, content):
    (fault,) = faults_of(file, content)
    assert "no whole zip archive" in fault.found or "no such member" in fault.found


def test_a_missing_file_and_a_folder(tmp_path):
    for path in (tmp_path / "none.zip", tmp_path):
        with pytest.raises(InputError, match="cannot be read"):
            read_result(path)
        assert not is_saved_result(path)


def test_members_missing_foreign_or_twice(packed, file):
    content = members(packed)
    for name in content:
        left = {key: data for key, data in content.items() if key != name}
        (fault,) = faults_of(file, pack(left, digests=False))
        assert (fault.key, fault.found) == (name, "no such member")
    (fault,) = faults_of(file, pack({**content, "more.txt": b"x"}))
    assert (fault.key, fault.found) == ("more.txt", "not a part of any result")
    twins = pack({**content, "result.jsoN": b"{}"}).replace(b"jsoN", b"json")
    (fault,) = faults_of(file, twins)
    assert (fault.key, fault.found) == ("result.json", "2 members of this name")


def test_an_edit_is_found_by_its_digest(packed, file):
    content = members(packed)
    for name in content:
        if name == DIGESTS:
            continue
        data = bytearray(content[name])
        data[-2] ^= 1
        (fault,) = faults_of(file, pack({**content, name: bytes(data)}, digests=False))
        assert fault.key == name
        assert "damaged or edited" in fault.found
    (fault,) = faults_of(file, pack({**content, DIGESTS: b"nonsense\n"}, digests=False))
    assert (fault.key, fault.found) == (DIGESTS, "not a list of digests")


def test_a_newer_format_is_told_as_such(packed, file):
    content = members(packed)
    document = json.loads(content["result.json"])
    document["format"] += 1
    document["result"] = {"made": "of other things"}
    content["result.json"] = json.dumps(document).encode()
    (fault,) = faults_of(file, pack(content))
    assert "newer areaplan" in fault.found
    assert "newer areaplan" in fault.fix


def set_at(document, keys, value):
    *way, last = keys
    for key in way:
        document = document[key]
    document[last] = value


@pytest.mark.parametrize(
    ("keys", "value", "place"),
    [
        (("format",), "1", "format"),
        (("format",), 0, "format"),
        (("format",), True, "format"),
        (("more",), 1, "more"),
        (("limit_table",), {}, "limit_table"),
        (("limit_table",), [], "result.findings[0].limit"),
        (("limit_table", 0, "severity"), "whim", "limit_table[0].severity"),
        (("limit_table", 0, "quote"), 5, "limit_table[0].quote"),
        (("result",), 7, "result"),
        (("result", "more"), 7, "result.more"),
        (("result", "verdict"), "FINE", "result.verdict"),
        (("result", "cautions"), "careful", "result.cautions"),
        (("result", "grid", "rows"), "many", "result.grid.rows"),
        (("result", "grid", "rows"), 10**9, "result.grid"),
        (("result", "grid", "cell_m"), -25.0, "result.grid"),
        (("result", "cells", "bands"), 0, "result.cells.bands"),
        (("result", "cells"), None, "result.cells.bands"),
        (("result", "frame", "lat"), 91.0, "result.frame"),
        (("result", "project", "day"), "yesterday", "result.project.day"),
        (
            ("result", "project", "planned_altitudes_amsl_ft"),
            [99999],
            "result.project.planned_altitudes_amsl_ft",
        ),
        (
            ("result", "project", "planned_altitudes_amsl_ft"),
            [],
            "result.project.planned_altitudes_amsl_ft",
        ),
        (("result", "findings", 0, "margin_ft"), "wide", "result.findings[0].margin_ft"),
        (("result", "findings", 0, "limit"), 99, "result.findings[0].limit"),
        (("result", "findings", 0, "limit"), -1, "result.findings[0].limit"),
        (("result", "binders", 0, "feature"), None, "result.binders[0].feature"),
        (("result", "area"), "0101", "result.area"),
        (("result", "area"), "zz", "result.area"),
        (("result", "area"), shapely.Point(5.0, 5.0).wkb_hex, "result.area"),
        (("result", "area"), shapely.Point().wkb_hex, "result.area"),
        (("result", "area"), shapely.Point(5.0, 95.0).wkb_hex, "result.area"),
        (("result", "settings", 0, "words"), ["a"], "result.settings[0].words"),
    ],
)
def test_a_value_that_does_not_fit_is_named(packed, file, keys, value, place):
    content = members(packed)
    document = json.loads(content["result.json"])
    set_at(document, keys, value)
    content["result.json"] = json.dumps(document).encode()
    faults = faults_of(file, pack(content))
    assert faults[0].key == f"result.json: {place}", faults


def test_a_key_that_is_missing_is_named(packed, file):
    content = members(packed)
    document = json.loads(content["result.json"])
    del document["result"]["project"]["wind"]
    del document["result"]["sources"][1]["edition"]
    content["result.json"] = json.dumps(document).encode()
    found = {one.key for one in faults_of(file, pack(content))}
    assert found == {
        "result.json: result.project.wind",
        "result.json: result.sources[1].edition",
    }


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (b'{\n"format": 1,\n}', "line 3"),
        (b"\xff", "not JSON"),
        (b"[1]", "an object"),
        (b'{"format": NaN}', "NaN"),
        (b'{"format": 1e999}', "too large"),
        (b"[" * 100_000, "not JSON"),
        (b'{"format": ' + b"9" * 5000 + b"}", "not JSON"),
    ],
)
def test_what_is_no_json(packed, file, text, said):
    (fault,) = faults_of(file, pack({**members(packed), "result.json": text}))
    assert said in str(fault)


def npy(array, version=(1, 0), pickled=False):
    stream = io.BytesIO()
    np.lib.format.write_array(stream, array, version=version, allow_pickle=pickled)
    return stream.getvalue()


def test_arrays_of_another_kind_are_refused(small, packed, file):
    shape = small.grid.shape
    floor, area = small.cells.legal_floor_amsl_ft, small.cells.is_in_area
    binder = small.cells.legal_floor_binder
    far, low = binder.copy(), binder.copy()
    far[0, 0], low[0, 0] = len(small.binders), -2
    two = npy(area)[: -area.size] + b"\x02" * area.size
    for name, data, said in (
        ("legal_floor_amsl_ft", npy(floor.view(np.uint16)), "<u2"),
        ("legal_floor_amsl_ft", npy(floor.astype(">i2")), ">i2"),
        ("legal_floor_amsl_ft", npy(floor[1:]), str((shape[0] - 1, shape[1]))),
        ("legal_floor_amsl_ft", npy(np.asfortranarray(floor)), "column by column"),
        ("legal_floor_amsl_ft", npy(floor, version=(2, 0)), "version (2, 0)"),
        ("legal_floor_amsl_ft", npy(floor)[:-1], "bytes of values"),
        ("legal_floor_amsl_ft", npy(floor) + b"\x00", "bytes of values"),
        ("legal_floor_amsl_ft", b"nothing", "no array"),
        ("legal_floor_amsl_ft", b"", "no array"),
        ("bands_amsl_ft", npy(floor), str(shape)),
        ("glide_binder", npy(np.full(shape, None), pickled=True), "|O"),
        ("is_in_area", two, "neither 0 nor 1"),
        ("is_in_area", npy(np.zeros_like(area)), "no cell"),
        ("legal_floor_binder", npy(far), f"to {len(small.binders)}"),
        ("legal_floor_binder", npy(low), "from -2"),
    ):
        (fault,) = faults_of(file, pack({**members(packed), f"{name}.npy": data}))
        assert fault.key == f"{name}.npy"
        assert said in fault.found, fault.found


def test_bands_that_are_not_there(packed, file):
    content = members(packed)
    for bands in (3, 10**30):
        document = json.loads(content["result.json"])
        document["result"]["cells"]["bands"] = bands
        edited = {**content, "result.json": json.dumps(document).encode()}
        (fault,) = faults_of(file, pack(edited))
        assert fault.key == "bands_amsl_ft.npy"
        assert f"({bands}, 2, " in fault.expected


def test_another_sentence_for_whoever_opens_it_is_no_fault(packed, file):
    content = members(packed)
    document = json.loads(content["result.json"])
    document["about"] = "Hello."
    file.write_bytes(pack({**content, "result.json": json.dumps(document).encode()}))
    assert read_result(file).version == document["result"]["version"]


def test_members_that_unpack_to_more_than_they_may(packed, file, monkeypatch):
    """Ten million zeros pack to ten thousand bytes; nothing is unpacked before it is weighed."""
    name = "is_in_area.npy"
    (fault,) = faults_of(file, pack({**members(packed), name: bytes(10_000_000)}))
    assert fault.key == name
    assert "unpacks to 10,000,000 bytes" in fault.found
    monkeypatch.setattr(result_file, "_MOST_WORDS_BYTES", 1000)
    (fault,) = faults_of(file, packed)
    assert (fault.key, fault.expected) == ("result.json", "at most 1,000")
    monkeypatch.setattr(result_file, "_MOST_BYTES", 1000)
    (fault,) = faults_of(file, packed)
    assert "the file has" in fault.found


def test_a_declared_size_that_lies_is_found(packed, file):
    """The size in both headers made smaller than what the member unpacks to."""
    size = len(members(packed)["is_in_area.npy"])
    assert packed.count(struct.pack("<L", size)) >= 2
    (fault,) = faults_of(file, packed.replace(struct.pack("<L", size), struct.pack("<L", 200)))
    assert "damaged" in fault.found


def test_other_packings_are_refused(packed, file):
    with zipfile.ZipFile(file, "w", zipfile.ZIP_BZIP2) as archive:
        for name, data in members(packed).items():
            archive.writestr(name, data)
    (fault,) = faults_of(file, file.read_bytes())
    assert "packed by method" in fault.found
    locked = bytearray(packed)
    for found in re.finditer(rb"PK\x01\x02", packed):
        locked[found.start() + 8] |= 1  # "encrypted" (APPNOTE.TXT 4.4.4, bit 0)
    (fault,) = faults_of(file, bytes(locked))
    assert "damaged" in fault.found
