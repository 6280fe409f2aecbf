"""The papers that the farm keeps, and every file that the period's entries name.

A file travels inside the PDF under its hash, whole and as it came; a photo is shown as
well. What is missing, odd or too large is said where it would have stood.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from datetime import date, datetime
from hashlib import sha256
from typing import Any, Final, NamedTuple

from hygiene.book.record import Record
from hygiene.kinds.entry import Entry, rows_of
from hygiene.kinds.words import gist
from hygiene.reports.attached import Attached
from hygiene.reports.period import plain_day
from hygiene.reports.pictures import Photo, photo
from hygiene.reports.reading import Matter, Reading
from hygiene.reports.words import clock, plain, short, signed

MOST_BYTES: Final = 40_000_000
"""So much travels inside; a file beyond it is named with its hash, and said."""
MOST_PHOTOS: Final = 48
"""So many photos are shown; the others travel inside all the same."""
LONGEST_PX: Final = 900
SHORT_HASH: Final = 12
ENDINGS: Final = (
    (re.compile(rb"%PDF-"), "pdf"),
    (re.compile(rb"\xff\xd8\xff"), "jpg"),
    (re.compile(rb"\x89PNG"), "png"),
    (re.compile(rb"GIF8"), "gif"),
    (re.compile(rb"II\*\0|MM\0\*"), "tif"),
    (re.compile(rb"PK\x03\x04"), "zip"),
)
"""By what a file begins with, never by its name: that is only a text."""
TEXT: Final = "txt"
OTHER: Final = "bin"
PICTURES: Final = ("jpg", "png", "gif", "tif")
"""Files of these sorts are shown; others are certificates, and as they should be."""


class Paper(NamedTuple):
    """A filed paper: what it is, where it is kept, and when it is looked at again."""

    sort: str
    title: str
    number: str
    dated: str
    review: str
    overdue: bool
    where: str
    entry: str
    inside: str


class Kept(NamedTuple):
    """A file that an entry names.

    ``inside`` is the name under which it travels in the PDF, or empty; ``fault`` then
    says why, or what is odd about it. ``photo`` is set where it is shown.
    """

    name: str
    size: str
    groups: tuple[str, ...]
    inside: str
    fault: str
    when: str
    about: str
    by: str
    entry: str
    photo: Photo | None


class Papers(NamedTuple):
    """Both chapters as values, and the files themselves."""

    papers: tuple[Paper, ...]
    files: tuple[Kept, ...]
    attached: tuple[Attached, ...]


class Found(NamedTuple):
    """The papers in force, and the bytes of each file that is named, by its hash."""

    papers: tuple[Entry, ...]
    contents: Mapping[str, bytes | None]


def gather(record: Record, reading: Reading, end: datetime) -> Found:
    """Read the papers filed by the end of the period, and every file it names."""
    latest: dict[tuple[str, str], Entry] = {}
    for entry in record.entries(["file"], before=end):
        latest[plain(entry.get("sort")), plain(entry.get("title"))] = entry
    papers = tuple(sorted(latest.values(), key=_by_sort))
    named = [*papers, *(e for m in _naming(reading) for e in m.history)]
    contents: dict[str, bytes | None] = {}
    room = MOST_BYTES
    for entry in named:
        for row in rows_of(entry, "attached"):
            digest = plain(row.get("sha256"))
            if digest in contents or room < 0:
                continue
            contents[digest] = record.file(digest)
            room -= len(contents[digest] or b"")
    return Found(papers, contents)


def _by_sort(entry: Entry) -> tuple[str, str]:
    return plain(entry.get("sort")), plain(entry.get("title"))


def _naming(reading: Reading) -> list[Matter]:
    """The matters of the period of which some version names a file."""
    return [
        matter
        for matter in reading.matters
        if matter.first.kind != "file"
        and any(rows_of(version, "attached") for version in matter.history)
    ]


def papers(reading: Reading, found: Found) -> Papers:
    """What the chapters show of them."""
    named: list[tuple[Entry, Mapping[str, Any]]] = [
        (entry, row) for entry in found.papers for row in rows_of(entry, "attached")
    ]
    for matter in _naming(reading):
        seen: dict[str, tuple[Entry, Mapping[str, Any]]] = {}
        for version in matter.history:
            for row in rows_of(version, "attached"):
                seen[plain(row.get("sha256"))] = version, row
        named += seen.values()
    files = tuple(_kept(reading, found, named))
    return Papers(
        tuple(_paper(reading, found, entry) for entry in found.papers),
        files,
        tuple(_attached(found, named)),
    )


def _paper(reading: Reading, found: Found, entry: Entry) -> Paper:
    review = plain(entry.get("review_on"))
    digests = [plain(r.get("sha256")) for r in rows_of(entry, "attached")]
    return Paper(
        plain(entry.get("sort")).replace("-", " ").capitalize(),
        short(plain(entry.get("title")), 200),
        plain(entry.get("number")),
        _day(plain(entry.get("dated"))),
        _day(review),
        bool(review) and review < str(reading.printed_at.date()),
        plain(entry.get("kept_where")),
        entry.name,
        ", ".join(_inside(found, digest) for digest in digests),
    )


def _day(text: str) -> str:
    try:
        return plain_day(date.fromisoformat(text))
    except ValueError:
        return text


def _kept(
    reading: Reading, found: Found, named: Iterable[tuple[Entry, Mapping[str, Any]]]
) -> Iterator[Kept]:
    hours = reading.rota.hours_on(reading.period.last)
    room = MOST_PHOTOS
    for entry, row in named:
        digest = plain(row.get("sha256"))
        content = found.contents.get(digest)
        name = short(plain(row.get("name")) or "without a name", 120)
        made = _photo(content, name) if content and room > 0 else None
        shown = made if made and made.content else None
        room -= shown is not None
        yield Kept(
            name,
            _size(row.get("bytes")),
            tuple(digest[n : n + 8] for n in range(0, len(digest), 8)),
            _inside(found, digest),
            _fault(found, digest, content) or (made.why if made else ""),
            clock(entry.happened_at, hours, reading.period),
            f"{entry.kind.replace('_', ' ')}: {short(gist(entry), 160)}",
            signed(entry),
            entry.name,
            shown,
        )


def _photo(content: bytes, name: str) -> Photo | None:
    """What is shown of it, or why it cannot be; None where it is no picture."""
    pictured = _ending(content) in PICTURES
    return photo(content, name, LONGEST_PX) if pictured else None


def _fault(found: Found, digest: str, content: bytes | None) -> str:
    if digest not in found.contents:
        return "not inside, since the files are too large together: ask the farm for it"
    if content is None:
        return "missing from the record"
    if sha256(content).hexdigest() != digest:
        return "its bytes are not those of its hash: it was changed in the record"
    if _ending(content) == OTHER:
        why = photo(content, "", LONGEST_PX).why
        return why or "of a sort that this program does not know"
    return ""


def _inside(found: Found, digest: str) -> str:
    content = found.contents.get(digest)
    if not content:
        return ""
    return f"file-{sha256(content).hexdigest()[:SHORT_HASH]}.{_ending(content)}"


def _ending(content: bytes) -> str:
    end = next((end for how, end in ENDINGS if how.match(content)), None)
    return end or (TEXT if _text(content) else OTHER)


def _text(content: bytes) -> bool:
    try:
        said = content.decode()
    except UnicodeDecodeError:
        return False
    return all(char.isprintable() or char in "\t\r\n" for char in said)


def _attached(
    found: Found, named: Iterable[tuple[Entry, Mapping[str, Any]]]
) -> Iterator[Attached]:
    given: set[str] = set()
    for entry, row in named:
        digest = plain(row.get("sha256"))
        content, inside = found.contents.get(digest), _inside(found, digest)
        if content and inside not in given:
            given.add(inside)
            yield Attached(
                inside, content, f"A file of the entry {entry.name}", "Supplement"
            )


def _size(given: Any) -> str:
    if not isinstance(given, int) or isinstance(given, bool):
        return "?"
    return f"{given / 1000:,.0f} kB" if given >= 1000 else f"{given} bytes"
