"""A result as a file: a zip archive of open contents that says when it was damaged.

Members: `result.json` with all words and numbers, an array in numpy's open format (`.npy`) for
each of `JudgedCells`, and `digests.sha256` with the SHA-256 of each of them, written as the
command `sha256sum --check` reads it. Nothing in it is executed when it is read. The digests tell a
damaged or a carelessly edited file; they are no signature, and prove nothing about who wrote it.
"""

from __future__ import annotations

import hashlib
import io
import struct
import zipfile
import zlib
from pathlib import Path
from typing import Final

from attrs import evolve, frozen

from areaplan.planning._result_arrays import ARRAY_MEMBERS, array_bytes, read_cells
from areaplan.planning._result_faults import SAVE_AGAIN, refuse
from areaplan.planning._result_words import parse_words, read_words, words_of
from areaplan.planning.result import Result, SavedFile

_WORDS: Final = "result.json"
_DIGESTS: Final = "digests.sha256"
_MEMBERS: Final = (_WORDS, *ARRAY_MEMBERS)
_FIRST_BYTES: Final = b"PK\x03\x04"  # of every zip archive that has a member
_NO_TIME: Final = (1980, 1, 1, 0, 0, 0)  # the earliest that a zip archive can hold
_UNIX: Final = 3
_READABLE: Final = 0o644 << 16
_MOST_WORDS_BYTES: Final = 256 * 1024**2
_MOST_DIGEST_BYTES: Final = 64 * 1024
_MOST_BYTES: Final = 1024**3  # of the file, and of each array: 25 million cells of ten bands
_EXPECTED: Final = "a result saved by areaplan check --save"
# What zipfile raises of archives that are damaged, locked, or packed in some other way.
_ZIP_FAULTS: Final = (
    zipfile.BadZipFile,
    zlib.error,
    struct.error,
    OSError,
    ValueError,
    EOFError,
    RuntimeError,
)


def is_saved_result(path: Path) -> bool:
    """Whether a file is a zip archive, and so no project; a file that can't be opened is none."""
    try:
        with path.open("rb") as file:
            return file.read(len(_FIRST_BYTES)) == _FIRST_BYTES or zipfile.is_zipfile(file)
    except OSError:
        return False


def result_bytes(result: Result) -> bytes:
    """A result as the bytes of its file: the same for the same result, whatever the day.

    Raises
    ------
    InputError
        It is larger than what is read again.
    """
    members = {_WORDS: words_of(result).encode("utf-8"), **array_bytes(result.cells)}
    lines = [
        f"{hashlib.sha256(content).hexdigest()}  {name}\n" for name, content in members.items()
    ]
    members[_DIGESTS] = "".join(lines).encode("ascii")
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as archive:
        for name, content in members.items():
            member = zipfile.ZipInfo(name, _NO_TIME)
            member.create_system = _UNIX
            member.external_attr = _READABLE
            member.compress_type = zipfile.ZIP_DEFLATED
            archive.writestr(member, content, compresslevel=9)
    packed = stream.getvalue()
    largest = max(len(packed), *(len(members[name]) for name in ARRAY_MEMBERS))
    if largest > _MOST_BYTES or len(members[_WORDS]) > _MOST_WORDS_BYTES:
        fix = "take larger cells or a smaller grid.around"
        found = (
            f"its result has {max(largest, len(members[_WORDS])) / 1024**2:,.0f} MB in one piece"
        )
        expected = (
            f"at most {_MOST_BYTES / 1024**2:,.0f} MB, and {_MOST_WORDS_BYTES / 1024**2:,.0f} MB "
            "of words, to save"
        )
        raise refuse(result.project.path, "", found, expected, fix)
    return packed


def read_result(path: Path) -> Result:
    """Read a saved result and check all of it against its digests.

    Raises
    ------
    InputError
        It can't be opened, is no saved result, was damaged or edited, or comes from a newer
        areaplan.
    """
    place = str(path)
    content = _content(path)
    try:
        archive = zipfile.ZipFile(io.BytesIO(content))
    except _ZIP_FAULTS as error:
        raise refuse(place, "", f"no whole zip archive ({error})", _EXPECTED) from error
    with archive:
        members = _Members(place, archive, {})
        members.digests.update(_digests(place, members.read(_DIGESTS, _MOST_DIGEST_BYTES)))
        document = parse_words(place, members.read(_WORDS, _MOST_WORDS_BYTES))
        members.refuse_others()
        result = read_words(place, document, lambda *size: read_cells(place, members.read, *size))
    return evolve(result, saved=SavedFile(place, hashlib.sha256(content).hexdigest()))


def _content(path: Path) -> bytes:
    try:
        size = path.stat().st_size
        if size <= _MOST_BYTES:
            return path.read_bytes()
    except OSError as error:
        found, fix = f"cannot be read ({error.strerror})", "check the path and its permissions"
        raise refuse(str(path), "", found, _EXPECTED, fix) from error
    expected = f"at most {_MOST_BYTES / 1024**2:,.0f} MB"
    raise refuse(str(path), "", f"the file has {size / 1024**2:,.0f} MB", expected)


@frozen
class _Members:
    """What an archive holds, each checked before it is given out.

    Attributes
    ----------
    place : str
        The file, for messages.
    archive : ZipFile
    digests : dict of str to str
        SHA-256 of members by name, as the archive tells them.
    """

    place: str
    archive: zipfile.ZipFile
    digests: dict[str, str]

    def read(self, name: str, most_bytes: int) -> bytes:
        """Content of a member.

        Raises
        ------
        InputError
            It is missing, larger than told or in no readable form, or its digest is not the one
            told.
        """
        found = [one for one in self.archive.infolist() if one.filename == name]
        if len(found) != 1:
            words = f"{len(found)} members of this name" if found else "no such member"
            raise refuse(self.place, name, words, _EXPECTED)
        (member,) = found
        most = min(most_bytes, _MOST_BYTES)
        if member.file_size > most:
            words = f"unpacks to {member.file_size:,} bytes"
            raise refuse(self.place, name, words, f"at most {most:,}")
        if member.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
            words = f"packed by method {member.compress_type} of zip"
            raise refuse(self.place, name, words, "stored as it is, or deflated")
        try:
            content = self.archive.read(member)
        except _ZIP_FAULTS as error:
            raise refuse(self.place, name, f"damaged ({error})", _EXPECTED) from error
        if name != _DIGESTS and hashlib.sha256(content).hexdigest() != self.digests.get(name):
            words = f"damaged or edited: its SHA-256 is not the one in {_DIGESTS}"
            raise refuse(self.place, name, words, "the bytes that areaplan wrote")
        return content

    def refuse_others(self) -> None:
        """Refuse members that belong to no result, and digests of what is not there."""
        named = [one.filename for one in self.archive.infolist()]
        for name in (*named, *self.digests):
            if name not in (*_MEMBERS, _DIGESTS):
                fix = f"take it out; {SAVE_AGAIN}"
                raise refuse(self.place, name, "not a part of any result", _EXPECTED, fix)


def _digests(place: str, content: bytes) -> dict[str, str]:
    rows = [line.split("  ", 1) for line in content.decode("ascii", "replace").splitlines()]
    if not all(len(row) == 2 for row in rows):
        expected = "lines of a digest, two spaces and a name"
        raise refuse(place, _DIGESTS, "not a list of digests", expected)
    return {name: digest for digest, name in rows}
