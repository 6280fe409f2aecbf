"""How long the write lock is held for one signing. The bar: under 10 ms at a million.

By hand: python tests/benchmarks/lock.py [SIZE]

The lock is taken by ``begin immediate`` and let go by ``commit``; SQLite's own trace
says when the first of them starts, and the end of the ``with`` is a little after the
second, so the figure errs on the high side. The same is said of a bare insert with
the same pragmas, in turns: what this disk costs in any case.
"""

from __future__ import annotations

import sqlite3
import sys
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from tempfile import TemporaryDirectory
from time import perf_counter

from big_record import a_sign_off, build, interleaved, now

from hygiene.book.record import Record
from hygiene.kinds.action import Action

ROUNDS = 200


def held(record: Record, keys: Path) -> Callable[[], None]:
    """One signing: is it there already, a sign-off, and the action that it opens."""
    turn = iter(range(10**9))

    def sign() -> None:
        thing = a_sign_off(next(turn))
        with record.writing(now, keys) as book:
            if book.same(thing, by="AB", happened_at=None) is None:
                made = book.add(thing, by="AB")
                book.add(Action(about=made.name, problem="misted glass"), by="AB")

    return sign


def main() -> None:
    """Print the least, the median and the longest time for which it was held."""
    size = int(sys.argv[1]) if len(sys.argv) > 1 else 1_000_000
    with TemporaryDirectory() as folder:
        path = build(Path(folder), size)
        began: list[float] = []
        lasted: list[float] = []
        with (
            Record.open(path, to_write=True) as record,
            closing(sqlite3.connect(path.with_name("bare.db"))) as bare,
        ):
            bare.isolation_level = None
            bare.execute("pragma synchronous = extra")
            bare.execute("create table line(line text)")
            sign = held(record, path.with_name("keys"))

            def seen(sql: str) -> None:
                if sql == "begin immediate":
                    began.append(perf_counter())

            def timed() -> None:
                sign()
                lasted.append((perf_counter() - began[-1]) * 1000)

            def floor() -> None:
                bare.execute("begin immediate")
                bare.execute("insert into line values (?)", ("x" * 400,))
                bare.execute("commit")

            record.db.set_trace_callback(seen)
            _, least = interleaved(ROUNDS, timed, floor)
        lasted.sort()
        print(f"{size:,} entries, {ROUNDS} signings of two entries; the lock was held")
        print(
            f"  least {lasted[0]:.2f} ms, median {lasted[ROUNDS // 2]:.2f} ms, ", end=""
        )
        print(
            f"19 of 20 under {lasted[ROUNDS * 19 // 20]:.2f} ms, longest {lasted[-1]:.2f} ms"
        )
        print(f"  a bare insert: least {least[0]:.2f} ms, median {least[1]:.2f} ms")


if __name__ == "__main__":
    main()
