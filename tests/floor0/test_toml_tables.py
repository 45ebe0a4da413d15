"""Tables read key by key: what each getter takes, and the one fault of what it refuses.

What TOML itself is stands in its specification, v1.0.0 (cited from memory): the file is valid
UTF-8, a key is defined once, a date is one of RFC 3339, true and false are written in lower case.
"""

from __future__ import annotations

import math
import re
import tomllib
from datetime import date
from enum import StrEnum

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from areaplan.errors import Fault, InputError
from areaplan.toml_tables import Faults, Table, parse_toml

PLACE = "some.toml"
HUGE = "0x" + "f" * 10_000  # more digits than Python writes out
DEEP = ".".join(["k"] * 5000)  # tables inside tables, more than Python shows


class Colour(StrEnum):
    RED = "red"
    DARK_BLUE = "dark blue"


def table_of(text: str) -> Table:
    return Table(tomllib.loads(text), "", Faults(PLACE))


def only_fault(table: Table) -> Fault:
    (fault,) = table.faults.noted
    assert fault.place == PLACE
    assert all((fault.found, fault.expected, fault.fix))
    return fault


# Each getter with a value that it takes, what it makes of it, and its stand-in.
GETTERS = {
    "text": (lambda t: t.text("k", "a name", "North"), '"a b"', "a b", ""),
    "texts": (lambda t: t.texts("k", "names", '["a"]'), '["a", "b"]', ("a", "b"), ()),
    "prose": (lambda t: t.prose("k"), '"""a\n  b"""', "a b", ""),
    "choice": (lambda t: t.choice("k", Colour), '"dark blue"', Colour.DARK_BLUE, None),
    "choices": (lambda t: t.choices("k", Colour), '["red"]', (Colour.RED,), ()),
    "flag": (lambda t: t.flag("k"), "true", True, False),
    "day": (lambda t: t.day("k", required=True), "2026-11-25", date(2026, 11, 25), None),
    "number": (lambda t: t.number("k", 3.0, 60.0, "3 to 60", "9.0"), "60", 60.0, math.nan),
    "inner": (lambda t: t.inner("k", "{ x = 1 }"), "{ x = 2 }", Table, None),
}
WRONG = {
    "text": ["3", "true", "[]", '["a"]', "{}", '""', '" "', '"a\\nb"', f'"{"x" * 401}"', HUGE],
    "texts": ['"a"', "[]", "3", '["a", "a"]', "{}", HUGE],
    "prose": ["3", '""', '" \\n "', '"\\u202e"', '"a\\u0000"', '["a"]', "{}", HUGE],
    "choice": ['"blue"', '"Red"', '""', "3", "false", '["red"]', "{}", HUGE],
    "choices": ['"red"', "[]", "[3]", "[[1]]", '["reds"]', '["red", "red"]', "{}", f"[{HUGE}]"],
    "flag": ['"true"', "1", "0", "[]", "[true]", "{}", "1979-05-27", HUGE],
    "day": ['"2026-11-25"', "2026-11-25T10:00:00", "10:00:00", "2026", "[]", "{}", HUGE],
    "number": ["2.9", "60.1", "nan", "inf", "-inf", "true", '"9"', "[9]", "{}", HUGE],
    "inner": ["3", '"x"', "[]", "[{}]", "true", HUGE],
}


@pytest.mark.parametrize("name", GETTERS)
def test_a_right_value_is_taken(name: str) -> None:
    get, text, value, _ = GETTERS[name]
    table = table_of(f"k = {text}")
    found = get(table)
    if value is Table:
        assert (found.values, found.key) == ({"x": 2}, "k")
    else:
        assert found == value
        assert type(found) is type(value)
    assert not table.faults.noted


@pytest.mark.parametrize(("name", "text"), [(name, text) for name in WRONG for text in WRONG[name]])
def test_a_wrong_value_is_one_short_fault_and_a_stand_in(name: str, text: str) -> None:
    get, _, _, stand_in = GETTERS[name]
    table = table_of(f"k = {text}")
    found = get(table)
    fault = only_fault(table)
    assert fault.key == "k"
    assert len(str(fault)) < 300
    if text not in ('["a", "a"]', '["red", "red"]'):  # there the first of the two is no stand-in
        assert found == stand_in or (found != found and stand_in != stand_in)


@pytest.mark.parametrize("name", GETTERS)
def test_a_value_nested_without_end_is_a_fault(name: str) -> None:
    table = Table(tomllib.loads(f"{DEEP} = 1"), "", Faults(PLACE))
    get = GETTERS[name][0]
    found = get(table)
    assert found is not None if name == "inner" else only_fault(table).key == "k"


@pytest.mark.parametrize("name", GETTERS)
def test_a_missing_key_is_one_fault_that_says_what_to_add(name: str) -> None:
    get, *_ = GETTERS[name]
    table = table_of("")
    get(table)
    fault = only_fault(table)
    assert (fault.key, fault.found) == ("k", "not given")
    advice = re.fullmatch(r"add the missing key: (k = .+)", fault.fix)
    assert advice
    assert "k" in tomllib.loads(advice[1])  # the advice is TOML


def test_what_has_a_default_may_be_absent_but_not_wrong() -> None:
    table = table_of("")
    assert table.text("a", "words", "x", default="usual") == "usual"
    assert table.prose("b", default="") == ""
    assert table.choice("c", Colour, default=Colour.RED) is Colour.RED
    assert table.day("d") is None
    assert table.passages("e") == ()
    assert table.tables("f") == ()
    assert not table.faults.noted
    table = table_of('a = ""\nb = ""\nc = "blue"\nd = "today"')
    table.text("a", "words", "x", default="usual")
    assert table.prose("b", default="") == ""  # left empty on purpose
    table.choice("c", Colour, default=Colour.RED)
    table.day("d")
    assert [fault.key for fault in table.faults.noted] == ["a", "c", "d"]


def test_each_text_of_a_list_has_its_own_key() -> None:
    table = table_of('k = ["a", 3, "", "b\\nc", "a"]')
    assert table.texts("k", "names", '["a"]') == ("a", "a")
    assert [fault.key for fault in table.faults.noted] == ["k[2]", "k[3]", "k[4]", "k"]
    assert "'a' more than once" in str(table.faults.noted[-1])


@pytest.mark.parametrize("text", ["[3]", '[""]', '"a"', "{}", '["a", "\\u0007"]', f"[{HUGE}]"])
def test_passages_are_prose_or_a_fault(text: str) -> None:
    table = table_of('k = ["""one\ntwo""", "one two"]')
    assert table.passages("k") == ("one two", "one two")
    table = table_of(f"k = {text}")
    table.passages("k")
    assert only_fault(table).expected == "a list of texts"


def test_a_wrong_word_is_told_with_all_words_and_the_nearest() -> None:
    table = table_of('k = "drak blue"')
    assert table.choice("k", Colour) is None
    fault = only_fault(table)
    assert fault.expected == 'one of "red", "dark blue"'
    assert fault.fix == 'did you mean "dark blue"?'
    table = table_of('k = ["red", "reed", "red"]')
    assert table.choices("k", Colour) == (Colour.RED, Colour.RED)
    misspelt, twice = table.faults.noted
    assert misspelt.fix == 'did you mean "red"?'
    assert (twice.found, twice.expected) == ("'red' more than once", "each word once")


def test_keys_never_asked_for_are_refused() -> None:
    table = table_of('name = "x"\nplase = 1\nwho = 2')
    table.text("name", "a name", "x")
    table.has("place")
    table.refuse_unknown()
    first, second = table.faults.noted
    assert (first.key, first.found, first.expected) == (
        "plase",
        "unknown key",
        "one of name, place",
    )
    assert first.fix == 'did you mean "place"?'
    assert "did you mean" not in second.fix
    again = Table(table.values, "", Faults(PLACE))
    again.refuse_unknown("a wish")
    assert again.faults.noted[0].expected == "only the keys of a wish: "


def test_key_paths_go_down_through_tables() -> None:
    whole = table_of("[a]\nb = { c = 1 }\n[[rows]]\n[[rows]]\nd = 1\n[[rows.parts]]\ne = 1")
    inner = whole.section("a").inner("b", "{ c = 1 }")
    assert inner is not None
    assert inner.path("c") == "a.b.c"
    first, second = whole.tables("rows")
    assert first.path("d") == "rows[1].d"
    (part,) = second.tables("parts", each="part")
    assert part.path("e") == "rows[2].part[1].e"
    part.text("e", "a name", "x")
    assert only_fault(whole).key == "rows[2].part[1].e"  # one list of faults for the whole file


@pytest.mark.parametrize("text", ["3", '"x"', "{ a = 1 }", "[1]", '[{}, "x"]', "[[]]"])
def test_what_is_no_list_of_tables_is_refused(text: str) -> None:
    table = table_of(f"rows = {text}")
    assert table.tables("rows") == ()
    assert "[[rows]]" in only_fault(table).expected


def test_a_missing_table_is_one_fault_and_silent_below() -> None:
    whole = table_of("wrong = 3")
    for key, found in (("absent", "not given"), ("wrong", "the bare number 3")):
        before = len(whole.faults.noted)
        stand_in = whole.section(key)
        stand_in.text("name", "a name", "x")
        (fault,) = whole.faults.noted[before:]
        assert (fault.key, fault.found) == (key, found)
    assert not whole.section("optional", required=False).values
    assert len(whole.faults.noted) == 2


VALUES = st.recursive(
    st.none().map(lambda _: {})
    | st.booleans()
    | st.integers()
    | st.floats()
    | st.text(max_size=20)
    | st.dates()
    | st.datetimes()
    | st.times(),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(), inner, max_size=2),
    max_leaves=5,
)


@settings(deadline=None, max_examples=200)
@given(name=st.sampled_from(sorted(GETTERS)), value=VALUES)
def test_any_value_is_taken_or_a_fault(name: str, value: object) -> None:
    get, _, right, stand_in = GETTERS[name]
    table = Table({"k": value}, "", Faults(PLACE))
    found = get(table)
    for fault in table.faults.noted:
        assert fault.key.partition("[")[0] == "k"
        assert all((fault.found, fault.expected, fault.fix))
    if not table.faults.noted:
        assert isinstance(found, right if isinstance(right, type) else type(right))
        assert found == found  # no NaN passes without a fault
        assert found != stand_in or found is False
    table.refuse_unknown()
    assert "unknown key" not in {fault.found for fault in table.faults.noted}


def parse(data: bytes) -> dict[str, object]:
    return parse_toml(PLACE, data, expected="a list of wishes", fix="write one")


@pytest.mark.parametrize("mark", [b"", b"\xef\xbb\xbf"])
def test_bytes_become_a_table_with_or_without_a_byte_order_mark(mark: bytes) -> None:
    assert parse(mark + 'a = "é"'.encode()) == {"a": "é"}


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"[project\nname = 3", "line 1"),
        (b'[a]\nname = "a"\nname = "b"\n\n', "line 3"),
        (b"day = 2026-02-30", "not TOML"),
        (b"flag = True", "not TOML"),
        (b"a = " + b"[" * 100_000, "not TOML"),
        (b"a = " + b"9" * 10_000, "not TOML"),
        (b"\x00", "not TOML"),
    ],
)
def test_bytes_that_are_no_toml(data: bytes, words: str) -> None:
    with pytest.raises(InputError) as caught:
        parse(data)
    (fault,) = caught.value.faults
    assert words in fault.found
    assert (fault.place, fault.expected, fault.fix) == (PLACE, "a list of wishes", "write one")


@pytest.mark.parametrize(
    ("data", "line", "byte"),
    [
        (b'[a]\nname = "\xff"', 2, "0xff"),
        ("[a]".encode("utf-16-le").join([b"\xff\xfe", b""]), 1, "0xff"),
        (b"\xef\xbb\xbf[a]\n\xe9", 2, "0xe9"),
        (b"# \xc0\xaf", 1, "0xc0"),  # overlong: barred by RFC 3629, section 3
    ],
)
def test_bytes_that_are_no_utf_8(data: bytes, line: int, byte: str) -> None:
    with pytest.raises(InputError) as caught:
        parse(data)
    (fault,) = caught.value.faults
    assert fault.key == f"line {line}"
    assert fault.found == f"byte {byte}, which is not UTF-8"
