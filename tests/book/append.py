"""A driver: append entries one by one, and acknowledge each once it is recorded.

Run as: append.py RECORD KEYS FIRST COUNT [WHO]. Entry n says "bay n" and happened n
seconds after midnight, so that doing it again is a retry and nothing else. It prints
n when, and only when, the command would have told the person that it is written.
"""

from __future__ import annotations

import sys
from datetime import UTC, datetime, timedelta
from pathlib import Path

from hygiene.book.record import Record
from hygiene.kinds.find import Pest

MIDNIGHT = datetime(2026, 3, 2, tzinfo=UTC)


def now() -> datetime:
    return datetime.now(UTC).replace(microsecond=0)


def append(path: Path, keys: Path, number: int, who: str) -> None:
    """One command: open, take the lock, see whether it is there, add, close."""
    thing = Pest(what="rat", place=f"bay {number}")
    at = MIDNIGHT + timedelta(seconds=number)
    with Record.open(path, to_write=True) as record, record.writing(now, keys) as book:
        if book.same(thing, by=who, happened_at=at) is None:
            book.add(thing, by=who, happened_at=at)


if __name__ == "__main__":
    record_path, keys_path, first, count, *named = sys.argv[1:]
    for place in range(int(first), int(first) + int(count)):
        append(Path(record_path), Path(keys_path), place, *named or ("AB",))
        print(place, flush=True)
