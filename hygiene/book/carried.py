r"""Lines that left their record, and what ties them to the heads of their books.

A report carries the lines that it was made from, as they were hashed, and for each
book a *chain*: a starting hash, then a link (the hash of a line) for each line from
the first one that is carried up to the head. Whoever has both can hash the carried
lines, follow the links by ``hash(n) = sha256(hash(n-1) + "\n" + sha256(line n))`` and
must come to the head that the pages print. This module is pure: the text of the chains,
and what does not agree in them.

A link costs some 35 bytes. Where a record is so long that they would be too many, the
longest runs of lines that are left out have none; the chain is then of several parts,
and only the record can tie the parts that do not reach the head.
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
# after N H: the chain's hash once line N of the book was written (0: none was yet).
# + H: the next line is carried in entries.jsonl; the SHA-256 of the line is H.
# - H: the next line is left out; the SHA-256 of the line is H.
# then N H: the chain's hash once line N was written, which must come out, by
#   hash(n) = sha256(hash(n-1) + "\n" + sha256(line n)), hash(0) = sha256(book's name)
# head N H: the last line of the book when this was made, as the pages print it.
"""


class Link(NamedTuple):
    """A line of a book by its hash, and whether the line itself is carried."""

    carried: bool
    hash: str


class Part(NamedTuple):
    """A run of lines: the chain's hash before it, its links, the hash it comes to."""

    after: int
    before: str
    links: tuple[Link, ...]
    comes_to: str

    @property
    def last(self) -> int:
        """The number of its last line."""
        return self.after + len(self.links)


class Chain(NamedTuple):
    """What ties the carried lines of a book to its head."""

    head: Head
    parts: tuple[Part, ...]

    @property
    def reaches_head(self) -> bool:
        """Whether its last part runs up to the head."""
        return bool(self.parts) and self.parts[-1].last == self.head.seq

    def hash_at(self, seq: int) -> str | None:
        """The chain's hash after a line, where the links lead there."""
        for part in self.parts:
            if part.after <= seq <= part.last:
                return followed(part.before, part.links[: seq - part.after])
        return self.head.hash if seq == self.head.seq else None


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
    for part in of.parts:
        told.append(f"after {part.after} {part.before}\n")
        told += [f"{'+' if link.carried else '-'} {link.hash}\n" for link in part.links]
        told.append(f"then {part.last} {part.comes_to}\n")
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
    parts: list[Part] = []
    for n, words in rows:
        match words:
            case ["after", seq, before] if _hash_at(seq, before):
                if parts and int(seq) <= parts[-1].last:
                    raise NotAChain(f"line {n}: it goes back")
                parts.append(_part(int(seq), before, rows))
            case ["head", seq, head] if _hash_at(seq, head):
                if parts and int(seq) < parts[-1].last:
                    raise NotAChain(f"line {n}: the head lies before the last line")
                return Chain(Head(book, int(seq), head), tuple(parts))
            case _:
                raise NotAChain(f"line {n}: it is not as a chain is written")
    raise NotAChain(f"{book!r} has no head: the end is missing")


def _part(after: int, before: str, rows: Iterator[tuple[int, list[str]]]) -> Part:
    links: list[Link] = []
    for n, words in rows:
        match words:
            case ["+" | "-" as sign, hash_] if _HASH.fullmatch(hash_):
                links.append(Link(sign == "+", hash_))
            case ["then", seq, comes_to] if _hash_at(seq, comes_to):
                if int(seq) != after + len(links) or not links:
                    raise NotAChain(f"line {n}: so many lines do not stand there")
                return Part(after, before, tuple(links), comes_to)
            case _:
                raise NotAChain(f"line {n}: it is not as a chain is written")
    raise NotAChain("the end is missing")


def _hash_at(seq: str, hash_: str) -> bool:
    number = seq.isascii() and seq.isdigit() and len(seq) < 19
    return number and _HASH.fullmatch(hash_) is not None
