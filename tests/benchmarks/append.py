"""What an append costs, and what is read, at ten thousand and at a million entries.

By hand: python tests/benchmarks/append.py [SIZE ...]

Every figure is the least and the median of interleaved turns, in milliseconds. The
floor of an append is a bare insert of the same line, with the same pragmas and in one
transaction, into a table of its own: what this disk costs in any case. The floor of
``verify`` is reading every line and hashing it twice.
"""

from __future__ import annotations

import sqlite3
import sys
from collections.abc import Callable
from contextlib import closing
from datetime import timedelta
from hashlib import sha256
from pathlib import Path
from tempfile import TemporaryDirectory

from big_record import A_DAY, Big, a_sign_off, interleaved, now

from hygiene.book.record import Record
from hygiene.book.verify import faults
from hygiene.kinds.codes import minted
from hygiene.kinds.entry import write_line

SIZES = (10_000, 1_000_000)
MOST_TO_VERIFY = 100_000


def show(what: str, least: float, median: float, note: str = "") -> None:
    """One line of the table."""
    print(f"  {what:<34} {least:9.2f} {median:9.2f}  {note}".rstrip(), flush=True)


def appends(big: Big) -> None:
    """The whole of ``with record.writing(...)`` and its one ``add``; and the floor."""
    bare_path = big.folder / "bare.db"
    thing = a_sign_off(7, now())
    with (
        Record.open(big.path, to_write=True) as record,
        closing(sqlite3.connect(bare_path, isolation_level=None)) as bare,
    ):
        bare.execute("pragma journal_mode = delete").fetchone()
        bare.execute("pragma synchronous = extra")
        bare.execute("create table if not exists line(line text, hash text)")
        last = record.entry(str(record.heads()[0]).partition(":")[0])
        line = write_line(last._replace(body=thing.body()))

        def append() -> None:
            with record.writing(now, big.keys) as book:
                book.add(thing, by="AB")

        def floor() -> None:
            bare.execute("begin immediate")
            bare.execute("insert into line values (?, ?)", (line, "0" * 64))
            bare.execute("commit")

        ours, least = interleaved(300, append, floor)
    show("append", *ours)
    show("  bare floor", *least, f"ratio {ours[1] / least[1]:.2f} of the medians")


def reads(big: Big) -> None:
    """What a day's commands ask."""
    size = big.size
    with Record.open(big.path) as record:
        book = record.heads()[0].book
        middle = big.moment(size // 2)
        day = {"since": middle, "before": middle + timedelta(days=1)}
        first = big.corrected(size // 2)
        batch = minted("batch", book, size // A_DAY // 2)
        jobs: dict[str, Callable[[], object]] = {
            f"entries() of a day ({A_DAY})": lambda: record.entries(
                ["sign_off", "mould", "hold"], **day
            ),
            "setup()": record.setup,
            "entry()": lambda: record.entry(f"{book}/{size // 2}"),
            "history() of a corrected one": lambda: record.history(f"{book}/{first}"),
            "mentioning() a batch": lambda: record.mentioning(batch),
            "unanswered() holds": lambda: record.unanswered("hold", "release"),
            "heads()": record.heads,
        }
        found = {name: job() for name, job in jobs.items()}
        for name, (least, median) in zip(
            jobs, interleaved(21, *jobs.values()), strict=True
        ):
            answer = found[name]
            count = f"{len(answer)} found" if type(answer) is list else ""
            show(name, least, median, count)


def verified(path: Path) -> None:
    """The whole of ``faults``, against reading and hashing alone."""

    def verify() -> None:
        with Record.open(path) as record:
            if found := faults(record):
                raise AssertionError(found[:3])

    def floor() -> None:
        with closing(sqlite3.connect(path)) as db:
            hashed = ""
            for (line,) in db.execute("select line from entry order by book, seq"):
                inner = sha256(line.encode()).hexdigest()
                hashed = sha256(f"{hashed}\n{inner}".encode()).hexdigest()

    ours, least = interleaved(5, verify, floor)
    show("verify", *ours)
    show("  read and hash", *least, f"ratio {ours[1] / least[1]:.2f} of the medians")


def main() -> None:
    """Build each size in a folder that is thrown away, and print its table."""
    for size in [int(word) for word in sys.argv[1:]] or SIZES:
        with TemporaryDirectory() as folder:
            big = Big(Path(folder), size)
            big.build()
            megabytes = big.path.stat().st_size / 1e6
            print(f"{size:,} entries, {megabytes:.0f} MB: least, median")
            appends(big)
            reads(big)
            if size <= MOST_TO_VERIFY:
                verified(big.path)


if __name__ == "__main__":
    main()
