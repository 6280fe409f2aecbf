"""The grid of each month in as few boxes as can be: a row is two cells, and its days
are lines of one text, with the time of day before and what was done behind.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Final, NamedTuple

from hygiene.reports import month
from hygiene.reports.marks import MARKS, NOT_RUNNING, NOTHING_DUE, OWN_WORK, Mark
from hygiene.reports.words import short

TIME: Final = 6
"""So many letters stand before the days."""
DONE: Final = 11
"""So many stand behind them."""


class Grid(NamedTuple):
    """A month: ``head`` and ``rows`` are texts in letters of one width.

    ``width`` and ``weekends`` count letters of the whole text.
    """

    title: str
    summary: str
    head: str
    rows: tuple[tuple[str, str], ...]
    width: int
    weekends: tuple[tuple[int, int], ...]


class Grids(NamedTuple):
    """The chapter: its months, what its signs mean, and whose initials stand there."""

    months: tuple[Grid, ...]
    key: tuple[Mark, ...]
    labels: tuple[tuple[str, str], ...]
    narrow: bool


def grids(page: month.Page) -> Grids | None:
    """The months of a page of theirs; None where no task was due."""
    months = [one for one in page.months if one.rows]
    if not months:
        return None
    seen = {status for one in months for status in one.statuses}
    marks = [mark for status, mark in MARKS.items() if status in seen and mark.sign]
    own = [OWN_WORK] if any(OWN_WORK.sign in one.looks for one in months) else []
    return Grids(
        tuple(map(_grid, months)),
        tuple(dict.fromkeys([*marks, NOTHING_DUE, NOT_RUNNING, *own])),
        tuple((page.labels.get(p.code, p.code), short(p.name)) for p in page.who),
        page.narrow,
    )


def _grid(one: month.Month) -> Grid:
    return Grid(
        one.title,
        one.summary,
        f"{'':{TIME}}{one.letters}\n{'At':{TIME}}{one.numbers}{'Done':>{DONE}}",
        tuple(_rows(one)),
        TIME + one.width + DONE,
        tuple((left + TIME, right + TIME) for left, right in one.weekends),
    )


def _rows(one: month.Month) -> Iterator[tuple[str, str]]:
    for row in one.rows:
        times, days = row.times.split("\n"), row.days.split("\n")
        yield row.title, "\n".join(_lines(times, days, row.done, one.width))
    if one.looks:
        yield "Second look at the day", f"{'':{TIME}}{one.looks}".rstrip()


def _lines(
    times: list[str], days: Iterable[str], done: str, width: int
) -> Iterator[str]:
    for place, line in enumerate(days):
        time = times[place] if place < len(times) else ""
        text = f"{time:{TIME}}{line:{width}}" + ("" if place else f"{done:>{DONE}}")
        yield text.rstrip()
