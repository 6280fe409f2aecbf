"""What is read for the page of the day: the list, the gaps, what is open, what is held.

Each question is asked by index, so that the page costs the same in the tenth year.
"""

from collections.abc import Iterable
from datetime import date, datetime, timedelta
from typing import NamedTuple

from hygiene.book.record import Record
from hygiene.kinds.entry import Entry
from hygiene.kinds.moments import moment_of, months_after, stamp
from hygiene.rota.day import State, Written, asked, day_list, states, written
from hygiene.rota.schedule import Due, Rota

LOOK_BACK = timedelta(days=7)
"""How far back the page looks for tasks of which nothing was written."""
DRILL_LOOK_BACK = timedelta(days=400)
DRILL_SOON = timedelta(days=14)
EARLY = timedelta(days=1)
"""A due may be signed this long before its moment at most."""


class Day(NamedTuple):
    """The page of the day, as values."""

    listed: list[State]
    gaps: list[State]
    actions: list[Entry]
    holds: list[Entry]


def read_day(record: Record, rota: Rota, now: datetime) -> Day:
    """Gather the page of the day that ``now`` lies in."""
    today = rota.day_of(now)
    week = rota.dues(today - LOOK_BACK, today - timedelta(days=1))
    dues = asked(rota, now)
    found = answers(record, [*dues.before, *dues.today, *week])
    listed = day_list(rota, dues, found, now)
    known = {state.due.key for state in listed}
    return Day(
        listed,
        [
            state
            for state in states(rota, week, found, now)
            if state.status in ("gap", "overdue") and state.due.key not in known
        ],
        record.unanswered("action", "close"),
        record.unanswered("hold", "release"),
    )


def drill_due(record: Record, now: datetime) -> date | None:
    """The day by which a trace is to be tried out, once it is near or past.

    A year after the last drill, or after the record began; only in a shed that sows.
    """
    due = next_drill(record, now)
    if due > now.date() + DRILL_SOON:
        return None
    return due if record.entries(["sow"], since=now - 4 * LOOK_BACK) else None


def next_drill(record: Record, now: datetime) -> date:
    """A year after the last drill, or after the record began."""
    drills = record.entries(["drill"], since=now - DRILL_LOOK_BACK)
    found = drills[-1:] or record.entries(["opening"])[:1]
    last = [moment_of(e.happened_at).astimezone(now.tzinfo).date() for e in found]
    return months_after(last[0], 12) if last else now.date()


def list_of(record: Record, rota: Rota, now: datetime) -> list[State]:
    """Today's list alone, numbered as on the page."""
    dues = asked(rota, now)
    found = answers(record, [*dues.before, *dues.today])
    return day_list(rota, dues, found, now)


def answers(record: Record, dues: Iterable[Due]) -> Written:
    """The sign-offs and misses that stand about these dues.

    They are found by the mention of their moment, so neither a long record nor a
    busy week makes it slower.
    """
    found = record.mentioning(*{stamp(due.at) for due in dues})
    return written(e for e in found if e.kind in ("sign_off", "miss"))


def about(record: Record, due: Due) -> list[Entry]:
    """What stands about one due: sign-offs and misses, whenever they were written."""
    return list(answers(record, [due]).get(due.key, ()))
