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
        made = json.loads((folder / f"{book}.json").read_text("utf-8"))
        return Key(str(made["book"]), int(made["seq"]), str(made["hash"]))
    except FileNotFoundError:
        return None
    except (ValueError, KeyError, TypeError):
        return None
    except OSError as failure:
        raise _no_keys(folder, failure) from failure


def keep(folder: Path, key: Key) -> None:
    """Write the key in one step, for its owner only; an older one never wins."""
    before = read(folder, key.book)
    if before is not None and before.seq > key.seq:
        return
    text = json.dumps(key._asdict())
    waiting = folder / f".{key.book}.{os.getpid()}"
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        handle = os.open(waiting, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
        with os.fdopen(handle, "w", encoding="utf-8") as file:
            file.write(text)
        waiting.replace(folder / f"{key.book}.json")
    except OSError as failure:
        raise _no_keys(folder, failure) from failure


def _no_keys(folder: Path, failure: OSError) -> NoKeys:
    return NoKeys(
        folder=folder,
        what=failure.strerror or failure,
        way_out="give a folder that can be written in HYGIENE_KEYS",
    )
