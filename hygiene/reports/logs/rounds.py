"""What the checklists ask about the subject of a log: how often it was looked at."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import timedelta
from typing import Final

from hygiene.acts.day import EARLY
from hygiene.book.record import Record
from hygiene.kinds.entry import rows_of
from hygiene.reports.logs.told import Told, called
from hygiene.reports.marks import MARKS
from hygiene.reports.period import short_day
from hygiene.reports.reading import Reading, further, span_of
from hygiene.reports.stories import COUNTED, status_of, story
from hygiene.reports.words import count, listed
from hygiene.rota.day import State, states, written
from hygiene.rota.schedule import Task

LATE: Final = timedelta(days=31)
"""So long after the period a round of it is still looked for."""
WRONG: Final = ("failed", "missed")
"""What became of a round that is told in full."""
SILENT: Final = ("gap", "overdue")
"""What is only named by its day: there is nothing to tell."""
MOST_DAYS: Final = 60


def rounds(
    record: Record, reading: Reading, wanted: Callable[[Task], bool]
) -> tuple[State, ...]:
    """What became of each due of these tasks in the period."""
    dues = [d for d in reading.rota.dues(*reading.period) if wanted(d.task)]
    if not dues:
        return ()
    start, end = span_of(reading.rota, reading.period)
    codes = {due.code for due in dues}
    found = record.entries(("sign_off", "miss"), since=start - EARLY, before=end + LATE)
    mine = (entry for entry in found if str(entry.get("task")) in codes)
    return tuple(states(reading.rota, dues, written(mine), reading.printed_at))


def with_rounds(record: Record, reading: Reading, made: Iterable[State]) -> Reading:
    """The reading with the entries of those rounds that are told in full."""
    told = [s.entry for s in made if s.entry is not None and s.status in WRONG]
    return further(record, reading, told)


def rounds_told(reading: Reading, made: Iterable[State]) -> list[Told]:
    """The rounds that failed or were missed with a reason, each to its end."""
    found = []
    for state in made:
        if state.status in WRONG:
            when = (
                f"{short_day(state.due.day)} {state.due.day.year}, {state.due.at:%H:%M}"
            )
            each = story(reading, state, when)
            sign = MARKS[status_of(state)].sign
            wrote = tuple(
                f"Written with it: {called(reading, row.get('wrote'))}"
                for row in rows_of(state.entry or {}, "answers")
                if row.get("wrote")
            )
            found.append(
                Told(
                    sign,
                    when,
                    each.title,
                    (*each.told, *wrote),
                    each.by,
                    each.entry,
                    each.actions,
                )
            )
    return found


def rounds_silent(made: Iterable[State]) -> list[str]:
    """The days on which nothing is written, by task."""
    by_title: dict[str, list[str]] = {}
    for state in made:
        if state.status in SILENT:
            day = state.due.day
            by_title.setdefault(state.due.task.title, []).append(
                f"{day.day} {day:%b %Y}"
            )
    said = []
    for title, days in by_title.items():
        more = len(days) - MOST_DAYS
        rest = f" and {count(more, 'day')} more" if more > 0 else ""
        said.append(f"{title}: {', '.join(days[:MOST_DAYS])}{rest}")
    return said


def rounds_counted(made: Iterable[State]) -> list[str]:
    """How often each of these tasks was due, and what became of it."""
    by_title: dict[str, list[str]] = {}
    for state in made:
        by_title.setdefault(state.due.task.title, []).append(state.status)
    return [
        f"{title}: due {count(len(found), 'time')}, "
        + listed(
            f"{found.count(status):,} {words}"
            for status, words in COUNTED.items()
            if status in found
        )
        + "."
        for title, found in by_title.items()
    ]
