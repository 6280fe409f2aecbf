"""``hygiene ready``: what it costs grows with the days asked for, not with the record.

By hand, where nothing else runs: python tests/benchmarks/readiness.py [SIZE ...]

SIZE is a number of entries (else 100,000 and 1,000,000; a million takes ten minutes to
make). For each it prints the processor's seconds to look at 30 and at 365 days, and how
many lines these hold.
"""

from __future__ import annotations

import sys
from datetime import timedelta
from pathlib import Path
from tempfile import TemporaryDirectory
from time import process_time

from big_record import Big, now

from hygiene.acts.readiness import readiness
from hygiene.book.record import Record

SIZES = (100_000, 1_000_000)
DAYS = (30, 365)


def main() -> None:
    for size in [int(word) for word in sys.argv[1:]] or SIZES:
        with TemporaryDirectory() as folder:
            big = Big(Path(folder), size)
            big.build()
            for days in DAYS:
                _look(big, days)


def _look(big: Big, days: int) -> None:
    moment = now()
    first = moment.date() - timedelta(days=days - 1)
    began = process_time()
    with Record.open(big.path) as record:
        looked = readiness(record, first, moment.date(), moment)
    took = process_time() - began
    lines = len(looked.seen.lines)
    print(f"{big.size:>9,} entries, {days:>3} days ({lines:,} lines): {took:.2f} s")


if __name__ == "__main__":
    main()
