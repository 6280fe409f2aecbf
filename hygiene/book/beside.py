"""A file is built beside its place, and bears its name only once it is whole."""

from __future__ import annotations

import os
import secrets
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from glob import escape
from pathlib import Path

from hygiene.book.record import CannotUse

PARTS = ("-journal", "-wal", "-shm")
"""What SQLite keeps beside a database, by the end of its name."""
STALE_SECONDS = 3600
"""A file under such a name that nobody has touched for so long was left by a crash."""


@contextmanager
def beside(place: Path) -> Iterator[Path]:
    """An empty file for its owner only, in the same folder; it is gone at the end."""
    waiting = place.with_name(f".{place.name}.{secrets.token_hex(4)}")
    try:
        waiting.touch(mode=0o600, exist_ok=False)
        yield waiting
    finally:
        for end in ("", *PARTS):
            with suppress(OSError):  # nothing was made where a disk cannot be written
                os.unlink(f"{waiting}{end}")


def put(waiting: Path, place: Path) -> None:
    """Give it its name; ``FileExistsError`` where somebody else has that."""
    try:
        os.link(waiting, place)
    except FileExistsError:
        raise
    except OSError:  # a file system without links
        if place.exists():
            raise FileExistsError(place) from None
        waiting.rename(place)


def free(folder: Path, stem: str, suffix: str) -> Path:
    """A name that nothing there has yet: as given, else with a number after it."""
    place, number = folder / f"{stem}{suffix}", 1
    while place.exists():
        number += 1
        place = folder / f"{stem}-{number}{suffix}"
    return place


def sync(path: Path) -> None:
    """Have a file outlive a power cut, or the names in a folder."""
    handle = os.open(path, os.O_RDONLY)
    try:
        os.fsync(handle)
    except OSError:
        if not path.is_dir():  # a folder of a shared disk cannot always be synced
            raise
    finally:
        os.close(handle)


def forget(path: Path) -> None:
    """Have the next reader read the medium itself, not what memory still holds."""
    if hasattr(os, "posix_fadvise"):
        handle = os.open(path, os.O_RDONLY)
        try:
            os.posix_fadvise(handle, 0, 0, os.POSIX_FADV_DONTNEED)
        finally:
            os.close(handle)


def sweep(folder: Path, name: str, now: float) -> None:
    """Remove what a crash left of files that begin so; ``now`` by the disk's clock."""
    for left in folder.glob(f".{escape(name)}*.{'[0-9a-f]' * 8}*"):
        with suppress(OSError):
            if now - left.stat().st_mtime > STALE_SECONDS:
                left.unlink()


@contextmanager
def reached(place: Path) -> Iterator[None]:
    """A disk that is full, gone or read-only is said in one line: ``CannotUse``."""
    try:
        yield
    except OSError as failure:
        raise CannotUse(
            path=place,
            what=failure.strerror or failure,
            way_out="is the disk full, pulled out, or read-only? What was there "
            "before is still there",
        ) from failure
