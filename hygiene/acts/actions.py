"""Corrective actions: opened, looked at again, closed."""

from __future__ import annotations

from datetime import datetime

from hygiene.book.record import Record
from hygiene.book.writing import Writing
from hygiene.errors import Refused, WronglyPut
from hygiene.kinds.action import Close, Recheck
from hygiene.kinds.entry import Entry


class NotAnAction(WronglyPut):
    """An entry that is no corrective action."""

    sentence = "{name} is a {kind}, not a corrective action"


class ClosedAlready(Refused):
    """An action that somebody closed."""

    sentence = "refused: {name} was closed by {by} ({close})"


class NotRechecked(Refused):
    """An action cannot end before a recheck has passed."""

    sentence = "refused: {name} has no recheck that passed{last}"


def the_action(record: Record, name: str) -> Entry:
    """The corrective action of that name; raises ``NotAnAction``."""
    found = record.entry(name)
    if found.kind != "action":
        raise NotAnAction(
            name=name, kind=found.kind, way_out="list them with: hygiene log action"
        )
    return record.entry(found.first)


def answers_to(record: Record, first: Entry, kind: str) -> list[Entry]:
    """The standing entries of a kind that answer an entry by its first name."""
    return [e for e in record.mentioning(first.name) if e.kind == kind]


def look_again(
    writing: Writing, thing: Recheck, *, by: str, happened_at: datetime | None = None
) -> Entry:
    """Write a recheck of an action."""
    the_action(writing.record, thing.action)
    found = writing.same(thing, by=by, happened_at=happened_at)
    return found or writing.add(thing, by=by, happened_at=happened_at)


def close(
    writing: Writing,
    name: str,
    *,
    did: str,
    by: str,
    cause: str | None = None,
    happened_at: datetime | None = None,
) -> Entry:
    """Close an action; ``NotRechecked`` unless its last recheck passed."""
    first = the_action(writing.record, name)
    ended = answers_to(writing.record, first, "close")
    if ended:
        raise ClosedAlready(name=name, by=ended[-1].by, close=ended[-1].name)
    passed = _passed(writing.record, first)
    thing = Close(action=first.name, did=did, recheck=passed.name, cause=cause)
    return writing.add(thing, by=by, happened_at=happened_at)


def _passed(record: Record, first: Entry) -> Entry:
    """The last recheck, if it passed; a failed one after it counts more."""
    looks = answers_to(record, first, "recheck")
    if not looks or looks[-1].get("passed") is not True:
        last = f"; the last one failed ({looks[-1].name})" if looks else ""
        raise NotRechecked(
            name=first.name,
            last=last,
            way_out=f"look again: hygiene recheck {first.name} --seen TEXT --passed",
        )
    return looks[-1]
