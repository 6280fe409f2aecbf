"""Bring a copy back: never what does not verify, never over a record that has more.

The copy is built beside the record, verified there, and takes its place in one step;
the old file is moved aside, dated. The right to write is not restored with it: this
device's key is ahead of what came back, so the next line opens a new book.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from datetime import datetime
from pathlib import Path
from typing import NamedTuple

from hygiene.book.backup import copy_pages, heads_beside, need_whole
from hygiene.book.beside import PARTS, beside, free, put, reached, sweep, sync
from hygiene.book.record import (
    Head,
    NoSuchRecord,
    NotOurs,
    Record,
    connect,
    translated,
)
from hygiene.book.verify import damage
from hygiene.errors import Damaged, Refused, WronglyPut


class SameFile(WronglyPut):
    """A file that is the record itself."""

    sentence = "{path} is this record itself"


class HasMore(Refused):
    """The record has lines that the copy lacks."""

    sentence = (
        "refused: {path} has lines that {copy} lacks or has otherwise, from {name} on; "
        "nothing was changed"
    )


class NoFile(WronglyPut):
    """A folder, a device or a pipe, where the record is to stand."""

    sentence = "{path} is no plain file, and nothing is put in its place"


class OtherFarm(Refused):
    """The record that stands there is not the one that the copy was made of."""

    sentence = "refused: {path} is another farm's record, not that of {copy}"


class Restored(NamedTuple):
    """What stands now, where the old file lies, and what it had that did not verify.

    ``same`` says that the record had all of the copy and nothing was done; ``damaged``
    are the heads of a damaged record that reached further than the copy.
    """

    heads: list[Head]
    aside: Path | None = None
    same: bool = False
    damaged: tuple[Head, ...] = ()


def restore(copy: Path, path: Path, now: datetime) -> Restored:
    """Put a copy in the place of ``path``.

    Raises ``NotVerified`` (6) for the copy, ``HasMore`` or ``OtherFarm`` (5) for what
    stands there, and ``CannotUse`` (7); then nothing was changed.
    """
    if not copy.is_file():
        raise NoSuchRecord(path=copy, way_out="give the file of a copy")
    if path.is_symlink():
        path = path.resolve()  # what it points to is replaced, not the link
    if path.exists() and not path.is_file():
        raise NoFile(path=path, way_out="say which file: --record FILE")
    if path.exists() and copy.samefile(path):
        raise SameFile(path=path)
    with reached(path), beside(path) as waiting:
        sweep(path.parent, path.name, waiting.stat().st_mtime)
        with Record.open(copy) as given:
            copy_pages(given, waiting, path)
        need_whole(waiting, copy, heads_beside(copy))
        with Record.open(waiting) as ready:
            heads = ready.heads()
            if not path.exists():
                put(waiting, path)
                sync(path.parent)
                return Restored(heads)
            with _standing(path) as standing:
                same, damaged = _compared(standing, path, ready, copy)
                if same:
                    return Restored(heads, same=True)
                dated = f"{path.stem}-replaced-{now:%Y-%m-%d-%H%M%S}"
                aside = free(path.parent, dated, path.suffix)
                _swap(waiting, path, aside)
    return Restored(heads, aside, damaged=damaged)


@contextmanager
def _standing(path: Path) -> Iterator[Record | None]:
    """What stands there, locked for writers; None where that is no record any more."""
    opened: Record | None = None
    try:
        # opening rolls back what a crash left; the lock keeps every writer out
        with translated(path):
            opened = Record(path, connect(path))
            opened.version()
            opened.db.execute("pragma journal_mode = delete").fetchone()
            opened.db.execute("begin immediate")
    except (Damaged, NotOurs):
        if opened is not None:
            opened.close()
        yield None
        return
    except BaseException:
        if opened is not None:
            opened.close()
        raise
    with closing(opened):
        yield opened


def _compared(
    standing: Record | None, path: Path, ready: Record, copy: Path
) -> tuple[bool, tuple[Head, ...]]:
    """Whether it has all of the copy, and what more a damaged one seems to have had."""
    if standing is None:
        return False, ()
    try:
        heads = standing.heads()
        names = {name_of(standing, head.book) for head in heads}
        if names - {name_of(ready, ready.heads()[0].book)}:
            raise OtherFarm(path=path, copy=copy, way_out="give another --record FILE")
        more = tuple(head for head in heads if not ready.holds(head))
        whole = not damage(standing)
    except Damaged:
        return False, ()
    if not whole:
        return False, more
    if more:
        raise HasMore(
            path=path,
            copy=copy,
            name=first_lacking(more[0], standing, ready),
            way_out=f"take over what only the copy has: hygiene merge {copy}",
        )
    return all(standing.holds(head) for head in ready.heads()), ()


def name_of(record: Record, book: str) -> str:
    """The name of the record that a book belongs to, as its first line says."""
    return str(record.entry(f"{book}/1").get("record"))


def first_lacking(head: Head, one: Record, other: Record) -> str:
    """The first line of a book that only ``one`` has like that, found by halving."""
    low, high = 0, head.seq
    while high - low > 1:
        middle = (low + high) // 2
        same = other.holds(one.head_at(head.book, middle))
        low, high = (middle, high) if same else (low, middle)
    return f"{head.book}/{high}"


def _swap(waiting: Path, path: Path, aside: Path) -> None:
    """At every moment there is a record at ``path``, where the disk allows links."""
    with suppress(OSError):
        os.link(path, aside)
    if not aside.exists():  # a file system without links
        path.rename(aside)
    for end in PARTS:
        # left beside, a journal of the old file would be rolled back into the new one
        with suppress(FileNotFoundError):
            os.rename(f"{path}{end}", f"{aside}{end}")
    waiting.replace(path)
    sync(path.parent)
