"""The school's own line for the vertical section: read as written, every fault at its key."""

import pytest

from areaplan.planning.section_line import SectionLine
from tests.planning.project_text import PROJECT, faults_of, folder_with_files, read

LINE = "\n[briefing]\nsection = [[41.16, -100.05], [41.23, -99]]\n"


def test_the_line_is_read_as_written(tmp_path):
    project = read(folder_with_files(tmp_path), PROJECT + LINE)
    assert project.section == SectionLine((41.16, -100.05), (41.23, -99.0))
    assert project.briefing is not None


def test_without_the_key_there_is_none(tmp_path):
    folder = folder_with_files(tmp_path)
    assert read(folder, PROJECT).section is None
    assert read(folder, PROJECT + '\n[briefing]\nauthor = "A"\n').section is None


@pytest.mark.parametrize(
    ("value", "key"),
    [
        ('"41.16 -100.05"', "briefing.section"),
        ("[[41.16, -100.05]]", "briefing.section"),
        ("[]", "briefing.section"),
        ("[[41.16, -100.05], [41.16, -100.05]]", "briefing.section"),
        ("[[41.16, -100.05], [41.2]]", "briefing.section[2]"),
        ("[[41.16, -100.05], 41.2]", "briefing.section[2]"),
        ("[[true, -100.05], [41.2, -100.0]]", "briefing.section[1]"),
        ('[[41.16, "-100.05"], [41.2, -100.0]]', "briefing.section[1]"),
        ("[[141.16, -100.05], [41.2, -100.0]]", "briefing.section[1]"),
        ("[[41.16, -100.05], [41.2, -181.0]]", "briefing.section[2]"),
        ("[[nan, -100.05], [41.2, -100.0]]", "briefing.section[1]"),
    ],
)
def test_faults_name_their_key(tmp_path, value, key):
    text = PROJECT + f"\n[briefing]\nsection = {value}\n"
    faults = faults_of(folder_with_files(tmp_path), text)
    assert [fault.key for fault in faults] == [key]


def test_a_briefing_that_is_no_table_is_one_fault(tmp_path):
    faults = faults_of(folder_with_files(tmp_path), "briefing = 3\n" + PROJECT)
    assert [fault.key for fault in faults] == ["briefing"]
