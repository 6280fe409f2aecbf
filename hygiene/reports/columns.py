"""Rows as lines in letters of one width, each column as wide as what stands in it.

A page costs by its boxes: four hundred rows of nine cells take three seconds to lay
out, the same rows as lines a tenth of that. Each row reads in order aloud, so every
value that needs it carries its own unit.
"""

from __future__ import annotations

import re
import textwrap
import unicodedata
from collections import Counter
from collections.abc import Collection, Iterable, Iterator, Sequence
from itertools import groupby, zip_longest
from typing import Final, NamedTuple

from hygiene.reports.reading import Matter, Reading
from hygiene.rota.schedule import moment_or_none

BETWEEN: Final = "  "
NARROWEST: Final = 10
"""No column is made narrower than so many letters."""
FIGURE: Final = re.compile(r"[\d,]+(\.\d+)?")
DENSE: Final = 60
PARTED: Final = 5
"""Under a month so many lines stand together on a page."""
LONG: Final = 24
"""A longer word than that may be parted, wherever the line ends."""
MOST: Final = 10
"""A day of more lines than that is parted, so that each part stands whole on a page
under its date."""


class Line(NamedTuple):
    """A row as a line of text, and by which verdict it is printed."""

    text: str
    verdict: str


class Day(NamedTuple):
    """The lines of one day, or of a part of it."""

    day: str
    lines: tuple[Line, ...]


class Laid(NamedTuple):
    """Lines as they stand on a page: under what, the line of heads, and the lines."""

    first: str
    head: str
    days: tuple[Day, ...]


def in_time(
    reading: Reading,
    heads: Sequence[str],
    rows: Sequence[tuple[Matter, str, Sequence[str]]],
    room: int,
    *,
    right: Collection[str] = (),
) -> Laid:
    """Rows of a matter, how it is printed and its cells, each line after its time.

    They stand under their days; more of them than ``DENSE`` under their months, where
    each line says its own day, since a box for every day of a year costs seconds.
    """
    dense = len(rows) > DENSE
    at = [_at(reading, matter, dense) for matter, _, _ in rows]
    cells = [(*when, *row) for (_, *when), (_, _, row) in zip(at, rows, strict=True)]
    times = ("Day", "At") if dense else ("At",)
    head, lines = laid_out((*times, *heads), cells, room, right=right)
    placed = (
        (under, "", printed, text)
        for (under, *_), (_, printed, _), text in zip(at, rows, lines, strict=True)
    )
    if dense:
        return Laid("Month", head, by_day(placed, PARTED))
    return Laid("Day", head, by_day(placed))


def _at(reading: Reading, matter: Matter, dense: bool) -> tuple[str, ...]:
    """What a line stands under, and what of its moment it says itself."""
    day, time = day_and_time(reading, matter)
    moment = moment_or_none(matter.said.happened_at)
    if not dense or moment is None:
        return (day, "", time) if dense else (day, time)
    local = moment.astimezone(reading.rota.hours_on(reading.period.last).zone)
    return f"{local:%b %Y}", f"{local:%a} {local.day:>2}", time


def day_and_time(reading: Reading, matter: Matter) -> tuple[str, str]:
    """The day and the time of a matter by the farm's clock, in few letters."""
    moment = moment_or_none(matter.said.happened_at)
    if moment is None:
        return "?", "?"
    first, last = reading.period
    local = moment.astimezone(reading.rota.hours_on(last).zone)
    year = "" if first.year == last.year == local.year else f" {local:%y}"
    return f"{local:%a} {local.day} {local:%b}{year}", f"{local:%H:%M}"


def by_day(
    rows: Iterable[tuple[str, str, str, str]], most: int = MOST
) -> tuple[Day, ...]:
    """Rows of day, time, verdict and text, gathered into their days."""
    made = []
    for day, some in groupby(rows, key=lambda row: row[0]):
        lines = [Line(text, verdict) for _, _, verdict, text in some]
        parts = (lines[n : n + most] for n in range(0, len(lines), most))
        made += [Day(day, tuple(part)) for part in parts]
    return tuple(made)


def laid_out(
    heads: Sequence[str],
    rows: Sequence[Sequence[str]],
    room: int,
    *,
    right: Collection[str] = (),
) -> tuple[str, list[str]]:
    """The head line, and each row as a text, in lines of ``room`` letters at most.

    Where the rows are wider some columns are made narrower, and what is too long goes
    on beneath itself. An empty column is left out. The columns whose heads are in
    ``right`` hold figures, which stand flush right.
    """
    kept = [n for n in range(len(heads)) if any(row[n] for row in rows)]
    shown = [heads[n] for n in kept]
    columns = (
        _by_the_point([row[n] for row in rows])
        if heads[n] in right
        else [row[n] for row in rows]
        for n in kept
    )
    cells = list(zip(*columns, strict=True)) if kept else [()] * len(rows)
    widths = _widths(shown, cells, room)
    flush = [head in right for head in shown]
    head = _line(shown, widths, flush)
    return head, ["\n".join(_lines(row, widths, flush)) for row in cells]


def _by_the_point(cells: Sequence[str]) -> list[str]:
    """Figures that stand under each other by their points; no digit is added."""
    tails = [len(cell) - cell.index(".") if "." in cell else 0 for cell in cells]
    most = max(tails, default=0)
    return [
        cell + "\u00a0" * (most - tail) if FIGURE.fullmatch(cell) else cell
        for cell, tail in zip(cells, tails, strict=True)
    ]


def _widths(
    heads: Sequence[str], rows: Sequence[Sequence[str]], room: int
) -> list[int]:
    """As wide as what stands in each column; where that is too wide, the one is made
    narrower by a letter that adds the fewest lines, so that one long cell does not
    take the room of five hundred short ones.
    """
    lengths = [Counter(len(row[n]) for row in rows) for n in range(len(heads))]
    widths = [
        max(len(head), *found) for head, found in zip(heads, lengths, strict=True)
    ]
    room -= len(BETWEEN) * (len(heads) - 1)
    words = [_longest(row[n] for row in rows) for n in range(len(heads))]
    for longest in (words, [0] * len(heads)):  # a code is parted only where it must be
        least = [
            max(len(head), NARROWEST, word)
            for head, word in zip(heads, longest, strict=True)
        ]
        while sum(widths) > room:
            able = [n for n in range(len(heads)) if widths[n] > least[n]]
            if not able:
                break
            widths[min(able, key=lambda n: _cost(lengths[n], widths[n]))] -= 1
    return widths


def _longest(cells: Iterable[str]) -> int:
    """The longest word that should stay whole."""
    words = (len(word) for cell in cells for word in cell.split())
    return max((many for many in words if many <= LONG), default=0)


def _cost(lengths: Counter[int], width: int) -> tuple[int, int]:
    """What one letter less costs a column; the widest first where that is equal.

    A line more costs a tall cell more than a low one, since its row grows by it.
    """
    added = sum(
        many * (_lines_of(length, width - 1) ** 2 - _lines_of(length, width) ** 2)
        for length, many in lengths.items()
    )
    return added, -width


def _lines_of(length: int, width: int) -> int:
    return -(-length // width)


def _lines(
    cells: Sequence[str], widths: Sequence[int], flush: Sequence[bool]
) -> Iterator[str]:
    # a code such as B-K7-12-X is never parted at its hyphens
    wrapped = [
        textwrap.wrap(cell, width, break_on_hyphens=False) or [""]
        for cell, width in zip(cells, widths, strict=True)
    ]
    for parts in zip_longest(*wrapped, fillvalue=""):
        yield _line(parts, widths, flush)


def _line(cells: Sequence[str], widths: Sequence[int], flush: Sequence[bool]) -> str:
    padded = (
        " " * (width - _columns(cell)) + cell
        if right
        else cell + " " * (width - _columns(cell))
        for cell, width, right in zip(cells, widths, flush, strict=True)
    )
    return BETWEEN.join(padded).rstrip()


def _columns(text: str) -> int:
    """How many letters' room a text takes: what is joined to a letter takes none."""
    if text.isascii():
        return len(text)
    return sum(map(_column, text))


def _column(char: str) -> int:
    if unicodedata.category(char) in ("Mn", "Me", "Cf"):
        return 0
    return 2 if unicodedata.east_asian_width(char) in ("W", "F") else 1
