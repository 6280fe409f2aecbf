"""Every line of a record in order, a page at a time: for what is too long to hold.

Each page is fetched whole, so that no open cursor keeps a writer waiting. Lines that
were written after it began are left out.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from hygiene.book.record import STANDING, Record, translated

PAGE = 2000


class Line(NamedTuple):
    """One line as it was written, and whether it stands."""

    line: str
    stands: bool


def stream(record: Record) -> Iterator[Line]:
    """Every line by book and number, up to the heads that there are now."""
    for head in record.heads():
        for after in range(0, head.seq, PAGE):
            with translated(record.path):
                page = record.db.execute(
                    f"select e.line, {STANDING} from entry e where e.book = ? "
                    "and e.seq > ? and e.seq <= ? order by e.seq",
                    (head.book, after, min(after + PAGE, head.seq)),
                ).fetchall()
            for line, stands in page:
                yield Line(line, bool(stands))


def moments(record: Record, kind: str) -> set[int]:
    """The instants at which something of a kind happened, in seconds since 1970."""
    with translated(record.path):
        rows = record.db.execute("select happened from entry where kind = ?", (kind,))
        return {happened for (happened,) in rows.fetchall()}


def file_names(record: Record) -> list[str]:
    """The SHA-256 of every attached file, in order."""
    with translated(record.path):
        rows = record.db.execute("select sha256 from attachment order by 1").fetchall()
    return [digest for (digest,) in rows]
