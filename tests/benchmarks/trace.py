"""A tray code and a date to a finished trace, at ten thousand and at a million entries.

By hand: python tests/benchmarks/trace.py [SIZE ...]

The record is that of ``big_record``: the same daily rate for longer. Times are the
medians over trays in the middle of it, in milliseconds: from opening the file to the
last line of text, and the trace alone.

A look-up is one question to an index: a code asked by name (twice: every version, and
what stands) or a kind in a stretch of time. Entries read are counted beside them.
"""

from __future__ import annotations

import sys
from datetime import date, timedelta
from pathlib import Path
from statistics import median
from tempfile import TemporaryDirectory
from time import perf_counter

from big_record import A_DAY, Big, now

from hygiene.acts.subject import subject_of
from hygiene.acts.trace import trace
from hygiene.book.record import Record
from hygiene.cli.trace import _page
from hygiene.farm.in_force import in_force
from hygiene.kinds.moments import day_span

SIZES = (10_000, 1_000_000)
ROUNDS = 15

Row = tuple[float, float, int, int, int]


def measured(bigs: list[Big]) -> None:
    """Trace in every record by turns: the load of the machine is then the same."""
    rows: dict[int, list[Row]] = {big.size: [] for big in bigs}
    for round_ in range(ROUNDS + 1):
        for big in bigs:
            middle = big.size // A_DAY // 2
            first = (now() - timedelta(days=big.size // A_DAY)).date()
            day = first + timedelta(days=middle + round_ % 5)
            tray = f"T{12 * ((middle - 3) % 10) + 1 + round_ % 12:03}"
            rows[big.size].append(one(big, tray, day))
    per_entry = [told(size, found[1:]) for size, found in rows.items()]
    if len(per_entry) > 1:
        whole, alone = (per_entry[-1][n] / per_entry[0][n] for n in (0, 1))
        print(f"time an entry found, last to first: {whole:.2f}, trace {alone:.2f}")


def told(size: int, rows: list[Row]) -> tuple[float, float]:
    """Print a size's medians; the whole and the trace alone, in ms an entry found."""
    whole, alone, asked, read, found = (median(r[n] for r in rows) for n in range(5))
    print(
        f"{size:>9,} entries: whole {whole:6.1f} ms (least {min(rows)[0]:.1f}), trace "
        f"{alone:6.1f} ms, found {found:4.0f}, an entry found: asked "
        f"{asked / found:4.2f}, read {read / found:4.2f}"
    )
    return whole / found, alone / found


def one(big: Big, tray: str, day: date) -> Row:
    """One trace, timed."""
    started = perf_counter()
    with Record.open(big.path) as record:
        setup = record.setup()
        farm = in_force(setup, now())
        opened = perf_counter()
        _, end = day_span(day, day, farm.zone)
        subject = subject_of(record, farm, tray, now(), day, day)
        found = trace(record, setup, subject, now())
        done = perf_counter()
    lines = list(_page(found))
    whole = perf_counter() - started
    if not lines or not found.sideways:
        raise AssertionError(f"nothing was found beside {tray} on {day} before {end}")
    count = len(found.entries) + len(found.others)
    cost = found.cost
    return whole * 1000, (done - opened) * 1000, cost.asked, cost.read, count


def main() -> None:
    """Build each size in a folder that is thrown away, and print the figures of all."""
    sizes = [int(word) for word in sys.argv[1:]] or SIZES
    with TemporaryDirectory() as folder:
        bigs = [Big(Path(folder) / str(size), size) for size in sizes]
        for big in bigs:
            big.folder.mkdir()
            big.build()
        measured(bigs)


if __name__ == "__main__":
    main()
