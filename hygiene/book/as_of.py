"""A record as it was: up to heads that it had earlier, or as lines that it gave away.

Up to earlier heads nothing is copied: on the reader's own connection each table of
lines is hidden by a temporary view of what stood then. Lines that were carried out of
a record are laid out in memory, without the trigger that asks for each next line.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable
from datetime import datetime
from pathlib import Path

from hygiene.book import chain
from hygiene.book.carried import Carried
from hygiene.book.record import Head, Record, translated
from hygiene.errors import Damaged

NEXT_LINE = "create trigger entry_is_the_next "


class NotAtHead(Damaged):
    """The record does not have the head that it is to be read as of."""

    sentence = "{path} does not hold the head {head}: {what}"


def cut(record: Record, heads: Iterable[Head]) -> tuple[Head, ...]:
    """Read the record as it was when these were the ends of its books.

    A book of which none is given was not there yet. Returns the heads in full;
    raises ``NotAtHead`` where one is gone or differs.
    """
    full = tuple(sorted(_full(record, head) for head in heads))
    then = " ".join(f"when {_quoted(h.book)} then +seq <= {h.seq}" for h in full)
    # a + and a case, so that no query leaves its own index for that of the books
    shown = f"case +book {then} else 0 end" if full else "0"
    with translated(record.path):
        record.db.execute("pragma query_only = off")
        try:
            for table in _tables_of_lines(record.db):
                record.db.execute(
                    f"create temp view {table} as select * from main.{table} "
                    f"where {shown}"
                )
        finally:
            record.db.execute("pragma query_only = on")
    return full


def heads_at(record: Record, moment: datetime) -> tuple[Head, ...]:
    """The ends of the books when the last line up to a moment was written.

    The last one by its place in the book: what stands before it was there already,
    whatever a clock that ran ahead says of it.
    """
    with translated(record.path):
        rows = record.db.execute(
            "select book, max(seq) from entry where recorded <= ? group by book "
            "order by book",
            (int(moment.timestamp()),),
        ).fetchall()
    return tuple(_full(record, Head(book, seq, "")) for book, seq in rows)


def laid_out(carried: Carried) -> Record:
    """A record in memory of the carried lines and files, with the heads they had.

    Raises ``Damaged`` where a line is none.
    """
    from hygiene.book.schema import statements

    db = sqlite3.connect(":memory:", isolation_level=None)
    with translated(Path("the file")):
        for statement in statements():
            if not statement.startswith(NEXT_LINE):
                db.execute(statement)
        db.execute("begin")
        db.executemany(
            "insert into entry(book, seq, line, hash) select json_extract(?1, '$.book')"
            ", json_extract(?1, '$.seq'), ?1, ?2",
            ((line, chain.line_hash(line.encode())) for line in carried.lines),
        )
        db.executemany(
            "insert into attachment(sha256, bytes) values (?, ?)", carried.files.items()
        )
        db.execute("commit")
        db.execute("pragma query_only = on")
    return _Stated(db, carried.heads)


class _Stated(Record):
    """A record whose heads are said, since not all its lines are there."""

    def __init__(self, db: sqlite3.Connection, heads: Iterable[Head]) -> None:
        super().__init__(Path("the lines carried in the file"), db)
        self._stated = list(heads)

    def heads(self) -> list[Head]:
        """The heads of the record that the lines are from."""
        return list(self._stated)


def _full(record: Record, head: Head) -> Head:
    with translated(record.path):
        found = record.db.execute(
            "select hash from entry where book = ? and seq = ?", (head.book, head.seq)
        ).fetchall()
    if not found:
        raise _not_at(record, head, "its line is gone, or never was there")
    if not str(found[0][0]).startswith(head.hash):
        raise _not_at(record, head, "its line differs, or one before it")
    return Head(head.book, head.seq, str(found[0][0]))


def _not_at(record: Record, head: Head, what: str) -> NotAtHead:
    return NotAtHead(
        path=record.path,
        head=head,
        what=what,
        way_out="see what is wrong with: hygiene verify",
    )


def _tables_of_lines(db: sqlite3.Connection) -> list[str]:
    """The tables that hold lines, or what is derived from lines."""
    names = [
        name
        for (name,) in db.execute(
            "select name from main.sqlite_master where type = 'table' order by name"
        ).fetchall()
    ]
    return [
        name
        for name in names
        if {"book", "seq"}
        <= {row[1] for row in db.execute(f"pragma main.table_xinfo({name})").fetchall()}
    ]


def _quoted(name: str) -> str:
    return "'" + name.replace("'", "''") + "'"
