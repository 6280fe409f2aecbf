"""What lies elsewhere: the books that other devices write, and the last good copy.

What another device wrote since its last line here is not known, nor is a hold in it.
"""

from collections.abc import Iterator
from datetime import datetime, timedelta
from pathlib import Path
from typing import NamedTuple

from hygiene.book import keys
from hygiene.book.record import Record
from hygiene.kinds.entry import Entry, items
from hygiene.kinds.moments import CLOCKS_DIFFER, moment_of

BACKUP_DAYS = 7
"""A copy is due so many days after the last one; common practice, no source."""


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


class Device(NamedTuple):
    """A book, its last line here with its moment, and whose it is in a word or two."""

    book: str
    seq: int
    last: str
    whose: str


def devices(record: Record, folder: Path) -> list[Device]:
    """Every book of the record."""
    away = {each.book: each for each in elsewhere(record, folder)}
    return [
        Device(
            head.book,
            head.seq,
            record.entry(f"{head.book}/{head.seq}").recorded_at,
            _whose(away.get(head.book), _key(folder, head.book)),
        )
        for head in record.heads()
    ]


def _whose(away: Elsewhere | None, key: keys.Key | None) -> str:
    if away is None:
        return "this device" if key else "a device that is no more"
    if away.lost:
        return f"this device, once; {away.lost} lines more were lost"
    return "another device"


def _key(folder: Path, book: str) -> keys.Key | None:
    """The key to a book; where keys cannot be read, a reader goes on without."""
    try:
        return keys.read(folder, book)
    except keys.NoKeys:
        return None


def _books(record: Record, folder: Path) -> Iterator[Elsewhere]:
    ended = {(e.get("book_name"), e.get("last_seq")) for e in record.entries(["gone"])}
    for head in record.heads():
        if (head.book, head.seq) in ended:
            continue
        key = _key(folder, head.book)
        lost = max(0, key.seq - head.seq) if key else 0
        if key is None or lost:
            last = record.entry(f"{head.book}/{head.seq}")
            written = moment_of(last.recorded_at)
            yield Elsewhere(head.book, head.seq, written, lost)


def recorded_later(record: Record, folder: Path, now: datetime) -> str | None:
    """When the last line of a book of this device was recorded, if that is to come.

    Then its clock was set back, or stood ahead when that line was written.
    """
    mine = (head for head in record.heads() if _key(folder, head.book))
    said = (record.entry(f"{head.book}/{head.seq}").recorded_at for head in mine)
    return max((at for at in said if moment_of(at) - now > CLOCKS_DIFFER), default=None)


def last_backup(record: Record) -> Entry | None:
    """The last verified copy that this record knows of."""
    return record.newest("backup")


def backup_due(last: Entry | None, now: datetime) -> bool:
    """Whether another copy is due: there is none yet, or it is ``BACKUP_DAYS`` old."""
    return last is None or now - moment_of(last.happened_at) >= timedelta(BACKUP_DAYS)


def without_copy(record: Record, now: datetime) -> bool:
    """Whether a line has been in no verified copy for ``BACKUP_DAYS``.

    Another device's backup is known here after a merge, but it holds of this device's
    book only what had been carried there.
    """
    copies = record.entries(["backup"], since=now - 2 * timedelta(BACKUP_DAYS))
    last = last_backup(record)
    held: dict[str, int] = {}
    for copy in [*copies, *([last] if last else [])]:
        for head in items(copy, "heads"):
            book, _, seq = str(head).partition(":")[0].rpartition("/")
            held[book] = max(held.get(book, 0), int(seq) if seq.isdecimal() else 0)
    return any(
        _is_old(record, f"{head.book}/{held.get(head.book, 0) + 1}", now)
        for head in record.heads()
        if head.seq > held.get(head.book, 0)
    )


def _is_old(record: Record, name: str, now: datetime) -> bool:
    written = moment_of(record.entry(name).recorded_at)
    return now - written >= timedelta(BACKUP_DAYS)
