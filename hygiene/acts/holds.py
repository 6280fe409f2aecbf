"""Holds, and their release: the only thing that ends one."""

from __future__ import annotations

from datetime import datetime

from hygiene.acts.actions import answers_to
from hygiene.book.record import Record
from hygiene.book.writing import Writing
from hygiene.errors import Refused, WronglyPut
from hygiene.kinds.entry import Entry
from hygiene.kinds.find import Release


class NotAHold(WronglyPut):
    """An entry that is no hold."""

    sentence = "{name} is a {kind}, not a hold"


class ReleasedAlready(Refused):
    """A hold that somebody ended."""

    sentence = "refused: {name} was released by {by} ({release})"


class NeedsTheirWord(Refused):
    """After mould, only the vet or the authority ends a hold, by name and paper."""

    sentence = (
        "refused: {name} follows from mould; only the vet or the authority can say "
        "that it may go on"
    )


def release(
    writing: Writing,
    name: str,
    *,
    why: str,
    by: str,
    word_of: str | None = None,
    document: str | None = None,
    happened_at: datetime | None = None,
) -> Entry:
    """End a hold; after mould it needs somebody's word and a document."""
    record = writing.record
    held = record.entry(record.entry(name).first)
    if held.kind != "hold":
        raise NotAHold(
            name=name, kind=held.kind, way_out="list them with: hygiene log hold"
        )
    ended = answers_to(record, held, "release")
    if ended:
        raise ReleasedAlready(name=name, by=ended[-1].by, release=ended[-1].name)
    if _from_mould(record, held) and not (word_of and document):
        raise NeedsTheirWord(
            name=name,
            way_out="add --word-of NAME --document 'letter of DATE'; "
            "do not feed, trim or dilute meanwhile",
        )
    thing = Release(hold=held.name, why=why, word_of=word_of, document=document)
    return writing.add(thing, by=by, happened_at=happened_at)


def _from_mould(record: Record, held: Entry) -> bool:
    """Whether any version of the hold follows from a mould record."""
    causes = {version.get("because") for version in record.history(held.name)}
    return any(record.entry(str(cause)).kind == "mould" for cause in causes - {None})
