"""A record of any size, made fast: lines and hashes inserted under the whole schema.

Its set-up goes through ``Writing``; after that only ``Writing`` is left out. Tables,
triggers, indexes and mentions are those of a real record, so what is measured on it is
what a farm would see. It ends today.
"""

from __future__ import annotations

import os
import sqlite3
import sys
from collections.abc import Callable, Iterator
from contextlib import closing
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal
from pathlib import Path
from time import perf_counter

from hygiene.book import chain, keys
from hygiene.book.record import Record
from hygiene.kinds.base import Kind
from hygiene.kinds.checklist import Checklist, Step
from hygiene.kinds.day import Answer, SignOff
from hygiene.kinds.entry import Entry, write_line
from hygiene.kinds.find import Hold, Mould
from hygiene.kinds.moments import stamp
from hygiene.kinds.setup import Farm, Person, Room

A_DAY = 300
"""Entries a day: a busy shed; a million of them is nine years."""
TASKS = 40
"""So many tasks are signed every day; as many again never are."""


def now() -> datetime:
    """The clock's own moment, to the second."""
    return datetime.now(UTC).replace(microsecond=0)


@dataclass(frozen=True)
class Big:
    """A record of ``size`` entries in ``folder``, with this device's key to it."""

    folder: Path
    size: int

    @property
    def path(self) -> Path:
        return self.folder / "farm.db"

    @property
    def keys(self) -> Path:
        return self.folder / "keys"

    def moment(self, seq: int) -> datetime:
        """When entry ``seq`` happened; the last of them early this morning."""
        day, place = divmod(seq, A_DAY)
        first = now().date() - timedelta(days=self.size // A_DAY)
        midnight = datetime.combine(first, time(0), UTC)
        return midnight + timedelta(days=day, seconds=place)

    def build(self) -> None:
        """Make it: the set-up, and then ``size`` lines in all."""
        with Record.create(self.path, now, self.keys) as record:
            with record.writing(now, self.keys) as book:
                for thing in a_farm(self.moment(0).date()):
                    book.add(thing, by="AB", happened_at=self.moment(0))
            (head,) = record.heads()
        with closing(sqlite3.connect(self.path, isolation_level=None)) as db:
            db.execute("pragma synchronous = off")
            db.execute("pragma cache_size = -400000")
            self._fill(db, *head)
        with self.path.open("rb") as file:
            os.fsync(file.fileno())  # or its pages go to disk while we measure
        with Record.open(self.path) as record:
            (head,) = record.heads()
        keys.Kept(self.keys, keys.Key(*head)).put()

    def _fill(self, db: sqlite3.Connection, book: str, last: int, hashed: str) -> None:
        started = perf_counter()
        db.execute("begin")
        for seq in range(last + 1, self.size + 1):
            line = write_line(self.entry(book, seq))
            hashed = chain.follow(hashed, line.encode())
            db.execute(
                "insert into entry(book, seq, line, hash) values (?, ?, ?, ?)",
                (book, seq, line, hashed),
            )
            if seq % 100_000 == 0:
                seconds = perf_counter() - started
                print(f"  {seq:,} lines, {seconds:.0f} s", file=sys.stderr, flush=True)
        db.execute("commit")

    def entry(self, book: str, seq: int) -> Entry:
        """Entry ``seq``; one in a hundred puts right an earlier one of its kind."""
        at = stamp(self.moment(seq))
        corrected = seq % 101 == 0 and seq > 1000
        said = seq - 10 if corrected else seq
        thing = self.thing(book, said)
        corrects, reason = (f"{book}/{said}", "misread") if corrected else (None, None)
        return Entry(
            book, seq, thing.kind, at, at, "AB", thing.body(), None, corrects, reason
        )

    def thing(self, book: str, seq: int) -> Kind:
        """What entry ``seq`` says: sign-offs, some finds, a little set-up."""
        if seq % 1000 == 3:
            return Person(code=f"P{seq // 1000}", name="Ash Barrow")
        if seq % 1000 == 4:
            return Room(code=f"R{seq // 1000}", name="Growing room")
        match seq % 10:
            case 1:
                trays = (f"T{seq % 96}",)
                return Mould(batch=f"B-{seq // 2000}", rack="R1", trays=trays)
            case 2 if seq % 100 == 2:
                because = f"{book}/{seq - 1}"
                held = f"B-{seq // 2000}"
                return Hold(held=held, sort="batch", why="mould", because=because)
        return a_sign_off(seq, self.moment(seq))


def a_farm(start: date) -> Iterator[Kind]:
    """A farm whose tasks are due every day, from six o'clock to five."""
    yield Farm(name="Measured Farm", address="nowhere", time_zone="UTC")
    yield Person(code="AB", name="Ash Barrow", roles=("manager",))
    for number in range(2 * TASKS):
        yield Checklist(
            code=f"task-{number}",
            title=f"Task {number}",
            version=1,
            dated=start,
            rule="FREQ=DAILY",
            starts=start,
            at=(f"{_hour(number):02}:00",),
            season="always",
            steps=(Step(code="temp", text="Read it"), Step(code="dry", text="Dry?")),
        )


def a_sign_off(seq: int, moment: datetime) -> SignOff:
    """A task of three steps, signed."""
    number = seq % TASKS
    return SignOff(
        task=f"task-{number}",
        due=stamp(moment.replace(hour=_hour(number), minute=0, second=0)),
        version=1,
        answers=(
            Answer(step="temp", passed=True, value=Decimal("21.5"), unit="C"),
            Answer(step="humidity", passed=True, value=Decimal(64), unit="%"),
            Answer(step="drains", passed=True, done=True),
        ),
    )


def _hour(number: int) -> int:
    return 6 + number % 12


Timed = tuple[float, float]


def interleaved(rounds: int, *jobs: Callable[[], object]) -> Iterator[Timed]:
    """The least and the median time of each job in ms, the jobs taking turns."""
    taken: list[list[float]] = [[] for _ in jobs]
    for _ in range(rounds):
        for place, job in enumerate(jobs):
            started = perf_counter()
            job()
            taken[place].append((perf_counter() - started) * 1000)
    for times in taken:
        times.sort()
        yield times[0], times[len(times) // 2]
