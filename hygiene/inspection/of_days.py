"""Readiness rules on the days themselves: gaps, late, unsigned, unread, never seen.

Each is a small pure function of what was read, and gives the places it found.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import date, datetime, timedelta
from decimal import Decimal
from itertools import pairwise
from typing import Any, Final, NamedTuple

from hygiene.inspection.seen import REVIEW_DAYS, Item, Matter, Seen, shown
from hygiene.kinds.entry import Entry, rows_of, texts_of
from hygiene.kinds.moments import days_after, moment_of, span
from hygiene.rota.day import State
from hygiene.rota.schedule import moment_or_none

AT_ONCE: Final = (
    "dose", "rinse", "sow", "move", "feed", "dispatch", "discard", "mould", "pest",
)  # fmt: skip
"""What is written when it is done; a laboratory's result, say, comes days later."""
LATE_AFTER: Final = timedelta(hours=12)
MINUTES_AHEAD: Final = timedelta(minutes=2)
"""So far two clocks of a farm may differ."""
SAME_IN_A_ROW: Final = 5
TOO_LONG_A_ROW: Final = 15
HARDLY: Final = 0.05
"""How many such rows chance may give at most; common practice, no source."""
SAME_WITHIN: Final = timedelta(days=8)
"""Readings further apart than a week and a day do not count as day after day."""
OFTEN_ENOUGH: Final = Decimal("0.8")
DUES_TO_JUDGE: Final = 5


def gaps(seen: Seen) -> Iterator[Item]:
    """Something was due, its time is over, and nobody wrote anything."""
    for state in seen.states:
        if state.status in ("gap", "overdue"):
            due = state.due
            says = f"{due.code}, due {shown(due.day)} {due.at:%H:%M}"
            yield Item(says, due.day, code=due.code)


def late(seen: Seen) -> Iterator[Item]:
    """It was typed after its time; from a paper that is kept it may be."""
    for state in seen.states:
        entry = state.entry
        if entry is None or entry.kind != "sign_off" or not state.typed_late_by:
            continue
        if "paper" not in texts_of(entry.body, "marks"):
            why = f": {entry.reason}" if entry.reason else ", and nobody says why"
            says = (
                f"{state.due.code} of {shown(state.due.day)}, typed "
                f"{span(state.typed_late_by)} late by {entry.written_by or entry.by}"
            )
            yield Item(says + why, state.due.day, (entry.name,))
    for matter in seen.of(*AT_ONCE):
        entry = matter.versions[0]
        after = _recorded(entry) - moment_of(entry.happened_at)
        if after > LATE_AFTER and _day_of(entry, seen) > seen.day(entry):
            says = (
                f"{entry.kind} of {shown(seen.day(entry))}, typed {span(after)} later"
            )
            yield Item(says, seen.day(entry), (entry.name,))


def _recorded(entry: Entry) -> datetime:
    return moment_of(entry.recorded_at)


def _day_of(entry: Entry, seen: Seen) -> date:
    return _recorded(entry).astimezone(seen.farm.zone).date()


def impossible(seen: Seen) -> Iterator[Item]:
    """Signed before its contact was over, or written before it happened."""
    for matter in seen.matters.values():
        entry = matter.stands
        if entry is None:
            continue
        recorded = min(_recorded(version) for version in matter.versions)
        happened, ended = moment_of(entry.happened_at), None
        if entry.kind == "dose":
            ended = moment_or_none(entry.get("ended_at"))
        if max(happened, ended or happened) <= recorded + MINUTES_AHEAD:
            continue
        day = seen.day(entry)
        says = f"{entry.kind} of {shown(day)}: written before it happened"
        if ended is not None and happened <= recorded + MINUTES_AHEAD:
            says = (
                f"dose of {shown(day)}: a contact of {span(ended - happened)}, signed "
                f"{span(ended - recorded)} before it was over"
            )
        yield Item(says, day, (entry.name,))


class _Value(NamedTuple):
    at: datetime
    value: Decimal
    entry: str


def same_decimals(seen: Seen) -> Iterator[Item]:
    """A reading with a decimal that is the same time after time.

    Whole numbers are passed over, since a strip or a timer shows the same for weeks.
    """
    for name, values in sorted(_streams(seen).items()):
        for run in _runs(values):
            first, last = (
                each.at.astimezone(seen.farm.zone) for each in (run[0], run[-1])
            )
            says = (
                f"{' '.join(name)}: {run[0].value} each of {len(run)} times, "
                f"{shown(first.date())} to {shown(last.date())}"
            )
            entries = tuple(each.entry for each in run)
            yield Item(says, last.date(), entries, name[0])


def _streams(seen: Seen) -> dict[tuple[str, ...], list[_Value]]:
    made: dict[tuple[str, ...], list[_Value]] = {}
    for state in seen.states:
        if state.entry is None or state.entry.kind != "sign_off":
            continue
        for row in rows_of(state.entry.body, "answers"):
            name = (state.due.code, str(row.get("step")), str(row.get("of") or ""))
            _put(made, name, row.get("value"), state.due.at, state.entry)
    for entry in seen.standing("water"):
        for row in rows_of(entry.body, "results"):
            if not entry.get("laboratory"):
                name = ("water", str(entry.get("point")), str(row.get("parameter")))
                _put(made, name, row.get("value"), moment_of(entry.happened_at), entry)
    return made


def _put(
    made: dict[tuple[str, ...], list[_Value]],
    name: tuple[str, ...],
    value: Any,
    at: datetime,
    entry: Entry,
) -> None:
    if isinstance(value, Decimal):
        named = tuple(word for word in name if word)
        made.setdefault(named, []).append(_Value(at, value, entry.name))


def _runs(values: Sequence[_Value]) -> Iterator[list[_Value]]:
    """The rows of one value that chance would hardly give."""
    run: list[_Value] = []
    for each in [*values, None]:
        if each is None or (
            run and (each.value != run[-1].value or each.at - run[-1].at > SAME_WITHIN)
        ):
            if _suspicious(run, values):
                yield run
            run = []
        if each is not None:
            run.append(each)


def _suspicious(run: Sequence[_Value], values: Sequence[_Value]) -> bool:
    """Whether so many alike, with a figure after the point, are hardly chance.

    A pH that is 7.4 every other week may well be it five times running; how often
    the value comes among the others says how likely that is.
    """
    if len(run) < SAME_IN_A_ROW or run[0].value % 1 == 0:
        return False
    others = [each.value for each in values if each not in run]
    if not others or len(run) >= TOO_LONG_A_ROW:
        return True
    share = others.count(run[0].value) / len(others)
    return bool(share ** (len(run) - 1) * len(values) < HARDLY)


def unread(seen: Seen) -> Iterator[Item]:
    """A step that asks for a number has none, or no strength was read of a dose."""
    for state in seen.states:
        entry = state.entry
        if entry is None or entry.kind != "sign_off":
            continue
        asked = {str(s.get("code")) for s in state.due.task.steps if _wants_number(s)}
        given = rows_of(entry.body, "answers")
        lacking = [r for r in given if str(r.get("step")) in asked and "value" not in r]
        if lacking:
            steps = ", ".join(dict.fromkeys(str(row.get("step")) for row in lacking))
            says = f"{state.due.code} of {shown(state.due.day)}: no number for {steps}"
            yield Item(says, state.due.day, (entry.name,))
    yield from _doses_unread(seen)


def _wants_number(step: Mapping[str, Any]) -> bool:
    return step.get("sort") == "reading" and step.get("optional") is not True


def _doses_unread(seen: Seen) -> Iterator[Item]:
    read = {
        name
        for entry in seen.standing("rinse")
        if rows_of(entry.body, "readings")
        for name in texts_of(entry.body, "doses")
    }
    tubs = {
        str(entry.get("tub") or entry.first)
        for entry in seen.standing("dose")
        if rows_of(entry.body, "readings")
    }
    for matter in seen.of("dose"):
        entry = matter.stands
        if entry is None or not _sanitises(seen, entry):
            continue
        tub = str(entry.get("tub") or entry.first)
        if tub not in tubs and not read & set(matter.names):
            says = (
                f"{entry.get('product')} on {shown(seen.day(entry))}: its strength was "
                "never read"
            )
            yield Item(says, seen.day(entry), (entry.name,))


def _sanitises(seen: Seen, dose: Entry) -> bool:
    """Whether the product has a strength on its label, as a sanitiser has."""
    described = seen.farm.last_described("product", str(dose.get("product")))
    return described is not None and described.get("label_min_mg_per_l") is not None


def unsigned(seen: Seen) -> Iterator[Item]:
    """Signed by nobody of the farm, or typed by another and not signed by the doer."""
    own = {
        (name, look.by)
        for look in seen.looks
        for name in texts_of(look.body, "entries")
    }
    for matter in seen.matters.values():
        entry = matter.stands
        if entry is None or entry.kind == "countersign":
            continue
        nobody = seen.farm.last_described("person", entry.by) is None
        if not nobody and not _typed_for(entry):
            continue
        day, kind = seen.day(entry), str(entry.get("task") or entry.kind)
        if nobody:
            says = f"{kind} of {shown(day)}: nobody at the farm signs as {entry.by}"
            yield Item(says, day, (entry.name,))
        elif not any((name, entry.by) in own for name in matter.names):
            who = f"done by {entry.by}, typed by {entry.written_by}"
            says = f"{kind} of {shown(day)}: {who}"
            yield Item(says, day, (entry.name,))


def _typed_for(entry: Entry) -> bool:
    return entry.written_by not in (None, entry.by) and "paper" not in texts_of(
        entry.body, "marks"
    )


def unreviewed(seen: Seen) -> Iterator[Item]:
    """Nobody but the doer has looked at a day's tasks in time."""
    within = seen.body.get("review_days")
    days = within if isinstance(within, int) else REVIEW_DAYS
    until = days_after(seen.today, -days)
    seen_by = _seen_by(seen)
    found: dict[date, list[State]] = {}
    for state in seen.states:
        if state.entry is not None and state.due.day <= until:
            matter = seen.matters.get(state.entry.first)
            if not _looked_at(state.entry, matter, seen_by):
                found.setdefault(state.due.day, []).append(state)
    for day, states in found.items():
        codes = list(dict.fromkeys(state.due.code for state in states))
        says = f"{shown(day)}: no second person saw {', '.join(codes)}"
        entries = tuple(state.entry.name for state in states if state.entry)
        yield Item(says, day, entries)


def _seen_by(seen: Seen) -> dict[str, set[str]]:
    """Who looked at each entry as a second person."""
    made: dict[str, set[str]] = {}
    for look in seen.looks:
        if look.get("how", "countersigned") == "countersigned":
            for name in texts_of(look.body, "entries"):
                made.setdefault(name, set()).add(look.by)
        else:
            # what another typed, and the doer has seen, two people have seen
            for entry in _of_what(seen, look):
                if _typed_for(entry) and look.by == entry.by:
                    made.setdefault(entry.name, set()).add("both")
    return made


def _looked_at(
    entry: Entry, matter: Matter | None, seen_by: Mapping[str, set[str]]
) -> bool:
    names = matter.names if matter else (entry.name, entry.first)
    doers = {entry.by, entry.written_by}
    return any(seen_by.get(name, set()) - doers for name in names)


def _of_what(seen: Seen, look: Entry) -> list[Entry]:
    """What a look names and stands in these days."""
    by_name = {n: m.stands for m in seen.matters.values() for n in m.names}
    found = (by_name.get(name) for name in texts_of(look.body, "entries"))
    return [entry for entry in found if entry is not None]


def own_check(seen: Seen) -> Iterator[Item]:
    """One person did it and checked it."""
    second = _seen_by(seen)
    for look in seen.looks:
        if look.get("how") != "self-reviewed":
            continue
        # the doer's own word on what another typed is a signature, no check
        alone = [e for e in _of_what(seen, look) if not second.get(e.name)]
        if any(not _typed_for(entry) for entry in alone):
            says = f"{shown(seen.day(look))}: {look.by} looked at their own work"
            yield Item(says, seen.day(look), (look.name,))
    for acted in seen.acted:
        last = acted.looks[-1] if acted.looks else None
        if acted.end is None or last is None or last.get("evidence"):
            continue
        if acted.action.by == last.by == acted.end.by:
            says = (
                f"{acted.action.get('problem')}: {last.by} did it, looked again and "
                "closed it"
            )
            yield Item(says, seen.day(acted.end), (acted.action.name, last.name))


def frequency(seen: Seen) -> Iterator[Item]:
    """A task was done clearly less often than its checklist says."""
    done: dict[str, list[bool]] = {}
    for state in seen.states:
        if state.status in ("done", "late", "failed"):
            done.setdefault(state.due.code, []).append(True)
        elif state.status in ("missed", "gap", "overdue"):
            done.setdefault(state.due.code, []).append(False)
    for code, each in sorted(done.items()):
        if len(each) >= DUES_TO_JUDGE and sum(each) < OFTEN_ENOUGH * len(each):
            yield Item(f"{code}: done {sum(each)} of {len(each)} times", code=code)


def clock(seen: Seen) -> Iterator[Item]:
    """Within a book, a line was recorded before the one that stands above it."""
    lines = sorted(seen.lines, key=lambda entry: (entry.book, entry.seq))
    for before, entry in pairwise(lines):
        if (before.book, before.seq + 1) != (entry.book, entry.seq):
            continue
        back = _recorded(before) - _recorded(entry)
        if back > timedelta():
            says = (
                f"{entry.name} was recorded {_clocked(entry)}, {span(back)} before "
                f"{before.name} above it"
            )
            yield Item(says, seen.day(entry), (entry.name,))
    for entry in lines:
        if _recorded(entry) > seen.now + MINUTES_AHEAD:
            says = f"{entry.name} was recorded {_clocked(entry)}, which is yet to come"
            yield Item(says, seen.day(entry), (entry.name,))


def _clocked(entry: Entry) -> str:
    return entry.recorded_at[:16].replace("T", " ")
