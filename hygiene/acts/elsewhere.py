"""Books that another device writes: how far they are known here.

What was written there since its last line here is not known, nor is a hold in it.
"""

from collections.abc import Iterator
from datetime import datetime
from pathlib import Path
from typing import NamedTuple

from hygiene.book import keys
from hygiene.book.record import Record
from hygiene.kinds.moments import moment_of


class Elsewhere(NamedTuple):
    """A book that goes on elsewhere, and when its last line here was written.

    ``lost`` is how many lines more this device itself once wrote in it, which this
    file does not hold: it was restored or copied. Else it is another device's book.
    """

    book: str
    seq: int
    written: datetime
    lost: int = 0


def elsewhere(record: Record, folder: Path) -> list[Elsewhere]:
    """The books of other devices; ``folder`` holds the keys to this device's own."""
    return list(_books(record, folder))


def _books(record: Record, folder: Path) -> Iterator[Elsewhere]:
    for head in record.heads():
        key = keys.read(folder, head.book)
        lost = max(0, key.seq - head.seq) if key else 0
        if key is None or lost:
            last = record.entry(f"{head.book}/{head.seq}")
            written = moment_of(last.recorded_at)
            yield Elsewhere(head.book, head.seq, written, lost)
