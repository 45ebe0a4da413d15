"""A result saved and read again: bit for bit, and the same bytes twice.

What the file is made of is checked by others than its reader: `zipfile`, `json`, `numpy.load` and
`sha256sum` of GNU coreutils.
"""

import hashlib
import io
import json
import subprocess
import zipfile

import numpy as np
import pytest
import shapely
from attrs import evolve, fields

from areaplan import __version__
from areaplan.errors import InputError
from areaplan.planning import result_file
from areaplan.planning.evaluation import evaluate
from areaplan.planning.plan import JudgedCells
from areaplan.planning.project_file import read_project
from areaplan.planning.result import Result, result_of
from areaplan.planning.result_file import read_result, result_bytes
from areaplan.planning.starter import scenario_directory
from areaplan.render.result_writing import write_result
from tests.planning.packed_results import DIGESTS, members
from tests.render.plan_fixture import plan as hostile_plan


def same_words(one, other):
    for name in (field.name for field in fields(Result)):
        if name not in ("area", "things", "cells", "saved"):
            assert getattr(one, name) == getattr(other, name), name
    assert one.area.wkb == other.area.wkb
    assert list(one.things) == list(other.things)
    for kind, rows in one.things.items():
        told = [[(row.name, row.geometry.wkb, row.tops_m, row.told) for row in rows]]
        told += [[(row.name, row.geometry.wkb, row.tops_m, row.told) for row in other.things[kind]]]
        assert told[0] == told[1], kind


def same_bits(one, other):
    for name in (field.name for field in fields(JudgedCells)):
        before, after = getattr(one.cells, name), getattr(other.cells, name)
        assert (before.dtype, before.shape) == (after.dtype, after.shape)
        assert before.tobytes() == after.tobytes()


def test_what_is_read_is_what_was_saved(small, file):
    """Names with quotes and markup, unknown ground, several bands; and a flat little country."""
    for result in (small, result_of(hostile_plan())):
        write_result(result, file)
        found = read_result(file)
        same_words(result, found)
        same_bits(result, found)
        assert found.version == __version__
        assert found.saved.path == str(file)
        assert found.saved.sha256 == hashlib.sha256(file.read_bytes()).hexdigest()
        assert not found.cells.legal_floor_amsl_ft.flags.writeable


def test_the_same_bytes_twice_and_after_a_way_through_a_file(small, packed, file):
    file.write_bytes(packed)
    assert result_bytes(small) == packed
    assert result_bytes(read_result(file)) == packed
    with zipfile.ZipFile(file) as archive:
        assert {one.date_time for one in archive.infolist()} == {(1980, 1, 1, 0, 0, 0)}


def test_the_demonstration_fits_in_a_letter(file):
    """The demo's 606,096 cells come to some 650 kB."""
    result = result_of(evaluate(read_project(scenario_directory() / "project.toml")))
    write_result(result, file)
    assert file.stat().st_size < 1_000_000
    found = read_result(file)
    same_words(result, found)
    same_bits(result, found)


def test_others_can_open_it(small, packed, tmp_path):
    with zipfile.ZipFile(io.BytesIO(packed)) as archive:
        archive.extractall(tmp_path)
    told = json.loads((tmp_path / "result.json").read_text(encoding="utf-8"))["result"]
    assert told["version"] == __version__
    assert told["project"]["day"] == "2026-11-25"
    assert [row["sha256"] for row in told["sources"]] == [list(row.sha256) for row in small.sources]
    assert shapely.from_wkb(told["area"]).equals(small.area)
    for name in (field.name for field in fields(JudgedCells)):
        array = np.load(tmp_path / f"{name}.npy", allow_pickle=False)
        assert np.array_equal(array, getattr(small.cells, name))
    checked = subprocess.run(
        ["sha256sum", "--check", "--strict", DIGESTS],
        cwd=tmp_path,
        capture_output=True,
        text=True,
        check=False,
    )
    assert checked.returncode == 0, checked.stdout + checked.stderr
    assert checked.stdout.count(": OK") == 1 + len(fields(JudgedCells))


def key_paths(value, path=""):
    if isinstance(value, dict):
        for key, one in value.items():
            yield from key_paths(one, f"{path}.{key}")
    elif isinstance(value, list) and value and isinstance(value[0], dict):
        yield from key_paths(value[0], f"{path}[]")
    else:
        yield path


def test_format_1_has_these_keys(packed):
    """Whoever must change this list raises `FORMAT`: an older areaplan can't read the new file."""
    told = json.loads(members(packed)["result.json"])
    told["result"]["things"] = {"any": told["result"]["things"]["fields"]}
    limit = ("rule", "title", "severity", "quote", "document", "confirm", "reading")
    shares = ("altitude_amsl_ft", "legal_share", "safe_share", "legal_and_safe_share")
    record = ("kind", "paths", "sha256", "edition", "effective", "expires", "vertical_datum")
    finding = ("limit", "verdict", "altitude_amsl_ft", "margin_ft", "lat", "lon", "feature")
    keys = {
        "": ("about", "format"),
        "limit_table[].": limit,
        "result.": ("version", "area", "verdict", "limits", "cautions", "warnings"),
        "result.project.": ("path", "sha256", "name", "school", "day", "wind"),
        "result.project.planned": ("_altitudes_amsl_ft",),
        "result.frame.": ("lat", "lon"),
        "result.grid.": ("x_min_m", "y_max_m", "cell_m", "rows", "cols"),
        "result.block.": ("floor_amsl_ft", "ceiling_amsl_ft"),
        "result.best.": (*shares, "unknown_share"),
        "result.findings[].": (*finding, "share_met", "sources", "names"),
        "result.binders[].": ("limit", "feature"),
        "result.sources[].": (*record, "rows_read", "rows_used", "rows_rejected", "notes"),
        "result.rules[].": ("rule",),
        "result.rules[].told[].": ("label", "words", "exact"),
        "result.settings[].": ("label", "words", "exact"),
        "result.things.any[].": ("name", "geometry", "tops_m", "told"),
        "result.cells.": ("bands",),
    }
    expected = {f".{group}{name}" for group, names in keys.items() for name in names}
    assert set(key_paths(told)) == expected
    assert told["format"] == 1


def test_only_an_older_result_is_replaced(small, tmp_path):
    project = tmp_path / "project.toml"
    project.write_text("[project]\n", encoding="utf-8")
    with pytest.raises(InputError, match="no saved result"):
        write_result(small, project)
    assert project.read_text(encoding="utf-8") == "[project]\n"
    file = tmp_path / "result.zip"
    write_result(evolve(small, warnings=("old",)), file)
    write_result(small, file)
    assert read_result(file).warnings == small.warnings
    with pytest.raises(InputError, match="--save"):
        write_result(small, tmp_path / "none" / "result.zip")


def test_a_result_that_could_not_be_read_again_is_not_written(small, monkeypatch):
    monkeypatch.setattr(result_file, "_MOST_BYTES", 1000)
    with pytest.raises(InputError, match="to save"):
        result_bytes(small)


def test_cells_of_another_type_are_a_mistake(small):
    """Never turned in silence: a float would lose its fraction, and the floor with it."""
    floor = small.cells.legal_floor_amsl_ft.astype(np.float64)
    with pytest.raises(TypeError):
        result_bytes(evolve(small, cells=evolve(small.cells, legal_floor_amsl_ft=floor)))
