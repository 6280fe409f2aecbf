"""A verified copy of the record, dated, with its heads in a text file beside it.

SQLite's online backup reads a record that is being written. The copy is built beside
its place, read back from the disk, verified, and only then given its name; only after
that are older copies removed, and only those of which it holds every line.
"""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from datetime import datetime
from hashlib import file_digest
from pathlib import Path
from typing import NamedTuple

from hygiene.book.beside import beside, forget, free, put, reached, sweep, sync
from hygiene.book.record import CannotUse, Head, Record, connect, translated
from hygiene.book.verify import Fault, damage, head_of
from hygiene.errors import Damaged, HygieneError, NoRecord

PAGES = 4096
"""Copied in one step; between two of them others may write, and it begins again."""


class NotVerified(Damaged):
    """A copy, or what was copied, is not what was written."""

    sentence = "{path} does not verify: {where}: {what}"


class NoFolder(NoRecord):
    """A folder that is not there: a stick that is not plugged in looks like that."""

    sentence = "there is no folder {path}"


class Copy(NamedTuple):
    """A copy that was verified: where, up to which heads, its size and its SHA-256.

    ``removed`` are the older copies that went.
    """

    path: Path
    heads: list[Head]
    bytes: int
    sha256: str
    removed: tuple[Path, ...] = ()


def back_up(record: Record, folder: Path, now: datetime, keep: int) -> Copy:
    """Make a dated copy in ``folder`` and keep the newest ``keep`` of them.

    The folder must be there: where a stick is not plugged in, one made in its place
    would fill this device's own disk. Raises ``NoFolder``, ``CannotUse`` (7) or
    ``NotVerified`` (6); what was there before then stays as it was.
    """
    if not folder.is_dir():
        raise NoFolder(
            path=folder, way_out=f"plug the stick in; or make it: mkdir {folder}"
        )
    dated = f"{record.path.stem}-{now:%Y-%m-%d-%H%M%S}"
    place = free(folder.absolute(), dated, record.path.suffix)
    made = copy_to(record, place, f"{now:%Y-%m-%d %H:%M:%S %z}")
    return made._replace(removed=tuple(_thin(made, record.path.stem, keep)))


def copy_to(record: Record, place: Path, when: str) -> Copy:
    """A verified copy at ``place``, for its owner only, its text file with it.

    ``when`` says in that text when and why it was made.
    """
    heads = record.heads()
    with reached(place), beside(place) as waiting:
        sweep(place.parent, f"{record.path.stem}-", waiting.stat().st_mtime)
        copied = copy_pages(record, waiting, place)
        need_whole(copied, place, tuple(heads))
        made = _described(copied, place)
        _write_beside(made, record.path, when)
        put(waiting, place)
        sync(place.parent)
    return made


def copy_pages(record: Record, waiting: Path, place: Path) -> Path:
    """Fill ``waiting`` with the record as it stands, through to the disk."""

    def go_on(status: int, _left: int, _of: int) -> None:
        if status in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED):
            raise CannotUse(path=record.path, what="another command keeps it locked")

    try:
        with translated(place), closing(connect(waiting)) as target:
            record.db.backup(target, pages=PAGES, progress=go_on)
            # a record in another tool's WAL mode would be copied in that mode
            target.execute("pragma journal_mode = delete").fetchone()
    except Damaged as failure:
        raise NotVerified(
            path=record.path,
            where="pages",
            what=failure.details["what"],
            way_out="see what is wrong with: hygiene verify",
        ) from failure
    sync(waiting)
    forget(waiting)
    return waiting


def need_whole(path: Path, shown: Path, heads: tuple[Head, ...] = ()) -> None:
    """Verify a record in full, against ``heads`` as well; raises ``NotVerified``."""
    with Record.open(path) as record:
        found = damage(record, heads)
    if found:
        raise not_verified(shown, found[0])


def not_verified(shown: Path, fault: Fault) -> NotVerified:
    """The failure that says of which file it is the first fault."""
    return NotVerified(
        path=shown,
        **fault._asdict(),
        way_out=f"see all of it with: hygiene verify --record {shown}",
    )


def _described(copied: Path, place: Path) -> Copy:
    with Record.open(copied) as record, copied.open("rb") as file:
        return Copy(
            place,
            record.heads(),
            copied.stat().st_size,
            file_digest(file, "sha256").hexdigest(),
        )


def text_beside(path: Path) -> Path:
    """The text file of a copy."""
    return path.with_name(f"{path.name}.txt")


def _write_beside(made: Copy, source: Path, when: str) -> None:
    """Its heads in plain words; this file is there before the copy has its name."""
    lines = (
        f"A copy of {source.name}, made {when} and then verified.",
        f"{made.sha256}  {made.path.name}",
        f"bytes {made.bytes}",
        *(f"head {head}" for head in made.heads),
        f"To see that it is whole: hygiene verify --record {made.path.name}",
        f"or that no byte changed: sha256sum -c {made.path.name}.txt",
        f"To bring it back: hygiene restore {made.path.name} --record {source.name}",
    )
    place = text_beside(made.path)
    with beside(place) as waiting:
        waiting.write_text("\n".join(lines) + "\n", "utf-8")
        sync(waiting)
        waiting.replace(place)


def heads_beside(path: Path) -> tuple[Head, ...]:
    """The heads that were written beside a copy when it was made, if they still are."""
    try:
        lines = text_beside(path).read_text("utf-8", "replace").splitlines()
        return tuple(head_of(line[5:]) for line in lines if line.startswith("head "))
    except (OSError, HygieneError):
        return ()


def _thin(made: Copy, stem: str, keep: int) -> Iterator[Path]:
    """Remove what is older than the newest ``keep``, unless it holds more."""
    name = re.compile(rf"{re.escape(stem)}-\d{{4}}(-\d\d){{2}}-\d{{6}}(-\d+)?")
    suffix = made.path.suffix
    older = sorted(
        path
        for path in made.path.parent.glob(f"*{suffix}")
        if name.fullmatch(path.stem) and path != made.path
    )
    for path in older[: max(0, len(older) + 1 - keep)]:
        if _holds_all_of(made.path, path):
            with reached(path):
                path.unlink()
                text_beside(path).unlink(missing_ok=True)
            yield path


def _holds_all_of(newer: Path, older: Path) -> bool:
    """Whether every line of the older is in the newer; an odd file is left alone."""
    try:
        with Record.open(newer) as record, Record.open(older) as before:
            heads = before.heads()
            return bool(heads) and all(record.holds(head) for head in heads)
    except HygieneError:
        return False
