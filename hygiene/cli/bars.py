"""A small bar of days for each task: what was done, late, left out, as one sign a day.

The signs are plain letters, so that a pipe, a copy and forty columns keep them.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, timedelta
from typing import Any

from hygiene.acts.day import answers
from hygiene.cli.desk import Desk
from hygiene.rota.day import Grid, Mark, grid
from hygiene.rota.schedule import read_rota

WEEK, MONTH = 7, 28
"""Days of a bar: four whole weeks stand beneath each other's weekdays."""
SIGNS = {
    "failed": ("!", "done, and something out of limit"),
    "gap": ("?", "nothing written"),
    "overdue": ("?", "nothing written"),
    "missed": ("x", "not done, with a reason"),
    "due": ("_", "still to do"),
    "not yet": ("_", "still to do"),
    "late": ("+", "done late"),
    "not needed": ("o", "not needed"),
    "done": ("#", "done in time"),
}
"""By status, the worst first: a day with several moments shows the worst of them."""
IDLE = "."
ANSWERED = ("done", "late", "failed")
NAME = 11


def read_bars(desk: Desk, days: int) -> Grid:
    """The days up to today, read by the moments of what was due in them."""
    rota = read_rota(desk.setup)
    last = rota.day_of(desk.now)
    first = last - timedelta(days - 1)
    found = answers(desk.record, rota.dues(first, last))
    return grid(rota, found, first, last, desk.now)


def lines(made: Grid) -> Iterator[str]:
    """The bars as lines of 40 columns at most, with the key of the signs in them."""
    first, last = made.days[0], made.days[-1]
    yield f"{first:%a %d %b} to {last:%a %d %b %Y}, both days"
    yield ""
    if not made.rows:
        yield "Nothing was due."
        return
    wide = 2 if len(made.days) <= WEEK else 1
    yield _line("", (f"{day:%a}"[:wide] for day in made.days), wide)
    for row in made.rows:
        signs = (_sign(cell) for cell in row.cells)
        done, due = _counted(row.cells)
        yield _line(row.code, signs, wide) + (f"  {done} of {due}" if wide > 1 else "")
    yield ""
    yield from _key(made)


def _line(name: str, signs: Iterator[str], wide: int) -> str:
    gap = " " * (wide - 1)
    return f"{name[:NAME]:<{NAME}} " + gap.join(f"{sign:<{wide}}" for sign in signs)


def _sign(cell: Sequence[Mark]) -> str:
    statuses = {mark.status for mark in cell}
    return next((sign for s, (sign, _) in SIGNS.items() if s in statuses), IDLE)


def _counted(cells: Sequence[Sequence[Mark]]) -> tuple[int, int]:
    """How many were done, late or not, of those that were wanted."""
    statuses = [m.status for cell in cells for m in cell if m.status != "not needed"]
    return sum(s in ANSWERED for s in statuses), len(statuses)


def _key(made: Grid) -> Iterator[str]:
    seen = {_sign(cell) for row in made.rows for cell in row.cells}
    told = dict(SIGNS.values()) | {IDLE: "not due"}
    for sign, words in told.items():
        if sign in seen:
            yield f"  {sign}  {words}"


def as_json(made: Grid) -> dict[str, Any]:
    """The bars for a program: each task's statuses by day."""
    return {
        "from": made.days[0],
        "to": made.days[-1],
        "tasks": [
            {
                "task": row.code,
                "title": row.title,
                "days": _by_day(made.days, row.cells),
            }
            for row in made.rows
        ],
    }


def _by_day(
    days: Sequence[date], cells: Sequence[Sequence[Mark]]
) -> dict[str, list[str]]:
    return {
        day.isoformat(): [mark.status for mark in cell]
        for day, cell in zip(days, cells, strict=True)
        if cell
    }
