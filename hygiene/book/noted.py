"""What a reader was given of a record: the lines that a report is made from.

While it is noted, everything is read from one moment of the record. To what was given
comes what decided that nothing else was: whatever corrects or strikes a noted entry,
and what answers one where the unanswered were asked for. So the noted lines alone,
asked the same questions, give the same answers.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from typing import NamedTuple

from hygiene.book import chain
from hygiene.book.carried import Carried, Chain, Link, Part, followed
from hygiene.book.record import Head, Record, translated
from hygiene.errors import Damaged
from hygiene.kinds.entry import Entry, read_line

AT_ONCE = 500
"""How many names are asked for in one query."""
MOST_LINKS = 65_536
"""So many line hashes travel in a report at most, some 2.3 MB of them."""


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
    with translated(record.path):
        record.db.execute("begin")
    record.noted = noted = Noted()
    try:
        yield noted
    finally:
        record.noted = None
        record.db.execute("rollback")


def carried(record: Record, noted: Noted, most: int = MOST_LINKS) -> Carried:
    """The noted lines with what decided on them, tied to the heads of the record.

    ``most`` is how many links travel, as far as the longest gaps let it.

    Call it while it is still noted, so that both are of one moment. Raises
    ``DoesNotFit`` where the record's own hashes do not come out.
    """
    keys = settled(record, noted)
    heads = record.heads()
    seqs: defaultdict[str, list[int]] = defaultdict(list)
    for book, seq in keys:
        seqs[book].append(seq)
    spans = _spans(heads, seqs, most)
    with translated(record.path):
        chains = tuple(
            Chain(
                head,
                tuple(
                    _part(record, span, seqs[head.book])
                    for span in spans
                    if span.book == head.book
                ),
            )
            for head in heads
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


class _Span(NamedTuple):
    """The lines of a book from ``first`` to ``last``, both included."""

    book: str
    first: int
    last: int

    @property
    def length(self) -> int:
        """How many lines they are."""
        return self.last + 1 - self.first


def _spans(heads: Iterable[Head], seqs: dict[str, list[int]], most: int) -> list[_Span]:
    """From the first noted line of each book to its head, without the longest gaps."""
    whole = [_Span(h.book, seqs[h.book][0], h.seq) for h in heads if h.book in seqs]
    links = sum(span.length for span in whole)
    left: list[_Span] = []
    gaps = [gap for span in whole for gap in _gaps(span, seqs[span.book])]
    for gap in sorted(gaps, key=lambda gap: (-gap.length, gap)):
        if links <= most:
            break
        links -= gap.length
        left.append(gap)
    return [part for span in whole for part in _without(span, sorted(left))]


def _gaps(span: _Span, seqs: list[int]) -> Iterator[_Span]:
    """The runs of lines that are not noted."""
    for seq, then in zip(seqs, [*seqs[1:], span.last + 1], strict=True):
        if then > seq + 1:
            yield _Span(span.book, seq + 1, then - 1)


def _without(span: _Span, gaps: Iterable[_Span]) -> Iterator[_Span]:
    first = span.first
    for gap in gaps:
        if gap.book == span.book:
            yield _Span(span.book, first, gap.first - 1)
            first = gap.last + 1
    if first <= span.last:
        yield _Span(span.book, first, span.last)


def _part(record: Record, span: _Span, seqs: list[int]) -> Part:
    noted = set(seqs)
    before = _before(record, span)
    links, kept = [], before
    for seq, line, hash_ in record.db.execute(
        "select seq, line, hash from entry where book = ? and seq between ? and ? "
        "order by seq",
        span,
    ):
        links.append(Link(seq in noted, chain.line_hash(line.encode())))
        kept = hash_
    if followed(before, links) != kept or len(links) != span.last + 1 - span.first:
        raise DoesNotFit(
            path=record.path,
            name=f"{span.book}/{span.last}",
            way_out="see what is wrong with: hygiene verify",
        )
    return Part(span.first - 1, before, tuple(links), kept)


def _before(record: Record, span: _Span) -> str:
    if span.first == 1:
        return chain.start(span.book)
    ((found,),) = record.db.execute(
        "select hash from entry where book = ? and seq = ?", (span.book, span.first - 1)
    ).fetchall()
    return str(found)
