"""Writing down that a copy of the record was made and verified."""

from __future__ import annotations

from pathlib import Path

from hygiene.acts.how import How
from hygiene.book.record import Head
from hygiene.book.writing import Writing
from hygiene.kinds.book import Backup
from hygiene.kinds.entry import Entry


def backed_up(
    writing: Writing, how: How, place: Path, heads: list[Head], size_bytes: int
) -> Entry:
    """Write that a copy of the record was made and verified, and where it lies."""
    said = Backup(place=str(place), heads=tuple(map(str, heads)), bytes=size_bytes)
    return how.add(writing, said)
