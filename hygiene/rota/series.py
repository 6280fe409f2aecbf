"""The rota as series for a calendar: each a rule of RFC 5545 with its first moment.

A series and not single events: a calendar then follows a clock change by itself (07:00
stays 07:00), a year is a dozen entries instead of four thousand, and a second import
puts a change in place of what was there instead of beside it. A season, an end or a
later version cuts a series short or begins another, so that its days are the rota's.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, date, datetime, time, timedelta
from typing import NamedTuple

from hygiene.rota.recurrence import LOOK_DAYS, Rule
from hygiene.rota.schedule import Due, Rota, Task

_DAY = timedelta(days=1)


class Series(NamedTuple):
    """One task at one time of day, from its first due on.

    ``stretch`` is the first day of its season, or None; with the task and the time of
    day it says which series this is. ``rule`` has neither UNTIL nor COUNT; ``last`` is
    the last due, or None where no end is known.
    """

    task: Task
    at: time
    stretch: date | None
    first: datetime
    rule: str
    last: datetime | None

    @property
    def text(self) -> str:
        """The whole rule; UNTIL is in UTC, since the first moment has a zone (RFC 5545
        3.3.10).
        """
        if self.last is None:
            return self.rule
        return f"{self.rule};UNTIL={self.last.astimezone(UTC):%Y%m%dT%H%M%SZ}"


def series(rota: Rota) -> list[Series]:
    """Every series of the rota, by task, time of day and season."""
    return list(_series(rota))


def _series(rota: Rota) -> Iterator[Series]:
    found: dict[tuple[str, time, date | None], Series] = {}
    for task in rota.tasks:  # oldest first: what a later version says replaces it
        for at in task.at if task.rule else ():
            for first, last in _stretches(rota, task):
                made = _one(rota, task, at, first, last)
                if made is not None:
                    found[task.code, at, first] = made
    yield from found.values()


def _stretches(rota: Rota, task: Task) -> Iterator[tuple[date | None, date | None]]:
    """The seasons in which the task is asked for; (None, None): always."""
    season = rota.hours[-1].season if task.season == "running" else ()
    if not season:
        yield None, None
    yield from season


def _one(
    rota: Rota, task: Task, at: time, first: date | None, last: date | None
) -> Series | None:
    rule = task.rule
    if rule is None:
        return None
    begin = max(first or date.min, rota.day_of(task.from_), rule.starts)
    ends = [last, rota.day_of(task.until) if task.until else None, _rule_ends(rule)]
    end = min((day for day in ends if day is not None), default=None)
    opening = _first(rota, task, at, begin, end)
    if opening is None:
        return None
    closing = _last(rota, task, at, opening.day, end) if end else None
    return Series(task, at, first, opening.at, _bare(rule), closing and closing.at)


def _rule_ends(rule: Rule) -> date | None:
    if rule.times is None:
        return rule.until
    return list(rule.days(rule.starts))[-1]


def _bare(rule: Rule) -> str:
    return rule._replace(times=None, until=None).text


def _first(
    rota: Rota, task: Task, at: time, begin: date, end: date | None
) -> Due | None:
    for days in LOOK_DAYS:
        until = begin + days * _DAY
        for due in rota.of_task(task, begin, min(until, end) if end else until):
            if _is_at(rota, due, at):
                return due
    return None


def _last(rota: Rota, task: Task, at: time, begin: date, end: date) -> Due | None:
    for days in (*LOOK_DAYS, (end - begin).days):
        start = max(begin, end - days * _DAY)
        found = [d for d in rota.of_task(task, start, end) if _is_at(rota, d, at)]
        if found:
            return found[-1]
    return None


def _is_at(rota: Rota, due: Due, at: time) -> bool:
    moment: datetime = rota.hours_on(due.day).at(due.day, at)
    return moment == due.at
