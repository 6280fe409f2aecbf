"""The right to write a book: a key file that stands outside the record.

It holds the book's name and the last line that this device wrote. A device with no
key, or with a key that is ahead of the record (which was then copied or restored),
opens a new book: so no two places ever write the same next line.
"""

import io
import json
from pathlib import Path
from typing import NamedTuple

from hygiene.errors import NoRecord

LENGTH = 256
"""Of a key file in bytes, filled up with blanks."""


class NoKeys(NoRecord):
    """The folder for this device's keys cannot be used."""

    sentence = "this device's key cannot be kept in {folder}: {what}"


class Key(NamedTuple):
    """A book that this device may write, as it left it."""

    book: str
    seq: int
    hash: str


def read(folder: Path, book: str) -> Key | None:
    """The key for ``book``; None where there is none, or it is torn."""
    try:
        return _parsed(_place(folder, book).read_bytes(), book)
    except FileNotFoundError:
        return None
    except OSError as failure:
        raise _no_keys(folder, failure) from failure


class Kept:
    """A key on its way: its file is opened first, and written when it is put.

    So a folder that cannot be written is noticed before anything is recorded. The
    file is written over in place, always as long as before: a file renamed over
    another costs milliseconds where the disk is busy, and a torn key only opens a
    new book.
    """

    def __init__(self, folder: Path, key: Key) -> None:
        self.key = key
        self.folder = folder
        try:
            self._file = self._open()
        except OSError as failure:
            raise _no_keys(folder, failure) from failure

    def _open(self) -> io.FileIO:
        place = _place(self.folder, self.key.book)
        try:
            return io.FileIO(place, "r+")
        except FileNotFoundError:
            self.folder.mkdir(mode=0o700, parents=True, exist_ok=True)
            place.touch(mode=0o600)
            return io.FileIO(place, "r+")

    def put(self) -> None:
        """Write it, unless a newer one was put there meanwhile."""
        try:
            with self._file as file:
                before = _parsed(file.read(), self.key.book)
                if before is None or before.seq <= self.key.seq:
                    file.seek(0)
                    file.write(json.dumps(self.key._asdict()).encode().ljust(LENGTH))
                    file.truncate()
        except OSError as failure:
            raise _no_keys(self.folder, failure) from failure

    def drop(self) -> None:
        """Leave the old key as it is."""
        self._file.close()


def _parsed(content: bytes, book: str) -> Key | None:
    try:
        made = json.loads(content)
        key = Key(str(made["book"]), int(made["seq"]), str(made["hash"]))
    except (ValueError, KeyError, TypeError, OverflowError):
        return None
    return key if key.book == book and 0 < key.seq < 2**63 else None


def _place(folder: Path, book: str) -> Path:
    return folder / f"{book}.json"


def _no_keys(folder: Path, failure: OSError) -> NoKeys:
    return NoKeys(
        folder=folder,
        what=failure.strerror or failure,
        way_out="give a folder that can be written in HYGIENE_KEYS",
    )
