"""A period in a dozen columns at most: its months, or quarters, or years."""

from __future__ import annotations

from datetime import date
from typing import Final, NamedTuple

from hygiene.reports.period import Period

MOST: Final = 13
"""A year that begins within a month lies in thirteen."""


class Bucket(NamedTuple):
    """A column: its name in few letters, the year under it, and its days."""

    name: str
    year: str
    period: Period


def buckets(period: Period) -> tuple[Bucket, ...]:
    """The columns of a period, in order."""
    months = list(period.months())
    for span in (1, 3, 12):
        made = _parted(months, span)
        if len(made) <= MOST:
            break
    return tuple(made)


def _parted(months: list[Period], span: int) -> list[Bucket]:
    found: dict[tuple[int, int], list[Period]] = {}
    for month in months:
        place = (month.first.year, (month.first.month - 1) // span)
        found.setdefault(place, []).append(month)
    return [
        Bucket(
            _name(part[0].first, span),
            str(part[0].first.year) if span < 12 else "",
            Period(part[0].first, part[-1].last),
        )
        for part in found.values()
    ]


def _name(day: date, span: int) -> str:
    if span == 1:
        return f"{day:%b}"
    return f"Q{(day.month - 1) // span + 1}" if span == 3 else str(day.year)


def place_of(columns: tuple[Bucket, ...], day: date) -> int | None:
    """Which column a day lies in; None where it lies in none."""
    for place, column in enumerate(columns):
        if column.period.first <= day <= column.period.last:
            return place
    return None
