"""Whether the record is still what was written: every check, every fault a value.

It recomputes the chain of each book, checks each line in SQL, compares the texts of
tables, triggers, views and indexes, the mentions, the attached files, and asks SQLite
for its own integrity check (a damaged index is invisible to the chain). No entry is
parsed for it, so it reads records of any age.
"""

from __future__ import annotations

import re
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing
from functools import cache, partial
from hashlib import sha256
from typing import NamedTuple

from hygiene.book import chain
from hygiene.book.record import VERSION, Head, Record, translated
from hygiene.book.schema import mentions_told, statements
from hygiene.errors import Damaged, WronglyPut
from hygiene.kinds.entry import LONGEST_LINE_BYTES

HEAD = re.compile(r"([^/\s]+)/(\d{1,18}):([0-9A-Fa-f]{8,64})")
CONTROL = re.compile(rb"[\x00-\x1f\x7f]")
# what is no quote and no backslash is written as it is: a control character that was
# spelled out would move the cursor of whoever reads it
OTHER_ESCAPE = re.compile(rb'(?:^|[^\\])(?:\\\\)*\\[^"\\]')
BAD_LINES = """
select book || '/' || seq from entry where not coalesce(json_valid(line), 0)
  or json_extract(line, '$.book') is not book or json_extract(line, '$.seq') is not seq
  or json_type(line, '$.seq') is not 'integer'
  or json_extract(line, '$.v') is null or json_extract(line, '$.kind') is null
  or json_extract(line, '$.by') is null or json_type(line, '$.body') is not 'object'
  or unixepoch(json_extract(line, '$.happened_at')) is null
  or unixepoch(json_extract(line, '$.recorded_at')) is null
  or (seq = 1) is not (json_extract(line, '$.kind') = 'opening')
order by book, seq limit 20"""

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
    checks: list[tuple[str, Callable[[Record], Iterator[Fault]]]] = [
        ("chain", _chain),
        ("lines", _lines),
        ("layout", _layout),
        ("mentions", _mentions),
        ("files", _files),
        ("pages", _pages),
        *((f"{head.book}/{head.seq}", partial(_against, head=head)) for head in heads),
    ]
    # nothing is read from a table that may work out its columns in its own way
    found = [fault for fault in unsafe(record) if fault.where.startswith("table ")]
    for name, check in [] if found else checks:
        try:
            with translated(record.path):
                found += check(record)
        except Damaged as failure:
            found.append(Fault(name, f"cannot be read: {failure.details['what']}"))
    return found


def unsafe(record: Record) -> list[Fault]:
    """What a stranger's file would have SQLite run: asked before anything is read."""
    with translated(record.path):
        return list(_layout(record))


def damage(record: Record, heads: tuple[Head, ...] = ()) -> list[Fault]:
    """Faults of what was written; that its layout is an earlier one is none."""
    found = faults(record, heads)
    older = record.version() < VERSION
    return [f for f in found if not (older and f.where == "layout")]


def _chain(record: Record) -> Iterator[Fault]:
    """At most one fault a book: what follows a broken line is broken with it."""
    done: set[bytes] = set()
    book, seq, before = b"", 0, ""
    with _bytes(record) as rows:
        for name, number, line, kept in rows:
            if name in done:
                continue
            if name != book:
                book, seq, before = name, 0, chain.start(_shown(name))
            seq += 1
            before = chain.follow(before, line)
            what = None
            if number != seq:
                what = "this line is missing"
            elif before.encode() != kept:
                what = "the line is not what was written: hash differs"
            elif not _is_a_line(line):
                what = "the line is no line of a record: its bytes are no plain text"
            if what is not None:
                done.add(name)
                yield Fault(f"{_shown(name)}/{seq}", what)
    if not book:
        yield Fault("record", "holds not one line; even a new one has its opening")


def _bytes(record: Record) -> closing[sqlite3.Cursor]:
    """Every line as its bytes: a damaged one may not even be text, or be nothing."""
    cursor = record.db.cursor()
    names = (
        f"coalesce(cast({name} as blob), x'')" for name in ("book", "line", "hash")
    )
    cursor.execute(
        "select {}, seq, {}, {} from entry order by book, seq".format(*names)
    )
    return closing(cursor)


def _shown(name: bytes) -> str:
    return name.decode("utf-8", "replace")


def _is_a_line(line: bytes) -> bool:
    try:
        line.decode()
    except UnicodeDecodeError:
        return False
    if len(line) > LONGEST_LINE_BYTES or CONTROL.search(line):
        return False
    return b"\\" not in line or not OTHER_ESCAPE.search(line)


def _lines(record: Record) -> Iterator[Fault]:
    for (name,) in record.db.execute(BAD_LINES).fetchall():
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
        # SQLite's own statistics (ANALYZE) are nobody's tampering
        "select type, name, sql from sqlite_master "
        "where sql is not null and name not glob 'sqlite_stat*'"
    ).fetchall()
    return {(sort, name): sql for sort, name, sql in rows}


def _mentions(record: Record) -> Iterator[Fault]:
    if record.version() < VERSION:  # its kinds may have named less; upgrading tells
        return
    told = mentions_told()
    kept = "select code, kind, book, seq from mention"
    # as many as there must be, and each of those: only then need none be named
    ((wanted, there, count),) = record.db.execute(
        f"""select count(*), count(m.code), (select count(*) from mention)
        from ({told}) left join mention m using (code, kind, book, seq)"""
    ).fetchall()
    if wanted == there == count:
        return
    for first, second, what in (
        (told, kept, "is not listed under {code}"),
        (kept, told, "is listed under {code}, which it does not name"),
    ):
        rows = record.db.execute(f"{first} except {second} limit 5").fetchall()
        for code, _, book, seq in rows:
            yield Fault(f"{book}/{seq}", what.format(code=code))


def _files(record: Record) -> Iterator[Fault]:
    if record.version() < VERSION and ("table", "attachment") not in _texts(record.db):
        return
    for (digest,) in record.db.execute("select sha256 from attachment").fetchall():
        content = record.file(digest)
        if content is None or sha256(content).hexdigest() != digest:
            yield Fault(f"file {digest[:12]}", "is not what was attached")
    for name, digest in record.db.execute(LOST_FILES).fetchall():
        yield Fault(name, f"names the file {digest[:12]}, which is gone")


def _pages(record: Record) -> Iterator[Fault]:
    for (said,) in record.db.execute("pragma integrity_check(5)").fetchall():
        if said != "ok":
            yield Fault("pages", str(said))


def _against(record: Record, head: Head) -> Iterator[Fault]:
    row = record.db.execute(
        "select hash from entry where book = ? and seq = ?", (head.book, head.seq)
    ).fetchone()
    where = f"{head.book}/{head.seq}"
    if row is None:
        yield Fault(where, "was there when the head was printed, and is gone")
    elif not str(row[0]).startswith(head.hash):
        yield Fault(where, "differs from the head that was printed")
