"""Files that are missing, damaged, renamed or meant to hurt: always two lines, never a crash."""

import os
import random
import shutil
import tempfile
import zipfile
from datetime import date

import numpy as np
import pytest
from shapely.geometry import Point, box

import areaplan.sources._files as files
from areaplan.errors import InputError
from areaplan.geodesy import LocalFrame
from areaplan.grid import Grid
from areaplan.sources._files import require_file
from areaplan.sources._text import MAX_NAME_CHARS, clean_name, clean_text, shown
from areaplan.sources.layers import SourceKind
from areaplan.sources.reading import read_source
from areaplan.sources.terrain import Terrain
from tests.sources.making import (
    faults_of,
    feature,
    lonlat_transform,
    spec_of,
    write_features,
    write_geojson,
    write_geotiff,
    write_hgt,
)

BARN = box(1.5, 42.5, 1.501, 42.501)


def read_structures(path, **more):
    return read_source(spec_of("structures", path, default_height_m=9.0, **more))


# --- the file itself ------------------------------------------------------------------------------
def _missing(folder):
    return folder / "nothing.geojson"


def _folder(folder):
    (folder / "a.geojson").mkdir()
    return folder / "a.geojson"


def _link_loop(folder):
    (folder / "a.geojson").symlink_to(folder / "b.geojson")
    (folder / "b.geojson").symlink_to(folder / "a.geojson")
    return folder / "a.geojson"


def _broken_link(folder):
    (folder / "a.geojson").symlink_to(folder / "gone")
    return folder / "a.geojson"


def _empty(folder):
    (folder / "a.geojson").touch()
    return folder / "a.geojson"


def _pipe(folder):
    os.mkfifo(folder / "a.geojson")
    return folder / "a.geojson"


def _nul(folder):
    return folder / "a\0.geojson"


def _long(folder):
    return folder / ("a" * 5000 + ".geojson")


@pytest.mark.parametrize(
    "make", [_missing, _folder, _link_loop, _broken_link, _empty, _pipe, _nul, _long]
)
@pytest.mark.parametrize("kind", ["structures", "terrain", "obstacles"])
def test_paths_that_are_no_files(tmp_path, make, kind):
    path = make(tmp_path)
    with pytest.raises(InputError) as error:
        read_source(spec_of(kind, path, vertical_datum="EGM96" if kind == "terrain" else ""))
    assert faults_of(error)[0].place == path.name


@pytest.mark.skipif(os.geteuid() == 0, reason="root may read everything")
def test_unreadable_file(tmp_path):
    path = write_features(tmp_path / "a.geojson", [(BARN, {})])
    path.chmod(0)
    with pytest.raises(InputError, match="cannot be opened"):
        read_structures(path)


def test_unreadable_file_by_any_user(tmp_path, monkeypatch):
    """The same for root: the operating system refuses, however it does."""
    path = write_features(tmp_path / "a.geojson", [(BARN, {})])

    def refuse(self, *_, **__):
        raise PermissionError(13, "Permission denied", str(self))

    monkeypatch.setattr(type(path), "open", refuse)
    with pytest.raises(InputError, match="Permission denied") as error:
        require_file(path, "a.geojson")
    faults_of(error)


def test_files_that_are_too_large_ask_to_be_clipped(tmp_path):
    path = tmp_path / "a.geojson"
    with path.open("wb") as stream:  # sparse: no bytes on disk
        stream.truncate(files.MAX_TABLE_BYTES + 1)
    with pytest.raises(InputError, match="512 MB") as error:
        read_structures(path)
    assert "clip" in faults_of(error)[0].fix


@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("a.geojson", b"SQLite format 3\x00" + b"\0" * 200),
        ("a.geojson", b'{"type": "Topology", "objects": {}, "arcs": []}'),
        ("a.geojson", b'{"a": 1}'),
        ("a.geojson", b"[" * 100_000),
        ("a.geojson", b'{"type":"FeatureCollection","features":' + b"[" * 100_000),
        ("a.gpkg", b"<kml/>"),
        ("a.gpkg", b"SQLite format 3\x00" + b"\0" * 200),
        ("a.kml", b'{"type": "FeatureCollection", "features": []}'),
        ("a.kml", b"<OGRVRTDataSource><OGRVRTLayer/></OGRVRTDataSource>"),
        ("a.shp", b"PK\x03\x04"),
        ("a.osm", b"\0\0\0\x0d\n\tOSMHeader"),
        ("a.pbf", b"<osm></osm>"),
        ("a.vrt", b"<OGRVRTDataSource/>"),
        ("a.xml", b"<x/>"),
        ("a", b"{}"),
    ],
)
def test_content_of_another_format_is_refused(tmp_path, name, content):
    path = tmp_path / name
    path.write_bytes(content)
    with pytest.raises(InputError) as error:
        read_structures(path)
    assert faults_of(error)[0].place == name


# --- XML that swells or reaches out ---------------------------------------------------------------
LAUGHS = "".join(f'<!ENTITY {chr(98 + i)} "{f"&{chr(97 + i)};" * 10}">' for i in range(10))
BOMB = f'<!DOCTYPE x [<!ENTITY a "haha">{LAUGHS}]>'
OUTSIDE = '<!DOCTYPE x [<!ENTITY k SYSTEM "file:///etc/hostname">]>'
PLACE = "<Placemark><name>&k;</name><Point><coordinates>1,42</coordinates></Point></Placemark>"


@pytest.mark.parametrize("prolog", [BOMB, OUTSIDE, BOMB.replace("<!DOCTYPE", "<!doctype")])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-16"])
def test_entities_in_kml_are_refused_before_a_parser_sees_them(tmp_path, prolog, encoding):
    path = tmp_path / "a.kml"
    head = f'<?xml version="1.0" encoding="{encoding}"?>{prolog}'
    path.write_bytes(f"{head}<kml><Document>{PLACE}</Document></kml>".encode(encoding))
    with pytest.raises(InputError, match="declaration") as error:
        read_structures(path)
    faults_of(error)


def test_entities_behind_a_long_comment_are_found_too(tmp_path):
    path = tmp_path / "a.kml"
    # The declaration straddles the end of a chunk of a megabyte.
    comment = "<!--" + "x" * (files._CHUNK_BYTES - 20) + "-->"
    path.write_text(f'<?xml version="1.0"?>{comment}{BOMB}<kml><Document/></kml>')
    with pytest.raises(InputError, match="declaration"):
        read_structures(path)


def test_entities_in_openstreetmap_xml_are_refused(tmp_path):
    path = tmp_path / "a.osm"
    path.write_text(f'<?xml version="1.0"?>{BOMB}<osm version="0.6"></osm>')
    with pytest.raises(InputError, match="declaration") as error:
        read_structures(path)
    faults_of(error)


def test_a_network_link_is_refused(tmp_path):
    path = tmp_path / "a.kml"
    link = "<NetworkLink><Link><href>http://example.org/a.kml</href></Link></NetworkLink>"
    path.write_text(f"<kml><Document>{link}{PLACE.replace('&k;', 'Barn')}</Document></kml>")
    with pytest.raises(InputError, match="network link"):
        read_structures(path)


# --- names ----------------------------------------------------------------------------------------
def test_markup_in_a_name_stays_text_and_a_megabyte_is_cut(tmp_path):
    script = "<script>alert(1)</script>"
    path = write_geojson(
        tmp_path / "a.geojson",
        feature(BARN, name=script),
        feature(BARN, name="x" * 1_000_000),
        feature(BARN, name="two\nlines\t\x1b[31m\u202eback"),
    )
    layer = read_structures(path)
    assert layer.rows[0].name == script
    assert layer.rows[1].name == "x" * (MAX_NAME_CHARS - 1) + "…"
    assert layer.rows[2].name == "two lines [31m back"
    assert "a.geojson: 1 names are cut to 120 characters: feature 2" in layer.record.notes


def test_a_monstrous_name_does_not_swell_the_error(tmp_path):
    path = write_geojson(tmp_path / "a.geojson", feature(None, name="<b>\n" * 300_000))
    with pytest.raises(InputError) as error:
        read_structures(path)
    assert len(str(faults_of(error)[0])) < 500


def test_words_from_files_are_cleaned():
    assert clean_text(None) == ""
    assert clean_text(7.5) == "7.5"
    assert clean_text(" a \r\n b\x00c ") == "a b c"
    assert clean_text("\ud800") == "\ufffd"
    assert clean_name("a" * MAX_NAME_CHARS) == "a" * MAX_NAME_CHARS
    assert shown("a" * 1000) == '"' + "a" * 79 + '…"'
    assert shown(12) == "12"


# --- archives -------------------------------------------------------------------------------------
def test_an_archive_that_would_swell_is_not_unpacked(tmp_path):
    path = tmp_path / "N42E001.hgt.zip"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("N42E001.hgt", b"\0" * 40_000_000)
    with pytest.raises(InputError, match="40,000,000 bytes") as error:
        read_source(spec_of("terrain", path, vertical_datum="EGM96"))
    faults_of(error)


def test_an_archive_whose_directory_lies_about_the_size(tmp_path):
    path = tmp_path / "N42E001.hgt.zip"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("N42E001.hgt", b"\0" * 40_000_000)
    legal, real = (2_884_802).to_bytes(4, "little"), (40_000_000).to_bytes(4, "little")
    raw = path.read_bytes()
    assert raw.count(real) == 2
    path.write_bytes(raw.replace(real, legal))
    with pytest.raises(InputError) as error:
        read_source(spec_of("terrain", path, vertical_datum="EGM96"))
    faults_of(error)


# --- damage at random -----------------------------------------------------------------------------
@pytest.fixture(scope="module")
def originals(tmp_path_factory):
    folder = tmp_path_factory.mktemp("originals")
    rows = [
        (box(1 + i / 100, 42, 1.005 + i / 100, 42.005), {"name": f"n{i}", "height_ft": 30.0})
        for i in range(20)
    ]
    for ending in (".gpkg", ".geojson", ".kml", ".shp"):
        write_features(folder / f"a{ending}", rows)
    heights = np.random.default_rng(1).uniform(0, 900, (60, 60)).astype(np.float32)
    write_geotiff(folder / "a.tif", heights, lonlat_transform(1, 42, 0.001), compress="deflate")
    write_hgt(folder / "N41E001.hgt.zip", np.arange(1201**2).reshape(1201, 1201) % 999)
    return folder


@pytest.mark.parametrize(
    "name", ["a.gpkg", "a.geojson", "a.kml", "a.shp", "a.dbf", "a.tif", "N41E001.hgt.zip"]
)
def test_damage_at_random_gives_an_answer_or_an_input_error(originals, tmp_path, name, capfd):
    raw = (originals / name).read_bytes()
    chance = random.Random(name)
    refused = []
    for _ in range(25):
        for part in originals.iterdir():
            shutil.copy(part, tmp_path)
        damaged = bytearray(raw)
        if chance.random() < 0.4:
            damaged = damaged[: chance.randrange(1, len(raw))]
        else:
            for _ in range(chance.choice((1, 5, 50))):
                damaged[chance.randrange(min(len(raw), chance.choice((200, 10**9))))] = (
                    chance.randrange(256)
                )
        (tmp_path / name).write_bytes(bytes(damaged))
        path = tmp_path / name.replace(".dbf", ".shp")
        try:
            is_terrain = name.endswith((".tif", ".zip"))
            source = read_source(
                spec_of(
                    "terrain" if is_terrain else "structures",
                    path,
                    default_height_m=9.0,
                    vertical_datum="EGM96" if is_terrain else "",
                )
            )
            if isinstance(source, Terrain):
                source.on_grid(Grid(-1000, 1000, 100, 20, 20), LocalFrame(41.98, 1.03))
        except InputError as error:
            refused += [str(fault) for fault in error.faults]
    assert refused  # cutting alone must have been noticed
    assert all(len(fault.split("\n")) == 2 for fault in refused)
    assert capfd.readouterr().err == ""


def test_no_temporary_file_is_left(tmp_path, monkeypatch):
    scratch = tmp_path / "scratch"
    scratch.mkdir()
    monkeypatch.setattr(tempfile, "tempdir", None)
    for variable in ("TMPDIR", "TEMP", "CPL_TMPDIR"):
        monkeypatch.setenv(variable, str(scratch))
    for ending in (".gpkg", ".kml", ".shp"):
        path = write_features(tmp_path / f"a{ending}", [(Point(1, 42), {"name": "x"})])
        read_structures(path)
    assert tempfile.gettempdir() == str(scratch)
    assert os.listdir(scratch) == []


# --- the one entry --------------------------------------------------------------------------------
@pytest.mark.parametrize(
    "kind", [k for k in SourceKind if k not in ("area", "terrain", "land-cover")]
)
def test_none_because_is_an_empty_layer_that_carries_the_reason(kind):
    words = "None here; driven round on 2026-10-02, chief instructor"
    layer = read_source(spec_of(kind, none_because=words, effective=date(2026, 10, 2)))
    assert layer.rows == ()
    assert layer.record.edition == words
    assert layer.record.kind is kind
    assert layer.record.effective == date(2026, 10, 2)
    assert layer.record.rows_read == 0
    assert layer.covers is None


@pytest.mark.parametrize("kind", ["area", "terrain", "land-cover"])
def test_a_project_cannot_do_without_area_and_terrain(kind):
    with pytest.raises(InputError, match="none_because") as error:
        read_source(spec_of(kind, none_because="none"))
    faults_of(error)


@pytest.mark.parametrize("kind", list(SourceKind))
def test_a_source_without_files_is_an_error(kind):
    with pytest.raises(InputError, match="no files") as error:
        read_source(spec_of(kind))
    faults_of(error)
