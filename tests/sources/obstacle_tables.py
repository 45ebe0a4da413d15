"""Obstacle tables for the tests: published rows, and rows laid out like them."""

import csv
from pathlib import Path

from areaplan.sources._obstacle_files import PUBLISHED_COLUMNS
from areaplan.sources.obstacles import read_obstacles
from tests.sources.making import spec_of

AUTHORITIES = Path(__file__).parent.parent / "authorities"
JACKSBORO = AUTHORITIES / "faa_obstacles_jacksboro.dat"
VERBATIM = AUTHORITIES / "faa_obstacle_verbatim.dat"
HEADER = JACKSBORO.read_text().split("\n")[:4]
HALF_DIGIT_DEG = 0.5e-6 + 1e-9  # the published values are printed to six decimals


def table(name):
    with (AUTHORITIES / name).open() as stream:
        return list(csv.DictReader(line for line in stream if not line.startswith("#")))


def dat_line(number="47-000001", *, position="36 00 00.00N 084 00 00.00W", agl="00100",
             amsl="01100", accuracy="1A", verified="O", action="A", day="2020001", state="TN",
             city="SOMEWHERE", kind="TOWER", lighting="D", marking="N",
             study="2020ASO00001OE"):  # fmt: skip
    """Row laid out in the published columns."""
    return (
        f"{number:<9} {verified} US {state} {city:<16} {position} {kind:<18} 1 {agl} {amsl} "
        f"{lighting} {accuracy[0]} {accuracy[1]} {marking} {study:<14} {action} {day} "
    )


def write_dat(path, *rows, header=HEADER, end="\r\n"):
    path.write_bytes("".join(row.rstrip("\r") + end for row in (*header, *rows)).encode("latin-1"))
    return path


def read(path, **more):
    return read_obstacles(spec_of("obstacles", path, **more))


CELLS = {
    "OAS": "09-021145", "VERIFIED STATUS": "O", "COUNTRY": "US", "STATE": "CT",
    "CITY": "SOMEWHERE       ", "LATDEC": "41.005065", "LONDEC": "-73.648312",
    "DMSLAT": "41 00 18.23N", "DMSLON": "073 38 53.92W", "TYPE": "TOWER             ",
    "QUANTITY": "1", "AGL": "100", "AMSL": "200", "LIGHTING": "R", "ACCURACY": " 2C",
    "MARKING": "M", "FAA STUDY": "", "ACTION": "C", "JDATE": "2020001 ",
}  # fmt: skip


def write_published_csv(path, *rows):
    lines = [",".join(PUBLISHED_COLUMNS)]
    lines += [",".join({**CELLS, **row}[column] for column in PUBLISHED_COLUMNS) for row in rows]
    path.write_bytes("\n".join([*lines, ""]).encode("latin-1"))
    return path
