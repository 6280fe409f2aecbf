"""What SQLite and the disk say of a record, in our words, with the way out."""

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from hygiene.errors import Damaged, NoRecord


class NotOurs(NoRecord):
    """There is a file, but it is not a record of this program."""

    sentence = "{path} is not a record of this program"

    def __init__(self, *, path: Path) -> None:
        super().__init__(
            path=path,
            way_out="say which is: --record FILE; if it was one, bring back the last "
            "copy: hygiene restore COPY",
        )


class CannotUse(NoRecord):
    """The record is locked, or its disk or folder does not let us."""

    sentence = "{path} cannot be used now: {what}"


class Unreadable(Damaged):
    """SQLite finds the file damaged."""

    sentence = "{path} is damaged: {what}"


# of a page, of JSON, of UTF-8, of a table or column of ours
_OF_DAMAGE = ("malformed", "decode", "no such")
_DISK = "make room, or plug it in again, and do it once more; nothing was half written"
_PLAINLY = {
    "locked": (
        "another program is writing to it, and did not end",
        "wait for it or close it, and do it again",
    ),
    "readonly": (
        "it or its folder is read-only",
        "have the right to write given to you there, or restore a copy elsewhere: "
        "hygiene restore COPY --record FILE",
    ),
    "is full": ("the disk is full", _DISK),
    "disk I/O": ("the disk is full, or does not answer", _DISK),
    "unable to open": (
        "it cannot be opened",
        "may you read and write it, and is its folder still there?",
    ),
}


@contextmanager
def translated(path: Path) -> Iterator[None]:
    """Turn what SQLite says into what we say, once for the whole room."""
    try:
        yield
    except sqlite3.OperationalError as failure:
        said = str(failure).splitlines()[0]
        if any(word in said for word in _OF_DAMAGE):
            raise unreadable(path, said) from failure
        raise _cannot(path, said) from failure
    except sqlite3.DatabaseError as failure:
        if "not a database" in str(failure):
            raise NotOurs(path=path) from failure
        raise unreadable(path, str(failure)) from failure
    except UnicodeDecodeError as failure:  # of a text, or of what SQLite says of it
        raise unreadable(path, "its bytes are no text") from failure


def _cannot(path: Path, said: str) -> CannotUse:
    for word, (what, way_out) in _PLAINLY.items():
        if word in said:
            return CannotUse(path=path, what=what, way_out=way_out)
    return CannotUse(path=path, what=said, way_out=_DISK)


def unreadable(path: Path, said: str) -> Unreadable:
    """The failure for a file that SQLite, or we, find damaged."""
    return Unreadable(
        path=path,
        what=said,
        way_out="see what is wrong with: hygiene verify; then bring back the last copy "
        "that verifies: hygiene restore COPY",
    )
