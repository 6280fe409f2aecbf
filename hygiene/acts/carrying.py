"""What is written about carrying the record: a verified copy, a device that is gone."""

from __future__ import annotations

from pathlib import Path

from hygiene.acts.how import How
from hygiene.acts.roles import need_role
from hygiene.book.record import Head
from hygiene.book.writing import Writing
from hygiene.errors import Unknown, WronglyPut
from hygiene.farm.in_force import in_force
from hygiene.kinds.book import Backup, Gone
from hygiene.kinds.entry import Entry


class NoSuchBook(Unknown):
    """A book that this record does not hold."""

    sentence = "there is no book {given!r} in this record; there are: {known}"


def gone(writing: Writing, how: How, book: str, why: str) -> Entry:
    """Write that the device of a book writes no more, so that nothing more is awaited.

    It is for a manager. Raises ``NoSuchBook``, and ``WronglyPut`` for the book that
    this device writes.
    """
    record = writing.record
    need_role(in_force(record.setup(), writing.clock()), how.by, "set-up")
    heads = {head.book: head.seq for head in record.heads()}
    if book not in heads:
        raise NoSuchBook(given=book, known=", ".join(heads))
    if book == writing.head.book:
        raise WronglyPut(what=f"{book} is the book that this device writes")
    thing = Gone(book_name=book, last_seq=heads[book], why=why)
    return how.retried(writing, thing) or how.add(writing, thing)


def backed_up(
    writing: Writing, how: How, place: Path, heads: list[Head], size_bytes: int
) -> Entry:
    """Write that a copy of the record was made and verified, and where it lies."""
    said = Backup(place=str(place), heads=tuple(map(str, heads)), bytes=size_bytes)
    return how.add(writing, said)
