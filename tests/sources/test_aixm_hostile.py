"""AIXM files that are damaged, hostile or of another kind: an InputError, never anything else."""

import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from areaplan.errors import InputError
from areaplan.sources.airspace import read_airspace
from areaplan.sources.obstacles import read_obstacles
from tests.sources.aixm_writing import (
    DAY,
    HEAD,
    airspace,
    arc,
    border,
    border_reference,
    borrowed,
    circle,
    classes,
    component,
    curve,
    element,
    limits,
    message,
    plain,
    ring,
    square,
    string,
    surface,
    write,
)  # fmt: skip
from tests.sources.making import faults_of, feature, spec_of, write_geojson

SOUND = message(plain())


def refused(path, words):
    with pytest.raises(InputError, match=words) as error:
        read_airspace(spec_of("airspace", path, day=DAY))
    faults_of(error)


BOMB = (
    '<!DOCTYPE x [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;&a;&a;">'
    '<!ENTITY c "&b;&b;&b;&b;&b;&b;&b;&b;&b;&b;">]>'
)


@pytest.mark.parametrize("encoding", ["utf-8", "utf-16", "cp037", "iso-8859-1"])
def test_a_document_type_is_refused_in_every_encoding(tmp_path, encoding):
    body = SOUND.split("?>", 1)[1].replace("XR1", "&c;")
    path = tmp_path / "bomb.xml"
    path.write_bytes(f'<?xml version="1.0" encoding="{encoding}"?>{BOMB}{body}'.encode(encoding))
    refused(path, "document type declaration")


def test_a_file_elsewhere_is_never_fetched(tmp_path):
    secret = tmp_path / "secret.txt"
    secret.write_text("SECRET")
    outside = f'<!DOCTYPE x [<!ENTITY s SYSTEM "file://{secret}">]>'
    text = SOUND.replace("?>", f"?>{outside}", 1).replace("XR1", "&s;")
    refused(write(tmp_path / "a.xml", text=text), "document type declaration")


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("not xml", "not sound XML"),
        ("<a/>", 'its root is "a"'),
        (SOUND[: len(SOUND) // 2], "not sound XML"),
        (SOUND + "<more/>", "not sound XML"),
        (SOUND.replace("5.1.1", "4.5"), "AIXM 4.5"),
        (SOUND.replace("5.1.1", "5.2"), "AIXM 5.2"),
        (f"{HEAD}</message:AIXMBasicMessage>", "no airspace"),
        (message(border("b", [(42.0, 1.0), (42.1, 1.0)])), "no airspace"),
        (SOUND.replace("UTF-8", "x-unheard-of"), "not sound XML"),
        (SOUND.replace("<aixm:type>", "<aixm:type>&other;"), "not sound XML"),
        (message("<a>" * 300 + "</a>" * 300), "deep"),
    ],
)
def test_other_and_damaged_files_are_refused(tmp_path, text, words):
    refused(write(tmp_path / "a.xml", text=text), words)


def test_version_5_1_is_read_too(tmp_path):
    path = write(tmp_path / "a.xml", text=SOUND.replace("5.1.1", "5.1"))
    assert len(read_airspace(spec_of("airspace", path, day=DAY)).rows) == 1


def test_other_formats_go_into_a_source_of_their_own(tmp_path):
    one = write(tmp_path / "a.xml", plain())
    other = write_geojson(tmp_path / "b.geojson", feature(None))
    with pytest.raises(InputError, match="of their own"):
        read_airspace(spec_of("airspace", one, other, day=DAY))


def test_two_files_make_one_layer(tmp_path):
    one = write(tmp_path / "a.xml", plain())
    other = write(tmp_path / "b.xml", plain(designator="XR2"))
    layer = read_airspace(spec_of("airspace", one, other, day=DAY))
    assert [row.name for row in layer.rows] == ["R XR1", "R XR2"]
    assert len(layer.record.sha256) == 2
    assert layer.record.rows_read == 2


RICH = message(
    plain(uuid="q", designator="Q"),
    airspace(
        classes("C", limits(("FLOOR", "FT", ""), ("65", "FL", "STD"))),
        component(limits() + surface(ring(curve(circle((42.0, 1.0), 5, "NM"))))),
        uuid="c",
    ),
    airspace(component(borrowed("q"), "BASE", "1"),
             component(limits() + borrowed("c", "HORZ_PROJECTION"), "SUBTR", "2"), uuid="w"),
    airspace(component(limits() + surface(ring(
        border_reference("urn:uuid:b"),
        curve(string([(42.5, 1.5), (42.5, 1.0)]), arc((42.25, 1.0), 27.8, "KM", 0, -180)),
    ))), uuid="s"),
    border("b", [(42.0, 1.0), (42.0, 1.5), (42.2, 1.6), (42.5, 1.5)]),
    airspace(component(limits() + square() + element("width", "5", uom="NM")), uuid="z"),
)  # fmt: skip
WORDS = ["", "0", "-1", "nan", "inf", "1e308", "GND", "UNL", "XYZ", "urn:uuid:w", "FL", "180", "²"]


@settings(deadline=None, max_examples=250)
@given(st.integers(0, 10**9))
def test_whatever_is_done_to_a_message_it_is_read_or_refused_by_name(tmp_path_factory, seed):
    """Cuts, swaps and other words in random places of a rich message."""
    chance = random.Random(seed)
    text = RICH
    for _ in range(chance.randint(1, 3)):
        start = chance.randrange(len(HEAD), len(text))
        closes = text.find("<", start)
        opens = text.rfind(">", 0, max(closes, 0)) + 1
        how = chance.random()
        if how < 0.6 and len(HEAD) < opens <= closes:
            text = text[:opens] + chance.choice(WORDS) + text[closes:]
        elif how < 0.8:
            end = start + chance.randint(1, 40)
            text = text[:start] + text[end:]
        else:
            member = text.find("<message:hasMember>", start)
            end = text.find("</message:hasMember>", member)
            if 0 < member < end:
                text = text[:member] + text[end + len("</message:hasMember>") :]
    path = tmp_path_factory.mktemp("fuzz") / "a.xml"
    path.write_text(text, encoding="utf-8")
    for reader, kind in ((read_airspace, "airspace"), (read_obstacles, "obstacles")):
        try:
            layer = reader(spec_of(kind, path, day=DAY))
        except InputError:
            continue
        for row in layer.rows:
            assert row.geometry.is_valid
            assert not row.geometry.is_empty
            if row.lower is None or row.upper is None:
                assert any(row.name in note for note in layer.record.notes)
        record = layer.record
        assert record.rows_read >= record.rows_used + record.rows_rejected
