"""A record as plain tables: CSV for each kind of entry, JSON lines, Parquet.

It walks the record once, a page at a time, so that its memory does not grow with the
record. A folder is made whole beside its place, and then moved there.
"""

from __future__ import annotations

import secrets
import shutil
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import ExitStack, contextmanager
from datetime import datetime
from pathlib import Path
from typing import Any, NamedTuple, Protocol

from hygiene.book.record import Record
from hygiene.book.stream import file_names, stream
from hygiene.errors import NoRecord, WronglyPut
from hygiene.exchange.table import (
    Column,
    Part,
    Table,
    csv_lines,
    metadata,
    parts_of,
    row_of,
    table_of,
)
from hygiene.kinds import HOMES, kind_class
from hygiene.kinds.entry import Entry, NotALine, read_line
from hygiene.kinds.moments import moment_of
from hygiene.plain_file import replaceable, written_whole

METADATA = "csv-metadata.json"
FILES = "files"
BEGINS = b'{"book":'
"""Of every line of a record."""
STANDS = Column("stands", "boolean", "false: it was corrected or struck since")


class FolderInUse(NoRecord):
    """A folder in which something stands already."""

    sentence = "{path} is there already, and something is in it"


class CannotWriteThere(NoRecord):
    """A folder or a file that cannot be written."""

    sentence = "{path} cannot be written: {what}"


class NotLines(WronglyPut):
    """Another file stands where the lines are to go."""

    sentence = "{path} holds no lines of a record, and is not written over"


class Wanted(NamedTuple):
    """Which entries: kinds, [since, before) by when they happened, every version."""

    kinds: tuple[str, ...] = tuple(HOMES)
    since: datetime | None = None
    before: datetime | None = None
    every_version: bool = False

    @property
    def all(self) -> bool:
        """Whether nothing is left out."""
        return len(self.kinds) == len(HOMES) and not (self.since or self.before)

    def takes(self, entry: Entry) -> bool:
        """Whether an entry is wanted."""
        if entry.kind not in self.kinds:
            return False
        if self.since is None and self.before is None:
            return True
        at = moment_of(entry.happened_at)
        return (self.since is None or at >= self.since) and (
            self.before is None or at < self.before
        )


class Sink(Protocol):
    """Where the rows of one table go; closed when all were given."""

    def put(self, row: Sequence[Any]) -> None:
        """Take one row."""

    def close(self) -> None:
        """Write what is still held."""


class _Csv:
    def __init__(self, folder: Path, table: Table) -> None:
        path = folder / table.file
        self.file = path.open("w", encoding="utf-8", newline="")
        self.table = table
        self.file.writelines(csv_lines(table, ()))

    def put(self, row: Sequence[Any]) -> None:
        lines = csv_lines(self.table, (row,))
        next(lines)
        self.file.writelines(lines)

    def close(self) -> None:
        self.file.close()


class _Kind(NamedTuple):
    """The tables of a kind while they are written."""

    main: Sink
    parts: tuple[tuple[Part, Sink], ...]


def to_tables(
    record: Record,
    folder: Path,
    wanted: Wanted,
    *,
    says: str = "",
    parquet: bool = False,
    files: bool = False,
    told: Callable[[int], None] = lambda done: None,
) -> dict[str, int]:
    """Write a table for each kind of which there is an entry; its rows by its name.

    ``told`` is called now and then with the lines read. Raises ``FolderInUse``,
    ``CannotWriteThere`` or ``NoParquet``.
    """
    opened: Callable[[Path, Table], Sink] = _Csv
    if parquet:
        from hygiene.exchange.parquet import sink_of  # its library is heavy

        opened = sink_of()
    counts: dict[str, int] = {}
    tables: dict[str, Table] = {}
    with _made_whole(folder) as waiting, ExitStack() as stack:

        def sink(table: Table) -> Sink:
            made: Sink = opened(waiting, table)
            stack.callback(made.close)
            tables[table.name], counts[table.name] = table, 0
            return made

        kinds: dict[str, _Kind] = {}
        for entry, stands in _entries(record, wanted, told):
            if entry.kind not in kinds:
                kinds[entry.kind] = _opened(entry.kind, wanted, sink)
            _put(kinds[entry.kind], entry, stands, wanted, counts)
        if not parquet:
            ordered = [tables[name] for name in sorted(tables)]
            (waiting / METADATA).write_bytes(metadata(*ordered, says=says))
        if files:
            _write_files(record, waiting / FILES)
    return dict(sorted(counts.items()))


def _opened(kind: str, wanted: Wanted, sink: Callable[[Table], Sink]) -> _Kind:
    table = table_of(kind)
    if wanted.every_version:
        table = table._replace(columns=(*table.columns, STANDS))
    parts = tuple((part, sink(part.table)) for part in parts_of(kind))
    return _Kind(sink(table), parts)


def _put(
    kind: _Kind, entry: Entry, stands: bool, wanted: Wanted, counts: dict[str, int]
) -> None:
    row = row_of(entry.kind, entry)
    kind.main.put([*row, stands] if wanted.every_version else row)
    counts[entry.kind] += 1
    for part, sink in kind.parts:
        for item in part.rows(entry):
            sink.put(item)
            counts[part.table.name] += 1


def _entries(
    record: Record, wanted: Wanted, told: Callable[[int], None]
) -> Iterator[tuple[Entry, bool]]:
    for done, (line, stands) in enumerate(stream(record), 1):
        if done % 1000 == 0:
            told(done)
        if not (stands or wanted.every_version):
            continue
        try:
            entry = read_line(line)
        except NotALine:
            continue  # damage is told by verify, which names the line
        if wanted.takes(entry):
            yield entry, stands


def to_lines(record: Record, path: Path, wanted: Wanted) -> int:
    """Write the lines themselves, byte for byte, every version; how many.

    Raises ``NotLines`` where another file stands there: the record, for one.
    """
    if not replaceable(path, lambda begins: begins.startswith(BEGINS)):
        raise NotLines(path=path, way_out="name another place: --jsonl FILE")
    count = 0
    try:
        with (
            written_whole(path) as waiting,
            waiting.open("w", encoding="utf-8", newline="") as file,
        ):
            for line, _ in stream(record):
                if wanted.all or wanted.takes(read_line(line)):
                    file.write(line + "\n")
                    count += 1
    except OSError as failure:
        raise _cannot(path, failure) from failure
    return count


def _write_files(record: Record, folder: Path) -> None:
    folder.mkdir()
    for digest in file_names(record):
        (folder / digest).write_bytes(record.file(digest) or b"")


@contextmanager
def _made_whole(folder: Path) -> Iterator[Path]:
    """A folder beside the one that is wanted, which takes its name when all is there.

    Nothing is left of it where anything fails.
    """
    folder = folder.absolute()
    if folder.is_file() or (folder.is_dir() and any(folder.iterdir())):
        raise FolderInUse(path=folder, way_out="name a folder that is not there yet")
    waiting = folder.with_name(f".{folder.name[:80]}.{secrets.token_hex(4)}")
    try:
        waiting.mkdir()
        yield waiting
        if folder.is_dir():
            folder.rmdir()
        waiting.rename(folder)
    except OSError as failure:
        raise _cannot(folder, failure) from failure
    finally:
        shutil.rmtree(waiting, ignore_errors=True)


def _cannot(path: Path, failure: OSError) -> CannotWriteThere:
    what = failure.strerror or failure
    return CannotWriteThere(path=path, what=what, way_out="name another place")


def kinds_named(words: Iterable[str]) -> tuple[str, ...]:
    """The kinds that are named, in the order of the program's list."""
    named = {word.strip().lower().replace("-", "_") for word in words if word.strip()}
    for word in sorted(named):
        kind_class(word)
    return tuple(kind for kind in HOMES if kind in named)
