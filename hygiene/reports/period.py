"""A stretch of civil days, and how it is said: both ends are always included."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from typing import NamedTuple


class Period(NamedTuple):
    """Days from ``first`` to ``last``, both included."""

    first: date
    last: date

    @property
    def days(self) -> list[date]:
        """Every day of the period."""
        length = (self.last - self.first).days + 1
        return [self.first + timedelta(days=n) for n in range(length)]

    @property
    def title(self) -> str:
        """The period at its shortest: a day, a month by its name, or both ends."""
        if self.first == self.last:
            return long_day(self.first)
        if self == month_of(self.first):
            return f"{self.first:%B %Y}"
        if self.first.year != self.last.year:
            return f"{plain_day(self.first)} to {plain_day(self.last)}"
        if self.first.month != self.last.month:
            return f"{self.first.day} {self.first:%B} to {plain_day(self.last)}"
        return f"{self.first.day} to {plain_day(self.last)}"

    @property
    def words(self) -> str:
        """The period so that nobody has to ask whether its last day counts."""
        if self.first == self.last:
            return long_day(self.first)
        if self == month_of(self.first):
            ends = f"{self.first.day} to {plain_day(self.last)}"
            return f"{ends}, both days included"
        return f"{self.title}, both days included"

    def months(self) -> Iterator[Period]:
        """The parts of the period that lie in one calendar month each."""
        first = self.first
        while first <= self.last:
            last = min(month_of(first).last, self.last)
            yield Period(first, last)
            first = last + timedelta(days=1)


def month_of(day: date) -> Period:
    """The calendar month that a day lies in."""
    first = day.replace(day=1)
    after = (first + timedelta(days=31)).replace(day=1)
    return Period(first, after - timedelta(days=1))


def long_day(day: date) -> str:
    """A day with its weekday: Wednesday 25 March 2026."""
    return f"{day:%A} {plain_day(day)}"


def plain_day(day: date) -> str:
    """A day without it: 25 March 2026."""
    return f"{day.day} {day:%B %Y}"


def short_day(day: date) -> str:
    """A day in a narrow place: Wed 25 March."""
    return f"{day:%a} {day.day} {day:%B}"
