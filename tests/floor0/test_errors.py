"""The messages that people get: where, what, what was expected and what to do."""

import pickle

import attrs
import pytest

from areaplan.errors import AreaplanError, Fault, InputError, OutsideDataError, QuantityError

FAULT = Fault("project.toml", "wind.value", "14", 'a wind such as "210/14 kt"', "add the direction")
WHOLE = Fault("roads.kml", "", "no line in it", "one line or more", "draw the roads")


def test_a_fault_reads_as_two_lines() -> None:
    assert str(FAULT).splitlines() == [
        'project.toml: wind.value: 14; expected a wind such as "210/14 kt"',
        "  fix: add the direction",
    ]
    assert str(WHOLE).startswith("roads.kml: no line in it; expected one line or more\n")


def test_an_input_error_tells_every_fault_in_order() -> None:
    error = InputError(fault for fault in (FAULT, WHOLE))
    assert error.faults == (FAULT, WHOLE)
    assert str(error) == f"{FAULT}\n{WHOLE}"


def test_a_single_fault_is_the_same_error() -> None:
    error = InputError.single(
        FAULT.place, FAULT.key, found=FAULT.found, expected=FAULT.expected, fix=FAULT.fix
    )
    assert error.faults == (FAULT,)


def test_a_quantity_error_says_what_was_read() -> None:
    error = QuantityError("14", "a wind")
    assert str(error) == "'14'; expected a wind"
    assert (error.found, error.expected) == ("'14'", "a wind")
    assert str(QuantityError(None, "a wind")) == "None; expected a wind"


@pytest.mark.parametrize("kind", [InputError, QuantityError, OutsideDataError])
def test_one_root_catches_all(kind: type[Exception]) -> None:
    assert issubclass(kind, AreaplanError)
    assert not issubclass(AreaplanError, ValueError)


def test_a_quantity_error_is_a_value_error_for_converters() -> None:
    assert issubclass(QuantityError, ValueError)
    assert not issubclass(InputError, ValueError)


def test_faults_are_values() -> None:
    assert pickle.loads(pickle.dumps(FAULT)) == FAULT
    assert len({FAULT, WHOLE, attrs.evolve(FAULT)}) == 2
    with pytest.raises(AttributeError):
        FAULT.key = "other"  # type: ignore[misc]
