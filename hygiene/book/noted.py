"""What a reader was given of a record: the lines that a report is made from.

While it is noted, everything is read from one moment of the record. To what was given
comes what decided that nothing else was: whatever corrects or strikes a noted entry,
and what answers one where the unanswered were asked for. So the noted lines alone,
asked the same questions, give the same answers.
"""

from __future__ import annotations

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterable, Iterator
from contextlib import contextmanager

from hygiene.book import chain
from hygiene.book.carried import Carried, Chain, Link, Links, followed
from hygiene.book.record import Head, Record, translated
from hygiene.errors import Damaged
from hygiene.kinds.entry import Entry, read_line

AT_ONCE = 500
"""How many names are asked for in one query."""
MOST_LINKS = 65_536
"""So many line hashes travel in a report at most, some 2.5 MB of them."""


class DoesNotFit(Damaged):
    """Lines that do not come to the hash which the record keeps for them."""

    sentence = "{path} is damaged: the lines up to {name} do not fit its hash"


class Noted:
    """Lines by book and number, files by hash, and what was asked to be unanswered."""

    def __init__(self) -> None:
        self.lines: dict[tuple[str, int], str] = {}
        self.entries: dict[tuple[str, int], Entry] = {}
        self.files: dict[str, bytes] = {}
        self.asked: set[tuple[str, str]] = set()

    def take(self, entries: Iterable[Entry], lines: Iterable[str]) -> None:
        """Note lines, and what they say."""
        for entry, line in zip(entries, lines, strict=True):
            self.lines[entry.book, entry.seq] = line
            self.entries[entry.book, entry.seq] = entry


@contextmanager
def noting(record: Record) -> Iterator[Noted]:
    """Note what is read inside; a writer waits until it is done."""
    with record.at_one_moment():
        record.noted = noted = Noted()
        try:
            yield noted
        finally:
            record.noted = None


def carried(record: Record, noted: Noted, most: int = MOST_LINKS) -> Carried:
    """The noted lines with what decided on them, tied to the heads of the record.

    Call it while it is still noted, so that both are of one moment. ``most`` is how
    many links travel. Raises ``DoesNotFit`` where the record's own hashes do not come
    out.
    """
    keys = settled(record, noted)
    seqs: defaultdict[str, list[int]] = defaultdict(list)
    for book, seq in keys:
        seqs[book].append(seq)
    with translated(record.path):
        chains = tuple(
            _chain(record, noted, head, seqs[head.book], most // max(len(seqs), 1))
            if head.book in seqs
            else Chain(head)
            for head in record.heads()
        )
    return Carried(tuple(noted.lines[key] for key in keys), chains, dict(noted.files))


def settled(record: Record, noted: Noted) -> list[tuple[str, int]]:
    """Note what answers the noted, where that was asked, and what corrects either.

    Returns the names of all that is noted then, in their order.
    """
    for ended_by in sorted({by for _, by in noted.asked}):
        kinds = {kind for kind, by in noted.asked if by == ended_by}
        names = [e.name for e in noted.entries.values() if e.kind in kinds]
        _note(record, noted, _ANSWERING, names, ended_by)
    firsts = sorted({entry.first for entry in noted.entries.values()})
    _note(record, noted, _CORRECTING, firsts)
    return sorted(noted.lines)


_CORRECTING = "select line from entry where corrects in ({})"
_ANSWERING = """select e.line from entry e where (e.book, e.seq) in
  (select book, seq from mention where code in ({}) and kind = ?)"""


def _note(record: Record, noted: Noted, sql: str, names: list[str], *kind: str) -> None:
    for place in range(0, len(names), AT_ONCE):
        some = names[place : place + AT_ONCE]
        with translated(record.path):
            rows = record.db.execute(
                sql.format(", ".join("?" * len(some))), (*some, *kind)
            ).fetchall()
        lines = [line for (line,) in rows]
        noted.take(map(read_line, lines), lines)


def _chain(
    record: Record, noted: Noted, head: Head, seqs: list[int], most: int
) -> Chain:
    """Links from the first noted line that stands near enough to the head."""
    place = bisect_right(seqs, head.seq - most)
    loose = tuple(
        (seq, chain.line_hash(noted.lines[head.book, seq].encode()))
        for seq in seqs[:place]
    )
    if place == len(seqs):
        return Chain(head, loose)
    linked = _links(record, head, seqs[place] - 1, set(seqs))
    if followed(linked.before, linked.links) != head.hash:
        raise DoesNotFit(
            path=record.path,
            name=f"{head.book}/{head.seq}",
            way_out="see what is wrong with: hygiene verify",
        )
    return Chain(head, loose, linked)


def _links(record: Record, head: Head, after: int, noted: set[int]) -> Links:
    before = chain.start(head.book)
    links = []
    for seq, line, hash_ in record.db.execute(
        "select seq, line, hash from entry where book = ? and seq >= ? order by seq",
        (head.book, after),
    ):
        if seq == after:
            before = hash_
        else:
            links.append(Link(seq in noted, chain.line_hash(line.encode())))
    return Links(after, before, tuple(links))
