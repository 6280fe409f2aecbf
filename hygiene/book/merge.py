"""Take over the lines of another device's record that are not here yet.

The other file is copied first and looked at in the copy: its layout before anything is
read of it, then every line. Books are compared by the hash at the last line that both
have; where that differs a book was written in two places, and nothing is taken. Lines
are added as the bytes that they are, in one transaction. Doing it again adds nothing.
"""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import NamedTuple

from hygiene.book import chain
from hygiene.book.backup import copy_pages, not_verified
from hygiene.book.beside import beside, reached, sweep
from hygiene.book.record import VERSION, Head, NoSuchRecord, Record, translated
from hygiene.book.restore import OtherFarm, SameFile, first_lacking, name_of
from hygiene.book.verify import damage, unsafe
from hygiene.errors import Damaged, Refused, WronglyPut
from hygiene.kinds.entry import Entry, check_line, read_line

FILE = re.compile(r'"sha256":"([0-9a-f]{64})"')


class Forked(Damaged):
    """A line that was written twice: a copied record was written on in two places."""

    sentence = (
        "{name} was written twice, and nothing was taken over:\n"
        "  here   {here}\n  there  {there}"
    )


class NotALineOfOurs(Damaged):
    """A line that this program would not have written."""

    sentence = "{path}: {name} is no line of a record: {what}; nothing was taken over"


class Pretended(Refused):
    """A demonstration is never mixed with a real record."""

    sentence = "refused: {path} is {this}, and this record is {that}"


class Came(NamedTuple):
    """Lines of one book that are here now and were not before; both ends included."""

    book: str
    first: int
    last: int

    @property
    def lines(self) -> int:
        """How many lines came."""
        return self.last - self.first + 1


@contextmanager
def looked_at(path: Path, record: Record) -> Iterator[Record]:
    """A verified copy of another record, up to date with this program's layout.

    A copy, since a folder that is synced may change the file while it is read. Raises
    ``NotVerified``, ``NotOurs`` or ``Newer``.
    """
    if not path.exists():
        raise NoSuchRecord(
            path=path,
            way_out="is the stick plugged in? give another device's record, or a "
            "folder of them",
        )
    if path.samefile(record.path):
        raise SameFile(path=path)
    place = record.path
    with reached(place), beside(place) as waiting:
        sweep(place.parent, place.name, waiting.stat().st_mtime)
        with Record.open(path) as other:
            copy_pages(other, waiting, place)
        with Record.open(waiting) as copied:
            if copied.version() < VERSION:
                from hygiene.book.upgrade import upgrade  # once in a long while

                copied.db.execute("pragma query_only = off")
                upgrade(copied.db)
                copied.db.execute("pragma query_only = on")
            found = unsafe(copied) or damage(copied)
            if found:
                raise not_verified(path, found[0])
            yield copied


def merge(record: Record, other: Record, path: Path) -> list[Came]:
    """Take over what ``other`` has more; the books that grew, and by which lines.

    Both are verified already. ``path`` is where the other one was found. Raises
    ``OtherFarm``, ``Pretended`` (5), ``Forked`` or ``NotALineOfOurs`` (6).
    """
    _need_same_farm(record, other, path)
    with translated(record.path):
        with suppress(sqlite3.OperationalError):  # another tool holds it in WAL mode
            record.db.execute("pragma journal_mode = delete").fetchone()
        record.db.execute("pragma synchronous = extra")
        record.db.execute("begin immediate")
        try:
            came = list(_wanted(record, other))
            for lines in came:
                _take(record, other, lines, path)
            record.db.execute("commit")
        except BaseException:
            if record.db.in_transaction:
                record.db.execute("rollback")
            raise
    return came


def nothing_new(record: Record, other: Record) -> bool:
    """Whether every head of the other stands here: then all its lines do."""
    heads = other.heads()
    return bool(heads) and all(record.holds(head) for head in heads)


def _need_same_farm(record: Record, other: Record, path: Path) -> None:
    names = {
        name_of(which, head.book) for which in (record, other) for head in which.heads()
    }
    if len(names) != 1:
        raise OtherFarm(path=path, copy=record.path)
    sorts = ("a farm's own", "a demonstration")
    mine, theirs = record.demonstration(), other.demonstration()
    if mine != theirs:
        raise Pretended(path=path, this=sorts[theirs], that=sorts[mine])


def _wanted(record: Record, other: Record) -> Iterator[Came]:
    """What is not here of each book; stops at the first line that differs."""
    here = {head.book: head for head in record.heads()}
    for there in other.heads():
        mine = here.get(there.book, Head(there.book, 0, ""))
        common = min(mine.seq, there.seq)
        if common and not record.holds(other.head_at(there.book, common)):
            raise _forked(record, other, Head(there.book, common, ""))
        if there.seq > mine.seq:
            yield Came(there.book, mine.seq + 1, there.seq)


def _forked(record: Record, other: Record, head: Head) -> Forked:
    name = first_lacking(head, other, record)
    return Forked(
        name=name,
        here=_told(record, name),
        there=_told(other, name),
        way_out="a copy was written on as if it were the record. Keep both files; go "
        "on in one, and write there again what only the other one says "
        "(hygiene log --all --record FILE)",
    )


def _told(record: Record, name: str) -> str:
    from hygiene.kinds.words import in_a_line  # only where a fork is told

    entry = record.entry(name)
    digits = record.head_at(entry.book, entry.seq).hash[:8]
    return f"{in_a_line(entry)}, hash {digits}"


def _take(record: Record, other: Record, came: Came, path: Path) -> None:
    """Add the lines as they are, each looked at once more, and the files they name."""
    before = came.first - 1
    hashed = record.head_at(came.book, before).hash if before else ""
    hashed = hashed or chain.start(came.book)
    rows = other.db.execute(
        "select seq, line, hash from entry where book = ? and seq between ? and ? "
        "order by seq",
        came,
    )
    for seq, line, given in rows:
        _check(came.book, seq, line, path)
        hashed = chain.follow(hashed, line.encode())
        if hashed != given:
            raise _odd(path, came.book, seq, "its hash does not follow")
        for digest in FILE.findall(line):
            _take_file(record, other, digest)
        record.db.execute(
            "insert into entry(book, seq, line, hash) values (?, ?, ?, ?)",
            (came.book, seq, line, hashed),
        )


def _check(book: str, seq: int, line: str, path: Path) -> None:
    try:
        entry = check_line(line)
    except WronglyPut as failure:
        raise _odd(path, book, seq, str(failure)) from failure
    if (entry.book, entry.seq) != (book, seq):
        raise _odd(path, book, seq, f"it says that it is {entry.name}")


def _odd(path: Path, book: str, seq: int, what: str) -> NotALineOfOurs:
    return NotALineOfOurs(path=path, name=f"{book}/{seq}", what=what)


def _take_file(record: Record, other: Record, digest: str) -> None:
    content = other.file(digest)
    if content is not None:
        record.db.execute(
            "insert into attachment(sha256, bytes) select ?1, ?2 "
            "where not exists (select 1 from attachment where sha256 = ?1)",
            (digest, content),
        )


def lines(record: Record, book: str, first: int, last: int) -> list[Entry]:
    """Lines of one book, both ends included, as they were written."""
    rows = record.db.execute(
        "select line from entry where book = ? and seq between ? and ? order by seq",
        (book, first, last),
    )
    return [read_line(line) for (line,) in rows.fetchall()]


def books_naming(record: Record, code: str, kinds: tuple[str, ...]) -> set[str]:
    """The books in which entries of these kinds name a code; from the index."""
    rows = record.db.execute(
        "select distinct book from mention where code = ? "
        f"and kind in ({', '.join('?' * len(kinds))})",
        (code, *kinds),
    )
    return {book for (book,) in rows.fetchall()}
