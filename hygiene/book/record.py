"""A farm's record: one SQLite file that holds its books. Reading it.

This room alone touches SQLite. A reader fetches and closes; it never leaves a cursor
open, since an open one locks the writers out.
"""

import sqlite3
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from datetime import datetime
from functools import lru_cache
from json import dumps
from math import ceil
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING, Any, NamedTuple

from hygiene.book.plainly import CannotUse as CannotUse
from hygiene.book.plainly import NotOurs as NotOurs
from hygiene.book.plainly import Unreadable as Unreadable
from hygiene.book.plainly import translated as translated
from hygiene.book.plainly import unreadable
from hygiene.errors import NoRecord, Unknown
from hygiene.kinds import FOLDED
from hygiene.kinds.entry import Entry, NotALine, read_line

if TYPE_CHECKING:
    from hygiene.book.noted import Noted
    from hygiene.book.writing import Writing

Clock = Callable[[], datetime]

APPLICATION_ID = 0x48594749
"""Marks an SQLite file as a record of ours (the letters HYGI)."""
VERSION = 2
"""Of the tables, triggers and views; entries themselves never change."""
LINES_KEPT = 2048
"""So many of the lines that were read last are not taken apart again."""
LONGEST_VALUE_BYTES = 64_000_000
"""Of a text or a file that SQLite may make or read: six times the largest of ours."""
WAIT_MS = 30_000
"""How long a command waits for another that is writing."""
PATIENCE_MS = 1000
"""How long it does so before it says that it waits."""


def stands(alias: str) -> str:
    """The SQL condition that nothing supersedes the entry ``alias``.

    Any correction or strike supersedes the first entry, whatever the clocks say;
    among those the latest (recorded, book, seq) stands.
    """
    return f"""not exists (
    select 1 from entry l
    where l.corrects = coalesce({alias}.corrects, {alias}.book || '/' || {alias}.seq)
      and ({alias}.corrects is null or (l.recorded, l.book, l.seq)
        > ({alias}.recorded, {alias}.book, {alias}.seq)))"""


STANDING = stands("e")


class NoSuchRecord(NoRecord):
    """There is no file there."""

    sentence = "there is no record at {path}"


class AFolder(NoRecord):
    """There is a folder where the record would be."""

    sentence = "{path} is a folder, and a record is a file"


class Newer(NoRecord):
    """The record was written by a newer version of the program."""

    sentence = "{path} was written by a newer version of this program ({found})"


class UnknownEntry(Unknown):
    """A name such as shed-k7q2/1042 that this record does not hold."""

    sentence = "there is no entry {given!r} in this record"


class Head(NamedTuple):
    """The end of a book: its last line's number and hash."""

    book: str
    seq: int
    hash: str

    def __str__(self) -> str:
        return f"{self.book}/{self.seq}:{self.hash}"


class Version(NamedTuple):
    """One version of an entry, and whether it is the one that stands."""

    entry: Entry
    stands: bool


class Record:
    """An open record. Use it as a context, or close it."""

    def __init__(self, path: Path, connection: sqlite3.Connection) -> None:
        self.path = path
        self.db = connection
        # an act asks for the same lines again and again, and a line never changes
        self._entry_of = lru_cache(maxsize=LINES_KEPT)(read_line)
        self.noted: Noted | None = None
        """Where every line that is read is noted, while a report is made."""

    @classmethod
    def open(
        cls,
        path: Path,
        *,
        to_write: bool = False,
        waits: Callable[[], object] | None = None,
    ) -> "Record":
        """Open a record that exists; ``Damaged`` or ``NoRecord`` where it cannot be.

        ``waits`` is called once, where another command lets nobody read for a while.

        A reader opens it for reading and writing with ``query_only``: opened read
        only, a record that was left in the middle of a write cannot roll back, and
        reads nothing.
        """
        if path.is_dir():
            raise AFolder(path=path, way_out="say which file: --record FILE")
        if not path.is_file():
            raise NoSuchRecord(
                path=path,
                way_out="set one up with: hygiene set-up FARM.toml; "
                "or say where it is: --record FILE",
            )
        with translated(path):
            record = cls(path, connect(path))
            try:
                if waits is not None:
                    record._wait_aloud(waits)
                older = record.version() < VERSION
                if not to_write:
                    record.db.execute("pragma query_only = on")
                elif older:
                    from hygiene.book.upgrade import bring_up  # once in a long while

                    bring_up(record)
            except BaseException:
                record.close()
                raise
        return record

    @classmethod
    def create(
        cls, path: Path, clock: Clock, keys: Path, *, demonstration: bool = False
    ) -> "Record":
        """Make a record with its first book and open it to write."""
        from hygiene.book import writing

        writing.create(path, clock, keys, demonstration=demonstration)
        return cls.open(path, to_write=True)

    def writing(self, clock: Clock, keys: Path, place: str = "shed") -> "Writing":
        """One transaction: ``with record.writing(clock, keys) as writing: ...``.

        ``clock`` gives the moment at the farm, aware; ``keys`` is the folder of this
        device's keys; a book that must be opened is named after its ``place``.
        """
        from hygiene.book.writing import Writing

        return Writing(self, clock, keys, place=place)

    def demonstration(self) -> bool:
        """Whether its first entry says that it is a demonstration."""
        return any(
            opening.get("demonstration", False) for opening in self.entries(["opening"])
        )

    def _wait_aloud(self, waits: Callable[[], object]) -> None:
        self.db.execute(f"pragma busy_timeout = {min(PATIENCE_MS, WAIT_MS)}")
        try:
            self.db.execute("pragma user_version").fetchone()
        except sqlite3.OperationalError as failure:
            if "locked" not in str(failure):
                raise
            waits()
        self.db.execute(f"pragma busy_timeout = {WAIT_MS}")

    def version(self) -> int:
        """Of its layout; raises ``NotOurs`` or ``Newer``."""
        (found,) = self.db.execute("pragma application_id").fetchone()
        if found != APPLICATION_ID:
            raise NotOurs(path=self.path)
        odd = self.db.execute(_NO_TABLES).fetchone()
        if odd:
            raise unreadable(self.path, f"{odd[0]} in it is no table of ours")
        version = int(self.db.execute("pragma user_version").fetchone()[0])
        if version > VERSION:
            raise Newer(
                path=self.path,
                found=version,
                way_out="use the newer program; this one would not read all of it",
            )
        return version

    def keep(self, lines: int) -> None:
        """Keep so many lines taken apart, where one reader after another asks for
        most of the record: entries that they share are also held only once.
        """
        self._entry_of = lru_cache(maxsize=lines)(read_line)

    def close(self) -> None:
        """Close the file."""
        self.db.close()

    def __enter__(self) -> "Record":
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        failure: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    @contextmanager
    def at_one_moment(self) -> Iterator[None]:
        """All that is read inside is of one moment; whoever writes waits meanwhile."""
        with translated(self.path):
            self.db.execute("begin")
        try:
            yield
        finally:
            self.db.execute("rollback")

    def heads(self) -> list[Head]:
        """The end of each book, by the books' names."""
        with translated(self.path):
            return [Head(*row) for row in self.db.execute(_HEADS).fetchall()]

    def holds(self, head: Head) -> bool:
        """Whether that line stands here, with that hash and so all before it."""
        return self._all(
            "select hash from entry where book = ? and seq = ?", head[:2]
        ) == [(head.hash,)]

    def head_at(self, book: str, seq: int) -> Head:
        """The end of a book as it was once that line had been written."""
        ((found,),) = self._all(
            "select hash from entry where book = ? and seq = ?", (book, seq)
        )
        return Head(book, seq, found)

    def count(self) -> int:
        """How many entries the record holds, in all its books."""
        return sum(head.seq for head in self.heads())

    def entries(
        self,
        kinds: Iterable[str],
        *,
        since: datetime | None = None,
        before: datetime | None = None,
    ) -> list[Entry]:
        """The standing entries of these kinds that happened in [since, before).

        In the order in which they happened; what was struck or superseded is left
        out, and is read with ``history``.
        """
        return self._entries(kinds, since, before, f"and {STANDING}")

    def all_versions(
        self,
        kinds: Iterable[str],
        *,
        since: datetime | None = None,
        before: datetime | None = None,
    ) -> list[Entry]:
        """Every entry of these kinds, superseded and struck ones as well."""
        return self._entries(kinds, since, before, "")

    def _entries(
        self,
        kinds: Iterable[str],
        since: datetime | None,
        before: datetime | None,
        standing: str,
    ) -> list[Entry]:
        wanted = tuple(kinds)
        first = ceil(since.timestamp()) if since else -(2**60)
        last = ceil(before.timestamp()) if before else 2**60
        return self._read(
            f"select e.line from entry e where e.kind in ({_marks(wanted)}) "
            f"and e.happened >= ? and e.happened < ? {standing} "
            "order by e.happened, e.recorded, e.book, e.seq",
            (*wanted, first, last),
        )

    def setup(self) -> list[Entry]:
        """What stands of the set-up, trainings and seasons, to be folded together."""
        return self.entries(FOLDED)

    def entry(self, name: str) -> Entry:
        """The entry of that name, as it was written; raises ``UnknownEntry``."""
        book, _, seq = name.rpartition("/")
        found = (
            self._read(
                "select line from entry where book = ? and seq = ?", (book, int(seq))
            )
            if seq.isascii() and seq.isdigit() and len(seq) < 19
            else []
        )
        if not found:
            raise UnknownEntry(given=name, way_out="list them with: hygiene log")
        return found[0]

    def history(self, name: str) -> list[Entry]:
        """The first entry of a matter and all that corrected or struck it.

        In the order in which they supersede each other: the last one stands.
        """
        first = self.entry(self.entry(name).first)
        later = self._read(
            "select line from entry where corrects = ? order by recorded, book, seq",
            (first.name,),
        )
        return [first, *later]

    def histories(self, firsts: Iterable[str]) -> dict[str, list[Entry]]:
        """The histories of matters by the names of their first entries, read at once.

        A name of which the record holds nothing has none.
        """
        names = dict.fromkeys(firsts)
        if not names:
            return {}
        split = dumps([name.rpartition("/") for name in names])
        found = self._read(
            "select e.line from json_each(?) n cross join entry e "
            "on e.book = n.value ->> 0 and e.seq = cast(n.value ->> 2 as integer)",
            (split,),
        )
        made = {entry.name: [entry] for entry in found if entry.name in names}
        for entry in self._read(
            "select e.line from json_each(?) n cross join entry e "
            "on e.corrects = n.value order by e.recorded, e.book, e.seq",
            (dumps(list(names)),),
        ):
            made.setdefault(entry.first, []).append(entry)
        return made

    def standing(self, name: str) -> Entry:
        """What stands now of the matter that ``name`` belongs to."""
        return self.history(name)[-1]

    def mentioning(self, *codes: str, every_version: bool = False) -> list[Entry]:
        """Every standing entry that names one of these codes, as it happened.

        With ``every_version`` also what was corrected or struck since: what may be
        used is judged by the strictest of them.
        """
        standing = "" if every_version else f"and {STANDING}"
        return self._read(
            "select e.line from entry e where (e.book, e.seq) in "
            f"(select book, seq from mention where code in ({_marks(codes)})) "
            f"{standing} order by e.happened, e.recorded, e.book, e.seq",
            codes,
        )

    def versions(
        self, kinds: Iterable[str], *, since: datetime, before: datetime
    ) -> list[Version]:
        """Every version of these kinds that happened in [since, before)."""
        wanted = tuple(kinds)
        return self._versions(
            f"e.kind in ({_marks(wanted)}) and e.happened >= ? and e.happened < ?",
            (*wanted, ceil(since.timestamp()), ceil(before.timestamp())),
        )

    def versions_naming(self, *codes: str) -> list[Version]:
        """Every version that names one of these codes, as it happened."""
        return self._versions(
            "(e.book, e.seq) in "
            f"(select book, seq from mention where code in ({_marks(codes)}))",
            codes,
        )

    def latest(
        self,
        kind: str,
        code: str,
        *,
        before: datetime,
        most: int = 1,
        having: str | None = None,
    ) -> list[Entry]:
        """The last entries of a kind that name a code, every version, newest first.

        They happened before a moment, and say the field ``having``, where one is
        wanted. Only the mentions of the code by that kind are read.
        """
        said = f"$.body.{having}" if having else "$.book"
        return self._read(
            "select e.line from mention m cross join entry e "
            "on e.book = m.book and e.seq = m.seq "
            "where m.code = ? and m.kind = ? and e.happened < ? "
            "and json_extract(e.line, ?) is not null "
            "order by e.happened desc, e.recorded desc, e.book desc, e.seq desc "
            "limit ?",
            (code, kind, ceil(before.timestamp()), said, most),
        )

    def newest(self, kind: str) -> Entry | None:
        """The standing entry of a kind that happened last; one step in the index."""
        found = self._read(
            f"select e.line from entry e where e.kind = ? and {STANDING} "
            "order by e.happened desc, e.recorded desc, e.book desc, e.seq desc "
            "limit 1",
            (kind,),
        )
        return found[0] if found else None

    def unanswered(self, kind: str, ended_by: str) -> list[Entry]:
        """The first entries of a kind that no standing ``ended_by`` entry names.

        So open holds are read, and open actions: striking or correcting one never
        ends it, only an answer that stands.
        """
        found = self._read(
            "select line from entry where (book, seq) in ("
            "select e.book, e.seq from entry e where e.kind = ? and not exists ("
            "select 1 from mention m join entry c on c.book = m.book and c.seq = m.seq "
            "where m.code = e.book || '/' || e.seq and m.kind = ? "
            f"and {stands('c')})) "
            "and corrects is null order by happened, recorded, book, seq",
            (kind, ended_by),
        )
        if self.noted is not None:
            self.noted.asked.add((kind, ended_by))
        return found

    def file(self, digest: str) -> bytes | None:
        """The bytes of an attached file by its SHA-256."""
        found = self._all(
            "select cast(bytes as blob) from attachment where sha256 = ?", (digest,)
        )
        content = bytes(found[0][0]) if found else None
        if self.noted is not None and content is not None:
            self.noted.files[digest] = content
        return content

    def _versions(self, which: str, given: tuple[object, ...]) -> list[Version]:
        rows = self._all(
            f"select e.line, {STANDING} from entry e where {which} "
            "order by e.happened, e.recorded, e.book, e.seq",
            given,
        )
        entries = self._entries_of([line for line, _ in rows])
        return [
            Version(entry, bool(stands))
            for entry, (_, stands) in zip(entries, rows, strict=True)
        ]

    def _read(self, sql: str, given: tuple[object, ...] = ()) -> list[Entry]:
        return self._entries_of([line for (line,) in self._all(sql, given)])

    def _entries_of(self, lines: list[str]) -> list[Entry]:
        """Every line that a reader is given passes here, so that it can be noted."""
        try:
            made = [self._entry_of(line) for line in lines]
        except NotALine as odd:
            raise unreadable(self.path, f"{odd} is no entry") from odd
        if self.noted is not None:
            self.noted.take(made, lines)
        return made

    def _all(self, sql: str, given: tuple[object, ...] = ()) -> list[Any]:
        with translated(self.path):
            return self.db.execute(sql, given).fetchall()


# a leap from book to book over the primary key; "group by book" reads every line
_HEADS = """with recursive book(name) as (
  select min(book) from entry
  union all
  select (select min(book) from entry where book > name) from book
  where name is not null)
select name, e.seq, e.hash from book join entry e
  on e.book = name and e.seq = (select max(seq) from entry where book = name)"""


# a view of that name, or a table that another program fills, might have no end
_NO_TABLES = """select name from sqlite_master
where name in ('entry', 'mention', 'attachment')
  and (type is not 'table' or rootpage is 0)"""


def _marks(values: tuple[str, ...]) -> str:
    return ", ".join("?" * len(values))


def connect(path: Path, *, create: bool = False) -> sqlite3.Connection:
    """A connection on which we alone say where a transaction begins and ends."""
    mode = "rwc" if create else "rw"
    connection = sqlite3.connect(
        f"{path.resolve().as_uri()}?mode={mode}", uri=True, isolation_level=None
    )
    connection.setlimit(sqlite3.SQLITE_LIMIT_LENGTH, LONGEST_VALUE_BYTES)
    connection.execute(f"pragma busy_timeout = {WAIT_MS}")
    return connection
