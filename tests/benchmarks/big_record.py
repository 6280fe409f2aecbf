"""A record of any size, made fast: lines and hashes inserted under the whole schema.

Nothing but ``Writing`` may be skipped: the tables, triggers, indexes and mentions are
those of a real record, so what is measured on it is what a farm would see.
"""

from __future__ import annotations

import sqlite3
import sys
from collections.abc import Callable, Iterator
from contextlib import closing
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from pathlib import Path
from time import perf_counter

from hygiene.book import chain
from hygiene.book.record import Record
from hygiene.kinds.base import Kind
from hygiene.kinds.day import Answer, SignOff
from hygiene.kinds.entry import Entry, write_line
from hygiene.kinds.find import Hold, Mould
from hygiene.kinds.moments import stamp
from hygiene.kinds.setup import Person, Room

FIRST_DAY = datetime(2020, 1, 1, 6, tzinfo=UTC)
A_DAY = 300
"""Entries a day: a busy shed; a million of them is nine years."""


def now() -> datetime:
    """The clock's own moment, to the second."""
    return datetime.now(UTC).replace(microsecond=0)


def build(folder: Path, size: int) -> Path:
    """Make ``folder/farm.db`` with ``size`` entries, and this device's key to it."""
    path, keys = folder / "farm.db", folder / "keys"
    with Record.create(path, now, keys) as record:
        (head,) = record.heads()
    with closing(sqlite3.connect(path, isolation_level=None)) as db:
        db.execute("pragma synchronous = off")
        db.execute("pragma cache_size = -400000")
        _fill(db, head.book, head.hash, size)
    with Record.open(path, to_write=True) as record:
        (head,) = record.heads()
    _write_key(keys, *head)
    return path


def _fill(db: sqlite3.Connection, book: str, before: str, size: int) -> None:
    started = perf_counter()
    db.execute("begin")
    for seq in range(2, size + 1):
        line = write_line(_entry(book, seq))
        before = chain.follow(before, line.encode())
        db.execute(
            "insert into entry(book, seq, line, hash) values (?, ?, ?, ?)",
            (book, seq, line, before),
        )
        if seq % 100_000 == 0:
            seconds = perf_counter() - started
            print(f"  {seq:,} lines, {seconds:.0f} s", file=sys.stderr, flush=True)
    db.execute("commit")


def _write_key(keys: Path, book: str, seq: int, head: str) -> None:
    text = f'{{"book":"{book}","seq":{seq},"hash":"{head}"}}'
    (keys / f"{book}.json").write_text(text, "utf-8")


def moment(seq: int) -> datetime:
    """When entry ``seq`` happened."""
    day, place = divmod(seq, A_DAY)
    return FIRST_DAY + timedelta(days=day, minutes=2 * place)


def _entry(book: str, seq: int) -> Entry:
    thing = a_thing(book, seq)
    at = stamp(moment(seq))
    corrects, reason = None, None
    if seq % 101 == 0:  # one in a hundred puts right the last one of its kind
        corrects, reason = f"{book}/{seq - 10}", "misread"
        thing = a_thing(book, seq - 10)
    return Entry(
        book, seq, thing.kind, at, at, "AB", thing.body(), None, corrects, reason
    )


def a_thing(book: str, seq: int) -> Kind:
    """What entry ``seq`` says: mostly sign-offs, some finds, a little set-up."""
    if seq % 1000 == 3:
        return Person(code=f"P{seq // 1000}", name="Ash Barrow", roles=("worker",))
    if seq % 1000 == 4:
        return Room(code=f"R{seq // 1000}", name="Growing room")
    match seq % 10:
        case 1:
            return Mould(batch=f"B-{seq // 2000}", rack="R1", trays=(f"T{seq % 96}",))
        case 2:
            because = f"{book}/{seq - 1}"
            return Hold(held=f"B-{seq // 2000}", sort="batch", why="x", because=because)
    return a_sign_off(seq)


def a_sign_off(seq: int) -> SignOff:
    """A task of three steps, signed."""
    return SignOff(
        task=f"walk-round-{seq % 40}",
        due=stamp(moment(seq)),
        version=1,
        answers=(
            Answer(step="temp", passed=True, value=Decimal("21.5"), unit="C"),
            Answer(step="humidity", passed=True, value=Decimal(64), unit="%"),
            Answer(step="drains", passed=True, done=True),
        ),
    )


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
