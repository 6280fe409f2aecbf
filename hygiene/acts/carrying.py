"""Carrying the record: a copy of it was made and verified, lines came from elsewhere."""

from __future__ import annotations

from datetime import datetime, timedelta
from pathlib import Path

from hygiene.acts.how import How
from hygiene.book.record import Head, Record
from hygiene.book.writing import Writing
from hygiene.kinds.book import Backup
from hygiene.kinds.entry import Entry
from hygiene.kinds.moments import moment_of

BACKUP_DAYS = 7
"""A copy is due so many days after the last one; common practice, no source."""


def backed_up(
    writing: Writing, how: How, place: Path, heads: list[Head], size_bytes: int
) -> Entry:
    """Write that a copy of the record was made and verified, and where it lies."""
    said = Backup(place=str(place), heads=tuple(map(str, heads)), bytes=size_bytes)
    return how.add(writing, said)


def last_backup(record: Record) -> Entry | None:
    """The last verified copy that this record knows of."""
    return record.newest("backup")


def backup_due(last: Entry | None, now: datetime) -> bool:
    """Whether another copy is due: there is none yet, or it is ``BACKUP_DAYS`` old."""
    return last is None or now - moment_of(last.happened_at) >= timedelta(BACKUP_DAYS)
