"""The [briefing] table of a project: read as written, every fault named."""

from datetime import date

import pytest

from tests.planning.project_text import PROJECT, faults_of, folder_with_files, read

TABLE = """
[briefing]
revision = "4"
author = "A. Harbin"
approver = "T. Okoro"
review_by = 2027-11-01
aerodrome = { name = "Velmory", lat = 41.16, lon = -100.13, elevation = "1,046 ft AMSL" }
landmarks = ["pond", "pond"]
frequencies = [{ station = "Velmory Tower", frequency = "118.350", use = "class D" }]
emergency = ["Red board"]
lost_communication = ["Leave to the south."]
"""


def test_the_table_is_read_as_written(tmp_path):
    words = read(folder_with_files(tmp_path), PROJECT + TABLE).briefing
    assert (words.revision, words.author, words.approver) == ("4", "A. Harbin", "T. Okoro")
    assert words.review_by == date(2027, 11, 1)
    assert (words.aerodrome.name, words.aerodrome.elevation_amsl_ft) == ("Velmory", 1046)
    assert (words.aerodrome.lat, words.aerodrome.lon) == (41.16, -100.13)
    assert words.landmarks == ("pond", "pond")  # two corners may be seen by one
    assert words.frequencies[0].frequency == "118.350"
    assert words.emergency == ("Red board",)


def test_every_key_may_be_missing(tmp_path):
    folder = folder_with_files(tmp_path)
    assert read(folder, PROJECT).briefing is None
    words = read(folder, PROJECT + "\n[briefing]\n").briefing
    assert (words.revision, words.aerodrome, words.review_by, words.landmarks) == (
        "",
        None,
        None,
        (),
    )


@pytest.mark.parametrize(
    ("old", "new", "key"),
    [
        ('"118.350"', '"118,35"', "briefing.frequencies[1].frequency"),
        ('"118.350"', "118.35", "briefing.frequencies[1].frequency"),
        ("lat = 41.16", "lat = 141.16", "briefing.aerodrome.lat"),
        ('"1,046 ft AMSL"', '"1,046 ft"', "briefing.aerodrome.elevation"),
        ("review_by = 2027-11-01", 'review_by = "soon"', "briefing.review_by"),
        ('revision = "4"', "revison = '4'", "briefing.revison"),
        ('["Red board"]', '["Red board", "Red board"]', "briefing.emergency"),
        ("[briefing]", "[[briefing]]", "briefing"),
    ],
)
def test_faults_name_their_key(tmp_path, old, new, key):
    assert old in TABLE
    faults = faults_of(folder_with_files(tmp_path), PROJECT + TABLE.replace(old, new))
    assert key in [fault.key for fault in faults]
