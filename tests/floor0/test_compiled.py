"""Kernels work where their machine code can't be kept."""

import subprocess
import sys
from pathlib import Path

CODE = """
import tempfile, warnings
warnings.simplefilter("error")
def refuse(*args, **kwargs):
    raise PermissionError("read-only")
import numba.core.caching
tempfile.TemporaryFile = refuse  # what numba tries, to see whether a directory can be written
from areaplan.compiled import compiled
import areaplan.sources._kernels, areaplan.engine._standoff_kernels
import areaplan.engine._glide_kernels, areaplan.engine._heading_kernels
def twice(x):
    return x + x
print(compiled(twice)(21), areaplan.engine._glide_kernels.sweep.stats.cache_path)
"""


def test_read_only_everywhere():
    """A read-only installation and home: no error, no warning, nothing kept."""
    done = subprocess.run(
        [sys.executable, "-c", CODE],
        capture_output=True,
        text=True,
        check=False,
        cwd=Path(__file__).parents[2],
    )
    assert done.stderr == ""
    assert done.stdout.split() == ["42", "None"]
