"""Several devices that each write their own book of one farm's record."""

from __future__ import annotations

from pathlib import Path

from shed import Clock, Shed

from hygiene.book.merge import Came, looked_at, merge
from hygiene.book.record import Record
from hygiene.kinds.entry import Entry


def another(shed: Shed, name: str) -> Shed:
    """A device with a copy of the record as it stands, and keys of its own."""
    folder = shed.path.parent / name
    folder.mkdir()
    made = Shed(folder / "farm.db", folder / "keys", Clock(shed.clock.moment))
    made.path.write_bytes(shed.path.read_bytes())
    return made


def own(shed: Shed) -> str:
    """The book that the device writes."""
    (key,) = shed.keys.iterdir()
    return key.stem


def take(mine: Shed, theirs: Shed | Path) -> list[Came]:
    """What ``hygiene merge`` does on one device with the file of another."""
    path = theirs.path if isinstance(theirs, Shed) else theirs
    with mine.to_write() as record, looked_at(path, record) as other:
        return merge(record, other, path)


def read(shed: Shed) -> tuple[object, ...]:
    """All that a reader is told: heads, what stands, what is open, what names what."""
    with shed.to_read() as record:
        return (
            record.heads(),
            record.entries(KINDS),
            record.all_versions(KINDS),
            record.unanswered("hold", "release"),
            record.mentioning("B-1"),
            _files(record),
        )


KINDS = ("opening", "pest", "mould", "hold", "release", "strike")


def _files(record: Record) -> list[str]:
    rows = record.db.execute("select sha256 from attachment order by 1").fetchall()
    return [digest for (digest,) in rows]


def names(entries: list[Entry]) -> list[str]:
    return [entry.name for entry in entries]
