"""Every line of a record in order, a page at a time: for what is too long to hold.

Each page is fetched whole, so that no open cursor keeps a writer waiting. Lines that
were written after it began are left out.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import UTC, datetime, timedelta
from json import dumps
from typing import NamedTuple

from hygiene.book.record import STANDING, Record, Version, translated

PAGE = 2000
STRETCH = timedelta(days=14)
"""Of a period that may hold more than one can keep, so much is read at a time."""


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


def versions(
    record: Record, kinds: Iterable[str], since: datetime, before: datetime
) -> Iterator[Version]:
    """Every version of these kinds that happened in [since, before), as it happened.

    As ``Record.versions``, a stretch of days at a time. What is written meanwhile is
    read where it happened later than what was read already.
    """
    wanted = tuple(kinds)
    first, last = _ends(record, wanted)
    start, end = max(since, first), min(before, last)
    while start < end:
        then = min(start + STRETCH, end)
        yield from record.versions(wanted, since=start, before=then)
        start = then


def _ends(record: Record, kinds: tuple[str, ...]) -> tuple[datetime, datetime]:
    """When the first of these kinds happened, and just after the last."""
    with translated(record.path):
        found = record.db.execute(
            "select min(first), max(last) from (select "
            "(select min(happened) from entry where kind = value) as first, "
            "(select max(happened) from entry where kind = value) as last "
            "from json_each(?))",
            (dumps(kinds),),
        ).fetchone()
    first, last = (value or 0 for value in found)
    return datetime.fromtimestamp(first, UTC), datetime.fromtimestamp(last + 1, UTC)


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
