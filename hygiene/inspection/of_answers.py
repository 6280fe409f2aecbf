"""Readiness rules on what went wrong: acted upon, looked at again, closed, not again.

Each is a small pure function of what was read, and gives the places it found.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date, timedelta
from typing import Final

from hygiene.inspection.of_plans import PLAN_MARKS
from hygiene.inspection.seen import Acted, Item, Seen, few, shown
from hygiene.kinds.entry import Entry, rows_of
from hygiene.kinds.moments import moment_of

AGAIN: Final = 3
AGAIN_WITHIN: Final = timedelta(days=30)
"""So often within so many days is the same find again and again; common practice, no
source."""


def no_action(seen: Seen) -> Iterator[Item]:
    """Out of limit, and no corrective action says what was done."""
    for state in seen.states:
        entry = state.entry
        if entry is None or entry.kind != "sign_off":
            continue
        about = seen.about(entry.first)
        for row in rows_of(entry.body, "answers"):
            if row.get("passed") is False and not _acted_on(seen, about, row):
                of = f".{row['of']}" if row.get("of") else ""
                what = f"{state.due.code}.{row.get('step')}{of}"
                says = f"{what} of {shown(state.due.day)} did not pass"
                yield Item(says, state.due.day, (entry.name,))
    for entry in seen.standing("water"):
        yield from _water(seen, entry)


def _acted_on(seen: Seen, about: Iterable[Acted], row: object) -> bool:
    step = row.get("step") if hasattr(row, "get") else None
    wrote = row.get("wrote") if hasattr(row, "get") else None
    return any(acted.action.get("step") in (step, None) for acted in about) or bool(
        isinstance(wrote, str) and seen.about(wrote)
    )


def _water(seen: Seen, entry: Entry) -> Iterator[Item]:
    """A result out of limit is answered by its own action, or by one open by then."""
    at = moment_of(entry.happened_at)
    for row in rows_of(entry.body, "results"):
        if row.get("verdict") in (None, "within"):
            continue
        code, point = row.get("parameter"), entry.get("point")
        if not any(_covers(seen, acted, entry, code, at) for acted in seen.acted):
            day = seen.day(entry)
            says = f"{code} at {point} on {shown(day)}: {row.get('as_written')}"
            yield Item(says, day, (entry.name,))


def _covers(seen: Seen, acted: Acted, entry: Entry, code: object, at: object) -> bool:
    if acted.action.get("step") != code:
        return False
    if acted.about == entry.first:
        return True
    cause = seen.matters.get(acted.about)
    same_point = (
        cause is not None
        and cause.stands is not None
        and cause.stands.get("point") == entry.get("point")
    )
    # a later sample at the point is the second look at what was open there
    return same_point and entry.name in {look.get("evidence") for look in acted.looks}


def open_actions(seen: Seen) -> Iterator[Item]:
    """A corrective action that nobody closed; incidents have a rule of their own."""
    for acted in seen.acted:
        if (
            acted.end is None
            and not acted.incident
            and not _told_elsewhere(seen, acted)
        ):
            yield _open(seen, acted)


def _told_elsewhere(seen: Seen, acted: Acted) -> bool:
    """Whether the rules on plan and practice tell it with what it is about."""
    matter = seen.matters.get(acted.about)
    return matter is not None and bool(matter.marks & PLAN_MARKS)


def open_incidents(seen: Seen) -> Iterator[Item]:
    """An incident that nobody closed: cause, clean, recheck and effect are wanted."""
    for acted in seen.acted:
        if acted.end is None and acted.incident:
            yield _open(seen, acted)


def _open(seen: Seen, acted: Acted) -> Item:
    day = seen.day(acted.action)
    if not acted.looks:
        state = "nobody looked again"
    elif acted.passed:
        state = "put right, not closed"
    else:
        state = "looked at again, not right yet"
    says = f"{acted.action.get('problem')}, since {shown(day)}: {state}"
    return Item(says, day, (acted.action.name,))


def closed_unchecked(seen: Seen) -> Iterator[Item]:
    """An action was closed, and no second look that stands has passed."""
    for acted in seen.acted:
        if acted.end is not None and not acted.passed:
            says = f"{acted.action.get('problem')}: closed without a look that passed"
            yield Item(says, seen.day(acted.end), (acted.action.name, acted.end.name))


def again(seen: Seen) -> Iterator[Item]:
    """The same thing was found three times within thirty days."""
    finds: dict[str, list[tuple[date, str]]] = {}
    for what, entry in _finds(seen):
        finds.setdefault(what, []).append((seen.day(entry), entry.name))
    for what, found in sorted(finds.items()):
        found.sort()
        cluster = _cluster(found)
        if cluster:
            days = few([shown(day) for day, _ in cluster])
            says = f"{what}: {len(cluster)} times within 30 days ({days})"
            yield Item(says, cluster[-1][0], tuple(name for _, name in cluster))


def _finds(seen: Seen) -> Iterator[tuple[str, Entry]]:
    for state in seen.states:
        entry = state.entry
        if entry is not None and entry.kind == "sign_off":
            for row in rows_of(entry.body, "answers"):
                if row.get("passed") is False and not row.get("wrote"):
                    of = f".{row['of']}" if row.get("of") else ""
                    yield f"{state.due.code}.{row.get('step')}{of}", entry
    for entry in seen.standing("mould", "pest"):
        yield _found(entry), entry
    for matter in seen.of("dose"):
        for mark in sorted(matter.marks & PLAN_MARKS):
            if matter.stands:
                yield f"dose {mark.replace('-', ' ')}", matter.stands


def _found(entry: Entry) -> str:
    if entry.kind == "mould":
        return "mould"
    return f"{entry.get('what')}, {entry.get('place')}"


def _cluster(found: list[tuple[date, str]]) -> list[tuple[date, str]]:
    """The largest row of finds that lie within thirty days, if they are three."""
    first = best = end = 0
    for start, (day, _) in enumerate(found):
        while end < len(found) and found[end][0] - day <= AGAIN_WITHIN:
            end += 1
        if end - start > best:
            first, best = start, end - start
    return found[first : first + best] if best >= AGAIN else []
