"""Whether the record is still what was written: every check, every fault a value.

It recomputes the chain of each book, checks each line in SQL, compares the texts of
tables, triggers, views and indexes, the mentions, the attached files, and asks SQLite
for its own integrity check (a damaged index is invisible to the chain). No entry is
parsed for it, so it reads records of any age.
"""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing
from functools import cache, partial
from hashlib import sha256
from typing import NamedTuple

from hygiene.book.record import VERSION, Head, Record, translated
from hygiene.book.schema import mentions_told, statements
from hygiene.book.walk import MOST_ASIDE, Said, Told, said, told, told_by_another
from hygiene.errors import Damaged, WronglyPut

LONG = 20_000
"""So many lines are walked by two processes at once."""
HEAD = re.compile(r"([^/\s]+)/(\d{1,18}):([0-9A-Fa-f]{8,64})")
BAD_LINES = """
select book || '/' || seq from entry where (not coalesce(json_valid(line), 0)
  or json_extract(line, '$.book') is not book or json_extract(line, '$.seq') is not seq
  or json_type(line, '$.seq') is not 'integer'
  or json_extract(line, '$.v') is null or json_extract(line, '$.kind') is null
  or json_extract(line, '$.by') is null or json_type(line, '$.body') is not 'object'
  or unixepoch(json_extract(line, '$.happened_at')) is null
  or unixepoch(json_extract(line, '$.recorded_at')) is null
  or (seq = 1) is not (json_extract(line, '$.kind') = 'opening')) {}
order by book, seq limit 20"""

STATISTICS = (
    "CREATE TABLE sqlite_stat1(tbl,idx,stat)",
    "CREATE TABLE sqlite_stat3(tbl,idx,neq,nlt,ndlt,sample)",
    "CREATE TABLE sqlite_stat4(tbl,idx,neq,nlt,ndlt,sample)",
)
"""What SQLite's own ANALYZE leaves, as it writes it: nobody's tampering."""

# the text is searched first: only the lines that name a file are then looked into
LOST_FILES = """
select e.book || '/' || e.seq, t.value from entry e, json_tree(e.line, '$.body') t
where e.line glob '*"sha256":*' and t.key = 'sha256' and t.type = 'text'
  and not exists (select 1 from attachment a where a.sha256 = t.value)
order by e.book, e.seq limit 20"""


class Fault(NamedTuple):
    """Something that is not as it was written: where, and what."""

    where: str
    what: str


class NotAHead(WronglyPut):
    """A head that was not typed as it is printed."""

    sentence = "{given!r} is not a head; it is printed as BOOK/SEQ:HASH"


def head_of(given: str) -> Head:
    """Read a head as it is printed; at least 8 digits of the hash."""
    found = HEAD.fullmatch(given.strip())
    if found is None:
        raise NotAHead(given=given)
    return Head(found[1], int(found[2]), found[3].lower())


def faults(record: Record, heads: tuple[Head, ...] = ()) -> list[Fault]:
    """Everything that is wrong, the first bad line first; an empty list is good.

    ``heads`` were printed earlier: only they show a tail that was cut off, or a
    well-made line that was added or exchanged with all that follow it.
    """
    # nothing is read from a table that may work out its columns in its own way
    found = [fault for fault in unsafe(record) if fault.where.startswith("table ")]
    if found:
        return found
    with ThreadPoolExecutor(1) as other:
        walk = other.submit(_told, record)
        lines, found = _walked(record)
        # here, not in a third thread: with two processors it would delay both walks
        pages = _asked(record, "pages", _pages)
        # of a broken record every line is asked about in full
        names = None if found else walk.result()
    checks: list[tuple[str, Callable[[Record], Iterable[Fault]]]] = [
        ("lines", partial(_lines, said=lines)),
        ("layout", _layout),
        ("mentions", partial(_mentions, said=lines, told=names)),
        ("files", partial(_files, told=names)),
        *((f"{h.book}/{h.seq}", partial(_against, head=h)) for h in heads),
    ]
    for name, check in checks:
        found += _asked(record, name, check)
    return found + pages


def _walked(record: Record) -> tuple[Said | None, list[Fault]]:
    """What the lines say of themselves, unless there are faults in their chains."""
    try:
        with translated(record.path):
            walked = said(record.db)
    except Damaged as failure:
        return None, [_unreadable("chain", failure)]
    found = list(_chain(walked))
    return None if found else walked, found


def _told(record: Record) -> Told | None:
    """What the lines mention; None where that cannot be read so quickly."""
    try:
        with translated(record.path), Record.open(record.path) as own:
            if own.count() > LONG and (made := told_by_another(record.path)):
                return made
            return told(own.db)
    except Damaged:
        return None


def _asked(
    record: Record, name: str, check: Callable[[Record], Iterable[Fault]]
) -> list[Fault]:
    try:
        with translated(record.path):
            return list(check(record))
    except Damaged as failure:
        return [_unreadable(name, failure)]


def _unreadable(where: str, failure: Damaged) -> Fault:
    return Fault(where, f"cannot be read: {failure.details['what']}")


def unsafe(record: Record) -> list[Fault]:
    """What a stranger's file would have SQLite run: asked before anything is read."""
    with translated(record.path):
        return list(_layout(record))


def damage(record: Record, heads: tuple[Head, ...] = ()) -> list[Fault]:
    """Faults of what was written; that its layout is an earlier one is none."""
    found = faults(record, heads)
    older = record.version() < VERSION
    return [f for f in found if not (older and f.where == "layout")]


def _chain(walked: Said) -> Iterator[Fault]:
    for book, seq, what in walked.broken:
        if seq:
            yield Fault(f"{book}/{seq}", what)
        else:
            what = "holds not one line; even a new one has its opening"
            yield Fault("record", what)


def _lines(record: Record, said: Said | None) -> Iterator[Fault]:
    """What the walk could not tell: each line that it put aside, or else all."""
    every = said is None or len(said.aside) > MOST_ASIDE
    sql = BAD_LINES.format("" if every else "and book = ? and seq = ?")
    for given in [()] if said is None or every else said.aside:
        for (name,) in record.db.execute(sql, given).fetchall():
            yield Fault(name, "the line does not say what every line says")


def _layout(record: Record) -> Iterator[Fault]:
    """Triggers, views, indexes and tables, word by word."""
    if record.version() < VERSION:
        yield Fault(
            "layout",
            "is that of an earlier version of this program: write anything, which "
            "brings it up to date, and verify again",
        )
        return
    wanted, found = _wanted(), _texts(record.db)
    for key in sorted(wanted.keys() | found.keys()):
        sort, name = key
        if key not in found:
            yield Fault(f"{sort} {name}", "is missing")
        elif key not in wanted:
            yield Fault(f"{sort} {name}", "was added; this program did not make it")
        elif wanted[key] != found[key]:
            yield Fault(f"{sort} {name}", "was altered")


@cache
def _wanted() -> dict[tuple[str, str], str]:
    """The texts of a new record: a merge compares with them several times."""
    with closing(sqlite3.connect(":memory:")) as fresh:
        for statement in statements():
            fresh.execute(statement)
        return _texts(fresh)


def _texts(db: sqlite3.Connection) -> dict[tuple[str, str], str]:
    rows = db.execute(
        "select type, name, sql from sqlite_master where sql is not null"
    ).fetchall()
    # by their whole text: a hidden trigger may bear such a name as well
    return {(sort, name): sql for sort, name, sql in rows if sql not in STATISTICS}


def _mentions(record: Record, said: Said | None, told: Told | None) -> Iterator[Fault]:
    if record.version() < VERSION:  # its kinds may have named less; upgrading tells
        return
    # the second walk may be mistaken in a line only where the first was doubtful of it
    if said and told and told.listed and set(said.aside) <= set(told.aside):
        return
    named, kept = mentions_told(), "select code, kind, book, seq from mention"
    for first, second, what in (
        (named, kept, "is not listed under {code}"),
        (kept, named, "is listed under {code}, which it does not name"),
    ):
        rows = record.db.execute(f"{first} except {second} limit 5").fetchall()
        for code, _, book, seq in rows:
            yield Fault(f"{book}/{seq}", what.format(code=code))


def _files(record: Record, told: Told | None) -> Iterator[Fault]:
    if record.version() < VERSION and ("table", "attachment") not in _texts(record.db):
        return
    for (digest,) in record.db.execute("select sha256 from attachment").fetchall():
        content = record.file(digest)
        if content is None or sha256(content).hexdigest() != digest:
            yield Fault(f"file {digest[:12]}", "is not what was attached")
    if told is not None and not told.files:
        return
    for name, digest in record.db.execute(LOST_FILES).fetchall():
        yield Fault(name, f"names the file {digest[:12]}, which is gone")


def _pages(record: Record) -> Iterator[Fault]:
    """SQLite's own check, which another processor may make meanwhile.

    It leaves out the conditions on a line: each of them is asked here otherwise.
    """
    with Record.open(record.path) as own:
        own.db.execute("pragma ignore_check_constraints = on")
        yield from _answers(own, "pragma integrity_check(5)")
        own.db.execute("pragma ignore_check_constraints = off")
        if ("table", "attachment") in _texts(own.db):
            yield from _answers(own, "pragma integrity_check(attachment)")


def _answers(record: Record, asked: str) -> Iterator[Fault]:
    for (answer,) in record.db.execute(asked).fetchall():
        if answer != "ok":
            yield Fault("pages", str(answer))


def _against(record: Record, head: Head) -> Iterator[Fault]:
    row = record.db.execute(
        "select hash from entry where book = ? and seq = ?", (head.book, head.seq)
    ).fetchone()
    where = f"{head.book}/{head.seq}"
    if row is None:
        yield Fault(where, "was there when the head was printed, and is gone")
    elif not str(row[0]).startswith(head.hash):
        yield Fault(where, "differs from the head that was printed")
