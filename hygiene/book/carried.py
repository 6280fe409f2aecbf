r"""Lines that left their record, and what ties them to the heads of their books.

A report carries the lines that it was made from, as they were hashed, and for each
book a *chain*: a starting hash, then a link (the hash of a line) for each line from
the first one that is carried up to the head. Whoever has both can hash the carried
lines, follow the links by ``hash(n) = sha256(hash(n-1) + "\n" + sha256(line n))`` and
must come to the head that the pages print. This module is pure: the text of the chains.

A link costs some 38 bytes. Where a record is so long that they would be too many, they
begin later: the carried lines before them are *loose*, known by their own hashes alone,
and only the record can tie them to the head.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from typing import NamedTuple

from hygiene.book import chain
from hygiene.book.record import Head

CHAIN = "chain.txt"
ENTRIES = "entries.jsonl"
_HASH = re.compile(r"[0-9a-f]{64}")
PREFACE = r"""# The lines of entries.jsonl, tied to the head of each book of the record.
# loose N H: line N of the book is carried; the SHA-256 of the line is H. It stands too
#   far before the head for all the hashes between to be here.
# after N H: the chain's hash once line N of the book was written (0: none was yet).
# + H: the next line is carried in entries.jsonl; the SHA-256 of the line is H.
# - H: the next line is left out; the SHA-256 of the line is H.
# head N H: the last line of the book when this was made, and the chain's hash with it,
#   as the pages print it. It must come out of what stands after the word after, by
#   hash(n) = sha256(hash(n-1) + "\n" + sha256(line n)), hash(0) = sha256(book's name)
"""


class Link(NamedTuple):
    """A line of a book by its hash, and whether the line itself is carried."""

    carried: bool
    hash: str


class Links(NamedTuple):
    """Every line up to the head: the number and the chain's hash before the first."""

    after: int
    before: str
    links: tuple[Link, ...]


class Chain(NamedTuple):
    """What ties the carried lines of a book to its head."""

    head: Head
    loose: tuple[tuple[int, str], ...] = ()
    linked: Links | None = None

    def hash_at(self, seq: int) -> str | None:
        """The chain's hash after a line, where the links lead there."""
        if self.linked is not None and self.linked.after <= seq <= self.head.seq:
            run = self.linked.links[: seq - self.linked.after]
            return followed(self.linked.before, run)
        return self.head.hash if seq == self.head.seq else None

    def numbered(self) -> Iterator[tuple[int, Link]]:
        """Every line that is known, by its number."""
        yield from ((seq, Link(True, hash_)) for seq, hash_ in self.loose)
        if self.linked is not None:
            yield from enumerate(self.linked.links, self.linked.after + 1)

    def carried(self) -> Iterator[tuple[int, str]]:
        """The numbers and hashes of the lines that are carried."""
        return ((seq, link.hash) for seq, link in self.numbered() if link.carried)


class Carried(NamedTuple):
    """Lines by (book, seq), the chains of all books, and files that were read."""

    lines: tuple[str, ...]
    chains: tuple[Chain, ...]
    files: Mapping[str, bytes] = {}

    @property
    def heads(self) -> tuple[Head, ...]:
        """The ends of the books, as the pages print them."""
        return tuple(each.head for each in self.chains)

    def entries_text(self) -> bytes:
        """The lines as a file, byte for byte as they were hashed."""
        return "".join(f"{line}\n" for line in self.lines).encode()

    def chain_text(self) -> bytes:
        """The chains as a file, which says how they are read."""
        return (PREFACE + "".join(map(_written, self.chains))).encode()


class NotAChain(Exception):
    """A text that is no chain: at which line, and what is wrong."""


def followed(before: str, links: Iterable[Link]) -> str:
    """The chain's hash after these links."""
    for link in links:
        before = chain.follow_hash(before, link.hash)
    return before


def _written(of: Chain) -> str:
    told = [f"book {of.head.book}\n"]
    told += [f"loose {seq} {hash_}\n" for seq, hash_ in of.loose]
    if of.linked is not None:
        told.append(f"after {of.linked.after} {of.linked.before}\n")
        told += [f"{'+' if c else '-'} {hash_}\n" for c, hash_ in of.linked.links]
    told.append(f"head {of.head.seq} {of.head.hash}\n")
    return "".join(told)


def read_chains(text: str) -> tuple[Chain, ...]:
    """Read the text of chains; raises ``NotAChain`` with the line that is wrong."""
    rows = enumerate(text.split("\n"), 1)
    told = ((n, row.split(" ")) for n, row in rows if row and not row.startswith("#"))
    return tuple(_chains(told))


def _chains(rows: Iterator[tuple[int, list[str]]]) -> Iterator[Chain]:
    books: set[str] = set()
    for n, words in rows:
        if len(words) != 2 or words[0] != "book" or words[1] in books:
            raise NotAChain(f"line {n}: a book is to stand there, once")
        books.add(words[1])
        yield _chain(words[1], rows)


def _chain(book: str, rows: Iterator[tuple[int, list[str]]]) -> Chain:
    loose: list[tuple[int, str]] = []
    start: tuple[int, str] | None = None
    links: list[Link] = []
    for n, words in rows:
        match words:
            case ["+" | "-" as sign, hash_] if start and _HASH.fullmatch(hash_):
                links.append(Link(sign == "+", hash_))
            case ["loose" | "after" as word, seq, hash_] if start is None and _hash_at(
                seq, hash_
            ):
                if loose and int(seq) < loose[-1][0] + (word == "loose"):
                    raise NotAChain(f"line {n}: it goes back")
                if word == "loose":
                    loose.append((int(seq), hash_))
                else:
                    start = (int(seq), hash_)
            case ["head", seq, hash_] if _hash_at(seq, hash_):
                last = start[0] + len(links) if start else loose[-1][0] if loose else 0
                if int(seq) < last or (start and int(seq) != last):
                    raise NotAChain(f"line {n}: so many lines do not lead to it")
                linked = Links(*start, tuple(links)) if start else None
                return Chain(Head(book, int(seq), hash_), tuple(loose), linked)
            case _:
                raise NotAChain(f"line {n}: it is not as a chain is written")
    raise NotAChain(f"{book!r} has no head: the end is missing")


def _hash_at(seq: str, hash_: str) -> bool:
    number = seq.isascii() and seq.isdigit() and len(seq) < 19
    return number and _HASH.fullmatch(hash_) is not None
