"""A small saved result, taken apart and packed again as a clumsy or a hostile hand would."""

import hashlib
import io
import tempfile
import zipfile
from functools import lru_cache
from pathlib import Path

from areaplan.planning.evaluation import evaluate
from areaplan.planning.project_file import read_project
from areaplan.planning.result import result_of
from areaplan.planning.result_file import result_bytes
from tests.planning.builder import plain_country

DIGESTS = "digests.sha256"
_SMALL = {"cell": "100 m", "around": "1 NM", "half_m": 500.0}


@lru_cache(maxsize=1)
def small_result():
    """Of a flat country; the same object each time, never to be written into."""
    with tempfile.TemporaryDirectory() as folder:
        path = plain_country(Path(folder)).project(**_SMALL)
        return result_of(evaluate(read_project(path)))


@lru_cache(maxsize=1)
def small_file():
    """Its bytes."""
    return result_bytes(small_result())


def members(packed):
    with zipfile.ZipFile(io.BytesIO(packed)) as archive:
        return {one.filename: archive.read(one) for one in archive.infolist()}


def pack(content, digests=True):
    """An archive of some members, by default with digests that fit."""
    if digests:
        rows = {name: data for name, data in content.items() if name != DIGESTS}
        lines = [f"{hashlib.sha256(data).hexdigest()}  {name}\n" for name, data in rows.items()]
        content = {**rows, DIGESTS: "".join(lines).encode()}
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in content.items():
            archive.writestr(name, data)
    return stream.getvalue()
