"""A record in a folder of its own, with a clock that the test moves."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from hygiene.book.record import Head, Record
from hygiene.book.verify import Fault, faults
from hygiene.kinds.base import Kind
from hygiene.kinds.entry import Entry
from hygiene.kinds.find import Pest

MONDAY = datetime(2026, 3, 2, 7, 0, tzinfo=UTC)


@dataclass
class Clock:
    moment: datetime = MONDAY

    def __call__(self) -> datetime:
        return self.moment

    def on(self, **step: float) -> None:
        self.moment += timedelta(**step)


@dataclass
class Shed:
    path: Path
    keys: Path
    clock: Clock = field(default_factory=Clock)

    @classmethod
    def create(cls, folder: Path) -> Shed:
        made = cls(folder / "farm.db", folder / "keys")
        Record.create(made.path, made.clock, made.keys).close()
        return made

    def to_write(self) -> Record:
        return Record.open(self.path, to_write=True)

    def to_read(self) -> Record:
        return Record.open(self.path)

    def write(self, *things: Kind, by: str = "AB", **said: Any) -> list[Entry]:
        """Write each thing in one transaction, a second after the one before."""
        with self.to_write() as record, record.writing(self.clock, self.keys) as book:
            made = []
            for thing in things:
                self.clock.on(seconds=1)
                made.append(book.add(thing, by=by, **said))
        return made

    def faults(self, *heads: Head) -> list[Fault]:
        with self.to_read() as record:
            return faults(record, heads)

    def where(self, *heads: Head) -> list[str]:
        return [fault.where for fault in self.faults(*heads)]

    def heads(self) -> list[Head]:
        with self.to_read() as record:
            return record.heads()

    def head(self) -> Head:
        (head,) = self.heads()
        return head

    def name(self, seq: int) -> str:
        return f"{self.head().book}/{seq}"

    def lines(self) -> list[tuple[str, int, str, str]]:
        with self.plain() as db:
            return db.execute("select book, seq, line, hash from entry").fetchall()

    @contextmanager
    def plain(self) -> Iterator[sqlite3.Connection]:
        """What any SQLite tool would open, with nothing of ours switched on."""
        with closing(sqlite3.connect(self.path, isolation_level=None)) as db:
            db.execute("pragma synchronous = off")  # a test's own disk need not last
            yield db

    @contextmanager
    def behind_its_back(self) -> Iterator[sqlite3.Connection]:
        """The guards taken away, and put back word by word."""
        with self.plain() as db:
            guards = db.execute(
                "select name, sql from sqlite_master where type = 'trigger'"
            ).fetchall()
            db.execute("pragma ignore_check_constraints = on")
            for name, _ in guards:
                db.execute(f"drop trigger {name}")
            yield db
            for _, sql in guards:
                db.execute(sql)


def rat(place: str) -> Pest:
    return Pest(what="rat", place=place)
