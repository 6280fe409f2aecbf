"""How long the write lock is held for one signing. The bar: under 10 ms at a million.

By hand: python tests/benchmarks/lock.py [SIZE]

The signing is the command's own act: is the task due, was it signed already, then the
sign-off, and the action that follows from its being late. The lock is taken by
``begin immediate`` and let go by ``commit``; SQLite's own trace says when the first of
them starts, and the end of the ``with`` comes a little after the second, so the figure
errs on the high side. A bare insert with the same pragmas, in turns, says what this
disk costs in any case, and the rules alone are shown by themselves.
"""

from __future__ import annotations

import sqlite3
import sys
from collections.abc import Iterator
from contextlib import closing
from datetime import timedelta
from pathlib import Path
from tempfile import TemporaryDirectory
from time import perf_counter

from big_record import TASKS, Big, interleaved, now

from hygiene.acts.day import about
from hygiene.acts.signing import questions, sign
from hygiene.book.record import Record
from hygiene.farm.in_force import in_force
from hygiene.kinds.day import Answer
from hygiene.rota.schedule import Due, read_rota
from hygiene.rota.signing import Answered

DAYS = timedelta(days=5)
"""The tasks of as many days before today are signed, all of them late."""


class Signing:
    """Signings of one due after another, each timed from the lock to the end."""

    def __init__(self, record: Record, keys: Path) -> None:
        self.record = record
        self.keys = keys
        self.began = 0.0
        self.held_ms: list[float] = []
        self.rules_ms: list[float] = []
        setup = record.setup()
        self.farm = in_force(setup, now())
        rota = read_rota(setup)
        today = now().date()
        dues = rota.dues(today - DAYS, today - timedelta(days=1))
        self.dues = [due for due in dues if int(due.code[5:]) >= TASKS]
        record.db.set_trace_callback(self._seen)

    def _seen(self, sql: str) -> None:
        if sql == "begin immediate":
            self.began = perf_counter()

    def turns(self) -> Iterator[None]:
        for due in self.dues:
            self._sign(due)
            yield

    def _sign(self, due: Due) -> None:
        answers = [
            Answered(ask, Answer(step=ask.name, passed=True, done=True))
            for ask in questions(due.task, self.farm)
        ]
        with self.record.writing(now, self.keys) as book:
            started = perf_counter()
            about(self.record, due, now())
            self.rules_ms.append((perf_counter() - started) * 1000)
            checked = perf_counter() - started
            sign(
                book,
                self.farm,
                due,
                answers,
                by="AB",
                happened_at=now(),
                reason="no signal in the shed",
            )
        # ``about`` was asked once more than the command does
        self.held_ms.append((perf_counter() - self.began - checked) * 1000)


def shown(times: list[float]) -> str:
    """Least, median, and what 19 of 20 stay under."""
    times.sort()
    least, median, most = (times[len(times) * n // 20] for n in (0, 10, 19))
    return f"least {least:.2f}, median {median:.2f}, 19 of 20 under {most:.2f} ms"


def main() -> None:
    """Print for how long the lock was held, and what a bare insert takes."""
    size = int(sys.argv[1]) if len(sys.argv) > 1 else 1_000_000
    with TemporaryDirectory() as folder:
        big = Big(Path(folder), size)
        big.build()
        with (
            Record.open(big.path, to_write=True) as record,
            closing(sqlite3.connect(big.folder / "bare.db")) as bare,
        ):
            bare.isolation_level = None
            bare.execute("pragma synchronous = extra")
            bare.execute("create table line(line text)")
            signing = Signing(record, big.keys)
            turns = signing.turns()

            def floor() -> None:
                bare.execute("begin immediate")
                bare.execute("insert into line values (?)", ("x" * 400,))
                bare.execute("commit")

            rounds = len(signing.dues)
            _, least = interleaved(rounds, lambda: next(turns), floor)
        print(f"{size:,} entries, {rounds} signings; the write lock was held")
        print(f"  {shown(signing.held_ms)}")
        print(f"  of which for what was written of the due: {shown(signing.rules_ms)}")
        print(f"  a bare insert: least {least[0]:.2f}, median {least[1]:.2f} ms")


if __name__ == "__main__":
    main()
