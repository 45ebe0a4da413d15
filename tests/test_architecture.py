"""The floors of the house: a module imports only from lower ones, and imports alone."""

import ast
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
PACKAGE = ROOT / "areaplan"

FLOOR_OF_ROOM = {
    "": 0,
    "sources": 1,
    "rules": 2,
    "engine": 2,
    "planning": 3,
    "render": 4,
    "cli": 5,
}
BARRED_NAMES = {"utils", "helpers", "core", "base", "manager"}
MOST_LINES = 400


def _modules():
    return sorted(PACKAGE.rglob("*.py"))


def _room(path):
    parts = path.relative_to(PACKAGE).parts
    return parts[0] if len(parts) > 1 else ""


def _imports(path):
    tree = ast.parse(path.read_text(encoding="utf-8"))
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("areaplan"):
            yield node.module
        elif isinstance(node, ast.Import):
            yield from (name.name for name in node.names if name.name.startswith("areaplan"))


@pytest.mark.parametrize("path", _modules(), ids=lambda path: str(path.relative_to(PACKAGE)))
def test_imports_go_down(path):
    room = _room(path)
    if path in (PACKAGE / "api.py", PACKAGE / "__main__.py"):
        return  # the shop window shows every floor; the door leads to the command line
    for module in _imports(path):
        parts = module.split(".")
        target = parts[1] if len(parts) > 2 or (PACKAGE / parts[-1]).is_dir() else ""
        if target == room:
            continue
        assert FLOOR_OF_ROOM[target] < FLOOR_OF_ROOM[room], f"{path.name} imports {module}"


@pytest.mark.parametrize("path", _modules(), ids=lambda path: str(path.relative_to(PACKAGE)))
def test_files_stay_small_and_named(path):
    assert len(path.read_text(encoding="utf-8").splitlines()) <= MOST_LINES
    assert path.stem.strip("_") not in BARRED_NAMES
    if path.name == "__init__.py":
        assert not list(_imports(path)), "package files import nothing"


def test_no_test_and_no_script_outgrows_the_same_limit():
    found = [*ROOT.glob("tests/**/*.py"), *ROOT.glob("data_samples/**/*.py")]
    found += [*PACKAGE.glob("render/page/*")]
    long = [path for path in found if len(path.read_text("utf-8").splitlines()) > MOST_LINES]
    assert long == []


def test_every_module_imports_first():
    """Each module is imported before any other of ours: no circle hides behind an order."""
    names = [
        ".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__")
        for path in _modules()
    ]
    code = (
        "import importlib, sys\n"
        f"for name in {names!r}:\n"
        "    for old in [one for one in sys.modules if one.split('.')[0] == 'areaplan']:\n"
        "        del sys.modules[old]\n"
        "    importlib.import_module(name)\n"
    )
    subprocess.run([sys.executable, "-c", code], cwd=ROOT, check=True)


def test_help_imports_no_heavy_library():
    code = (
        "import sys, areaplan.cli.main\n"
        "heavy = {'numpy', 'numba', 'shapely', 'geopandas', 'rasterio', 'folium', 'pyproj'}\n"
        "print(sorted(heavy & set(sys.modules)))"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, cwd=ROOT, check=True
    )
    assert done.stdout.strip() == "[]"
