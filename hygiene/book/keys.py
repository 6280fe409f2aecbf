"""The right to write a book: a key file that stands outside the record.

It holds the book's name and the last line that this device wrote. A device with no
key, or with a key that is ahead of the record (which was then copied or restored),
opens a new book: so no two places ever write the same next line.
"""

from __future__ import annotations

import json
import os
from pathlib import Path
from typing import NamedTuple

from hygiene.errors import NoRecord


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
        made = json.loads(_place(folder, book).read_text("utf-8"))
        key = Key(str(made["book"]), int(made["seq"]), str(made["hash"]))
    except (FileNotFoundError, ValueError, KeyError, TypeError, OverflowError):
        return None
    except OSError as failure:
        raise _no_keys(folder, failure) from failure
    return key if key.book == book and 0 < key.seq < 2**63 else None


class Kept:
    """A key on its way: written beside the old one first, then put in its place.

    So a folder that cannot be written is noticed before anything is recorded.
    """

    def __init__(self, folder: Path, key: Key) -> None:
        self.folder = folder
        self.key = key
        self.waiting = folder / f".{key.book}.{os.getpid()}"
        try:
            self._write(json.dumps(key._asdict()))
        except OSError as failure:
            raise _no_keys(folder, failure) from failure

    def _write(self, text: str) -> None:
        make = os.O_WRONLY | os.O_CREAT | os.O_TRUNC
        try:
            handle = os.open(self.waiting, make, 0o600)
        except FileNotFoundError:
            self.folder.mkdir(mode=0o700, parents=True)
            handle = os.open(self.waiting, make, 0o600)
        with os.fdopen(handle, "w", encoding="utf-8") as file:
            file.write(text)

    def put(self) -> None:
        """Put the key in its place in one step; an older one never wins."""
        before = read(self.folder, self.key.book)
        if before is not None and before.seq > self.key.seq:
            self.drop()
            return
        try:
            self.waiting.replace(_place(self.folder, self.key.book))
        except OSError as failure:
            raise _no_keys(self.folder, failure) from failure

    def drop(self) -> None:
        """Leave the old key as it is."""
        self.waiting.unlink(missing_ok=True)


def _place(folder: Path, book: str) -> Path:
    return folder / f"{book}.json"


def _no_keys(folder: Path, failure: OSError) -> NoKeys:
    return NoKeys(
        folder=folder,
        what=failure.strerror or failure,
        way_out="give a folder that can be written in HYGIENE_KEYS",
    )
