"""How long the write lock is held for one signing. The bar: under 10 ms at a million.

By hand: python tests/benchmarks/lock.py [SIZE [FOLDER THAT growth.py KEPT]]

Two things are timed, in turns with a bare insert under the same pragmas, which says
what this disk costs in any case: a write like a signing (is it there already, then two
entries), which is the book's own share; and the command's whole act (what was written
of the due, the rules, the sign-off, the action that follows from its being late).

The lock is taken by ``begin immediate`` and let go by ``commit``. SQLite's own trace
says when the first of them starts; the end of the ``with`` comes a little after the
second, so the figures err on the high side.
"""

from __future__ import annotations

import sqlite3
import sys
from contextlib import closing
from datetime import timedelta
from pathlib import Path
from shutil import copytree
from tempfile import TemporaryDirectory
from time import perf_counter

from big_record import TASKS, Big, a_sign_off, interleaved, now

from hygiene.acts.signing import questions, sign
from hygiene.book.record import Record
from hygiene.farm.in_force import in_force
from hygiene.kinds.action import Action
from hygiene.kinds.day import Answer
from hygiene.rota.schedule import read_rota
from hygiene.rota.signing import Answered

DAYS = timedelta(days=2)
"""The tasks of as many days before today are signed, all of them late."""


class Signings:
    """Writes that are timed from the lock to the end."""

    def __init__(self, big: Big, record: Record) -> None:
        self.record = record
        self.keys = big.keys
        self.began = 0.0
        setup = record.setup()
        self.farm = in_force(setup, now())
        today = now().date()
        dues = read_rota(setup).dues(today - DAYS, today - timedelta(days=1))
        # those that the record's own lines leave unsigned
        self.dues = [due for due in dues if int(due.code[5:]) >= TASKS]
        self.turn = 0
        self.like_ms: list[float] = []
        self.whole_ms: list[float] = []
        record.db.set_trace_callback(self._seen)

    def _seen(self, sql: str) -> None:
        if sql == "begin immediate":
            self.began = perf_counter()

    def _held_ms(self) -> float:
        return (perf_counter() - self.began) * 1000

    def like(self) -> None:
        """The book's own share: ``same`` and two entries."""
        thing = a_sign_off(self.turn, now())
        with self.record.writing(now, self.keys) as book:
            if book.same(thing, by="CD", happened_at=now()) is None:
                made = book.add(thing, by="CD")
                book.add(Action(about=made.name, problem="misted glass"), by="CD")
        self.like_ms.append(self._held_ms())

    def whole(self) -> None:
        """The act of ``hygiene sign``, of the next due."""
        due = self.dues[self.turn]
        answers = [
            Answered(ask, Answer(step=ask.name, passed=True, done=True))
            for ask in questions(due.task, self.farm)
        ]
        with self.record.writing(now, self.keys) as book:
            sign(
                book,
                self.farm,
                due,
                answers,
                by="AB",
                happened_at=now(),
                reason="no signal in the shed",
            )
        self.whole_ms.append(self._held_ms())
        self.turn += 1


def show(what: str, times: list[float]) -> None:
    """Least, median, and what 19 of 20 stay under."""
    times.sort()
    least, median, most = (times[len(times) * n // 20] for n in (0, 10, 19))
    print(f"  {what:<34} {least:8.2f} {median:8.2f} {most:8.2f}")


def main() -> None:
    """Print for how long the lock was held, and what a bare insert takes."""
    size = int(sys.argv[1]) if len(sys.argv) > 1 else 1_000_000
    with TemporaryDirectory() as folder:
        big = Big(Path(folder), size)
        if len(sys.argv) > 2:  # a record of that size which growth.py kept
            copytree(sys.argv[2], folder, dirs_exist_ok=True)
        else:
            big.build()
        bare_ms: list[float] = []
        with (
            Record.open(big.path, to_write=True) as record,
            closing(sqlite3.connect(big.folder / "bare.db")) as bare,
        ):
            bare.isolation_level = None
            bare.execute("pragma synchronous = extra")
            bare.execute("create table line(line text)")
            signings = Signings(big, record)

            def floor() -> None:
                started = perf_counter()
                bare.execute("begin immediate")
                bare.execute("insert into line values (?)", ("x" * 400,))
                bare.execute("commit")
                bare_ms.append((perf_counter() - started) * 1000)

            rounds = len(signings.dues)
            list(interleaved(rounds, floor, signings.like, signings.whole))
        print(f"{size:,} entries, {rounds} of each: least, median, 19 of 20 under, ms")
        show("a bare insert", bare_ms)
        show("lock of same() and two entries", signings.like_ms)
        show("lock of the whole act of signing", signings.whole_ms)


if __name__ == "__main__":
    main()
