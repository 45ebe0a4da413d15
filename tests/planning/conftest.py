"""What the tests of saved results share."""

import pytest

from tests.planning.packed_results import small_file, small_result


@pytest.fixture(scope="module")
def small():
    """A small result, live."""
    return small_result()


@pytest.fixture(scope="module")
def packed():
    """The bytes of its file."""
    return small_file()


@pytest.fixture
def file(tmp_path):
    """Where to write a saved result."""
    return tmp_path / "result.zip"
