"""Files that a person names: read only where they are plain, written whole or not.

A pipe that nobody writes to would have the program wait for ever, a device never ends,
and a file may grow between being asked for its size and being read.
"""

import os
import stat
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import BinaryIO


class NotPlain(OSError):
    """A folder, a pipe, a device or a socket, where a file was wanted."""


@contextmanager
def opened(path: Path) -> Iterator[BinaryIO]:
    """A plain file, open to read; ``OSError`` where it is none or cannot be read."""
    try:
        # without waiting for whoever may come to write into a pipe
        handle = os.open(path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0))
    except ValueError as odd:  # a name that holds a NUL
        raise NotPlain(0, "there is no such file", str(path)) from odd
    if not stat.S_ISREG(os.fstat(handle).st_mode):
        os.close(handle)
        raise NotPlain(0, "it is no plain file", str(path))
    with os.fdopen(handle, "rb") as file:
        yield file


def content_of(path: Path, most: int) -> bytes:
    """Its bytes, and at most one more than ``most``, which shows that it has more."""
    with opened(path) as file:
        return file.read(most + 1)


def beginning_of(path: Path, count: int) -> bytes:
    """The first bytes of what would be written over; empty where nothing is there.

    Raises ``NotPlain`` for a device and the like, and for what may not be read.
    """
    try:
        with opened(path) as file:
            return file.read(count)
    except (FileNotFoundError, NotADirectoryError):
        return b""
    except OSError as failure:
        raise NotPlain(0, "it cannot be read", str(path)) from failure


def replaceable(path: Path, accepts: Callable[[bytes], bool]) -> bool:
    """Whether nothing stands there, or a plain file whose beginning is accepted."""
    try:
        begins = beginning_of(path, 32)
    except NotPlain:
        return False
    return not begins or accepts(begins)


@contextmanager
def written_whole(path: Path) -> Iterator[Path]:
    """A name beside the one that is wanted; what stands there takes that at the end.

    Nothing is left of it where anything fails, also when stopped. ``OSError`` as it
    comes.
    """
    import secrets  # only who writes needs it

    waiting = path.with_name(f".{path.name[:80]}.{secrets.token_hex(4)}")
    try:
        yield waiting
        waiting.replace(path)
    finally:
        waiting.unlink(missing_ok=True)
