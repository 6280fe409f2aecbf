"""Entries about the book itself."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date

from hygiene.kinds.base import CannotBe, Kind
from hygiene.kinds.checks import need_range, need_text

SHA256 = re.compile(r"[0-9a-f]{64}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Opening(Kind):
    """The first entry of a book: which farm's record this is, and why it was opened.

    ``record`` is the same in every book of one farm's record. A demonstration book
    is the only one whose times may be given by the program that fills it.
    """

    kind = "opening"
    record: str
    why: str
    demonstration: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Strike(Kind):
    """An entry ruled through: it stays readable, and no longer stands.

    ``struck`` is the kind of what is ruled through; the envelope's ``corrects``
    names its first entry.
    """

    kind = "strike"
    struck: str

    def __post_init__(self) -> None:
        if self.struck == "opening":
            raise CannotBe(
                key="struck", what="a book's opening cannot be ruled through"
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class Backup(Kind):
    """A copy of the record was made and verified: where it lies, and what it holds.

    ``heads`` are the ends of its books as they are printed, BOOK/SEQ:HASH; ``bytes``
    is the size of the file. The copy itself does not hold this entry, which was
    written once it had been verified.
    """

    kind = "backup"
    place: str
    heads: tuple[str, ...]
    bytes: int

    def __post_init__(self) -> None:
        need_text(self, "place")
        need_range(self, "bytes", 1, 10**15, "bytes")
        if not self.heads:
            raise CannotBe(key="heads", what="a record has at least one book")


@dataclass(frozen=True, slots=True, kw_only=True)
class Gone(Kind):
    """A device writes no more: the book ends at its line ``last_seq``, as far as known.

    Should more of it come by a merge all the same, it is told of again.
    """

    kind = "gone"
    book_name: str
    last_seq: int
    why: str

    def __post_init__(self) -> None:
        need_text(self, "book_name", "why")
        need_range(self, "last_seq", 1, 10**17)


@dataclass(frozen=True, slots=True, kw_only=True)
class Issued(Kind):
    """A report was made, and its file was in place when this was written.

    ``first`` and ``last`` are the days of its period, both included; ``heads`` are
    the ends of the books that it was made from, BOOK/SEQ:HASH, so that it can be made
    again; ``file_sha256`` is that of the whole file.
    """

    kind = "issued"
    report: str
    subject: str | None = None
    first: date
    last: date
    file_name: str
    file_sha256: str
    heads: tuple[str, ...]
    pages: int | None = None

    def __post_init__(self) -> None:
        need_text(self, "report", "subject", "file_name")
        need_range(self, "pages", 1, 100_000, "pages")
        if not SHA256.fullmatch(self.file_sha256):
            raise CannotBe(key="file_sha256", what="is no SHA-256 in 64 hex digits")
        if not self.heads:
            raise CannotBe(key="heads", what="a record has at least one book")
