"""Corrective actions: opened, looked at again, closed."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from hygiene.acts.resampling import failed_water, later_says, was_a_slip
from hygiene.book.record import Record
from hygiene.book.writing import Writing
from hygiene.errors import Refused, WronglyPut
from hygiene.kinds.action import Close, Recheck
from hygiene.kinds.entry import NO_NEW_SAMPLE, Entry, has_passed


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
    writing: Writing,
    thing: Recheck,
    *,
    by: str,
    happened_at: datetime | None = None,
    written_by: str | None = None,
    reason: str | None = None,
) -> Entry:
    """Write a recheck of an action; of water that nobody sampled again it is marked."""
    first = the_action(writing.record, thing.action)
    if thing.passed and _needs_sample(writing.record, first, thing):
        thing = replace(thing, marks=(NO_NEW_SAMPLE,))
    found = writing.same(thing, by=by, happened_at=happened_at)
    return found or writing.add(
        thing, by=by, happened_at=happened_at, written_by=written_by, reason=reason
    )


def _needs_sample(record: Record, action: Entry, thing: Recheck) -> bool:
    """Whether nothing but words says that water which failed is good now."""
    failed = failed_water(record, action)
    if failed is None:
        return False
    code = str(action.get("step"))
    passed = later_says(record, failed, code)
    if passed is not None:
        return not passed
    # a laboratory's result is not read again with a kit
    read = thing.value is not None and not failed.get("laboratory")
    return not (read or was_a_slip(record, failed, code))


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
    written_by: str | None = None,
    reason: str | None = None,
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
    return writing.add(
        thing, by=by, happened_at=happened_at, written_by=written_by, reason=reason
    )


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
    if not looks or not has_passed(looks[-1]):
        raise NotRechecked(
            name=first.name,
            last=_why_not(looks[-1]) if looks else "",
            way_out=again(record, first),
        )
    return looks[-1]


def _why_not(look: Entry) -> str:
    if look.get("passed") is True:
        return f"; no new sample shows what the last one says ({look.name})"
    return f"; the last one failed ({look.name})"


def again(record: Record, first: Entry) -> str:
    """What to type to look again; water is sampled again, which is its recheck."""
    failed = failed_water(record, first)
    if failed is None:
        return f"look again: hygiene recheck {first.name} --seen TEXT --passed"
    lab = " --lab NAME" if failed.get("laboratory") else ""
    result = f"{first.get('step')}=RESULT"
    return f"sample it again: hygiene water {failed.get('point')} {result}{lab}"
