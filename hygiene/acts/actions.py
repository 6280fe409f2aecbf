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


class NotAllSaid(Refused):
    """An incident ends with more than a recheck."""

    sentence = "refused: {name} is an incident; still wanted: {missing}"


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
    cleaned: str | None = None,
    effect: str | None = None,
    happened_at: datetime | None = None,
) -> Entry:
    """Close an action; ``NotRechecked`` unless its last recheck passed.

    An incident wants its cause, the deep clean of what was concerned (an entry, or
    why none was needed) and the effect as well: ``NotAllSaid``.
    """
    first = the_action(writing.record, name)
    ended = answers_to(writing.record, first, "close")
    if ended:
        raise ClosedAlready(name=name, by=ended[-1].by, close=ended[-1].name)
    passed = _passed(writing.record, first)
    _need_all(writing.record, first, cause=cause, cleaned=cleaned, effect=effect)
    thing = Close(
        action=first.name,
        did=did,
        recheck=passed.name,
        cause=cause,
        cleaned=cleaned,
        effect=effect,
    )
    return writing.add(thing, by=by, happened_at=happened_at)


def _need_all(record: Record, first: Entry, **said: str | None) -> None:
    """What an incident, by any of its versions, still wants before it ends."""
    missing = [f"--{key} TEXT" for key, text in said.items() if not text]
    versions = record.history(first.name)
    if missing and any(version.get("incident") is True for version in versions):
        raise NotAllSaid(
            name=first.name,
            missing=", ".join(missing),
            way_out="say what caused it, which entry shows the deep clean (or why none "
            "was needed), and what shows that it helped",
        )


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
