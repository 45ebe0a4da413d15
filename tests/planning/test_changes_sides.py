"""Which side of a comparison comes from where, and which areaplan made it."""

import pytest
from attrs import evolve

from areaplan import __version__
from areaplan.errors import InputError
from areaplan.planning.changes import compare_results
from areaplan.planning.changes_sides import side_at, side_words
from areaplan.planning.plan import Block
from areaplan.render.changes_json import changes_as_json
from areaplan.render.changes_paper import changes_document, changes_text
from areaplan.render.document.html import document_as_html
from tests.planning.builder import plain_country
from tests.planning.packed_results import small_file, small_result


def test_a_side_is_known_by_its_content(tmp_path):
    project = plain_country(tmp_path).project(cell="100 m", around="1 NM", half_m=500.0)
    odd = tmp_path / "result.toml"
    odd.write_bytes(small_file())
    (live, plan), (saved, nothing) = side_at(project), side_at(odd)
    assert plan.verdict is live.verdict
    assert nothing is None
    assert live.saved is None
    assert saved.saved.path == str(odd)
    assert side_words(live).startswith(f"{project} (SHA-256 ")
    assert "saved result" not in side_words(live)
    assert f"a saved result, made with areaplan {__version__} of" in side_words(saved)
    assert saved.saved.sha256[:16] in side_words(saved)
    assert saved.project.sha256[:16] in side_words(saved)
    found = compare_results(saved, live)
    assert found.is_same
    assert found.notes == ("Nothing changed.",)
    assert changes_as_json(found)["old"]["saved_result"] == {
        "path": str(odd),
        "sha256": saved.saved.sha256,
    }
    assert changes_as_json(found)["new"]["saved_result"] is None


def test_a_damaged_result_is_not_taken_for_a_project(tmp_path):
    path = tmp_path / "result.zip"
    path.write_bytes(b"QK" + small_file()[2:])  # still a zip archive by its end
    with pytest.raises(InputError, match="damaged"):
        side_at(path)
    path.write_bytes(small_file()[:-100])  # still one by its beginning
    with pytest.raises(InputError, match="no whole zip archive"):
        side_at(path)


def test_another_version_is_said_in_every_output():
    now = small_result()
    old = evolve(now, version="0.0.7")
    found = compare_results(old, now)
    assert found.notes[0] == "Nothing changed."
    assert (
        found.notes[1] == f'"Before" was saved by areaplan 0.0.7; this is areaplan {__version__}.'
    )
    assert "built-in rules or the computing may have changed" in found.notes[2]
    for words in (" ".join(changes_text(found).split()), document_as_html(changes_document(found))):
        assert "was saved by areaplan 0.0.7" in words
    told = changes_as_json(found)
    assert told["notes"] == list(found.notes)
    assert told["old"]["areaplan_version"] == "0.0.7"
    assert told["new"]["areaplan_version"] == __version__
    both = compare_results(old, evolve(now, version="0.0.7"))
    assert [words[:9] for words in both.notes] == ["Nothing c", '"Before" ', '"Now" was']


@pytest.mark.parametrize(
    "other",
    [
        {"warnings": ("EXPIRED",)},
        {"cautions": ("Mind the step.",)},
        {"block": Block(1, 2)},
        {"settings": ()},
        {"things": {}},
        {"sources": ()},
        {"rules": ()},
        {"findings": ()},
    ],
    ids=lambda other: next(iter(other)),
)
def test_any_difference_is_a_change(other):
    now = small_result()
    assert not compare_results(now, evolve(now, **other)).is_same


@pytest.mark.parametrize("name", ["legal_floor_amsl_ft", "bands_amsl_ft", "glide_required_amsl_ft"])
def test_one_foot_in_one_cell_is_a_change(name):
    now = small_result()
    values = getattr(now.cells, name).copy()
    values[..., 0, 0] += 1
    other = evolve(now, cells=evolve(now.cells, **{name: values}))
    assert not compare_results(now, other).is_same
