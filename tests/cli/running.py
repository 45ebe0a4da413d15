"""Runs the command in a process of its own."""

import os
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parent.parent.parent


def run(*words, cwd=ROOT, **environment):
    return subprocess.run(
        [sys.executable, "-m", "areaplan", *map(str, words)],
        capture_output=True,
        text=True,
        cwd=cwd,
        env={**os.environ, "PYTHONPATH": str(ROOT), **environment},
        check=False,
    )
