"""A trend drawn in plain characters, eighty columns wide; it survives a pipe."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from string import ascii_uppercase

from hygiene.water.axis import Axis, axis_for, near
from hygiene.water.trend import Bound, Reading, Trend

HEIGHT = 12
GUTTER = 8
MARGIN = 14
"""Room at the right, where a limit says what it is."""
KEY = (
    "o within", "X out of limit", "v less than", "^ more than", "? not to be relied on",
)  # fmt: skip
RANK = "o?v^X"
"""Where two fall on one place, the later one of these is shown."""


def picture(trend: Trend, width: int = 80) -> Iterator[str]:
    """The lines of the picture: readings, limits, and changes of the sanitiser."""
    plot = _Plot(trend, min(width, 100) - GUTTER - MARGIN)
    yield from plot.rows()
    yield from plot.foot()
    yield from _key(width)
    for letter, change in zip(ascii_uppercase, trend.changes, strict=False):
        yield (
            f"  {letter} {change.at:%d %b %Y}: sanitiser {change.was} -> {change.now} "
            f"({change.entry})"
        )
    for bound in trend.bounds:
        if not near(bound.value, plot.values):
            how = "at most" if bound.most else "at least"
            yield f"  limit {bound.value:g} {trend.unit} {how} is off the picture"


def _key(width: int) -> Iterator[str]:
    """What the signs mean, on as many lines as a narrow terminal needs."""
    line = ""
    for sign in KEY:
        if line and len(line) + 3 + len(sign) >= width:
            yield line
            line = ""
        line += f"   {sign}" if line else f"  {sign}"
    yield line


class _Plot:
    def __init__(self, trend: Trend, width: int) -> None:
        self.trend = trend
        self.width = width
        self.values = [r.value for r in trend.history if r.value is not None]
        drawn = [b for b in trend.bounds if near(b.value, self.values)]
        every = [*self.values, *(b.value for b in drawn)]
        self.axis: Axis = axis_for(every, counted=trend.counted)
        self.first, self.last = trend.history[0].at, trend.history[-1].at
        self.grid = [[" "] * width for _ in range(HEIGHT)]
        self.notes = [""] * HEIGHT
        self._draw(drawn)

    def _draw(self, bounds: list[Bound]) -> None:
        for bound in bounds:
            row = self._row(bound.value)
            self.grid[row][::2] = "-" * len(self.grid[row][::2])
            self.notes[row] = f" {bound.value:g} {'most' if bound.most else 'least'}"
        for letter, change in zip(ascii_uppercase, self.trend.changes, strict=False):
            column = self._column(change.at)
            for line in self.grid:
                line[column] = ":"
            self.grid[0][column] = letter
        for reading in self.trend.history:
            self._put(reading)

    def _put(self, reading: Reading) -> None:
        row = self._row(self._height(reading))
        column, mark = self._column(reading.at), symbol(reading)
        self._set(row, column, mark)
        if mark == "X" and reading.above and row > 0:
            self._set(row - 1, column, "^")

    def _set(self, row: int, column: int, mark: str) -> None:
        before = self.grid[row][column]
        if before not in RANK or RANK.index(mark) > RANK.index(before):
            self.grid[row][column] = mark

    def _height(self, reading: Reading) -> float:
        if reading.value is not None:
            return reading.value
        return self.axis.high if reading.above else self.axis.low

    def _row(self, value: float) -> int:
        return round((1 - self.axis.place(value)) * (HEIGHT - 1))

    def _column(self, at: datetime) -> int:
        whole = (self.last - self.first).total_seconds()
        part = (at - self.first).total_seconds() / whole if whole else 0.5
        return round(part * (self.width - 1))

    def rows(self) -> Iterator[str]:
        marks = {self._row(value): value for value in self.axis.marks()}
        for place, row in enumerate(self.grid):
            label = f"{marks[place]:g}" if place in marks else ""
            yield f"{label:>{GUTTER - 2}} |{''.join(row)}{self.notes[place]}".rstrip()

    def foot(self) -> Iterator[str]:
        yield f"{'':>{GUTTER - 2}} +{'-' * self.width}"
        first, last = (f"{at:%d %b %Y}" for at in (self.first, self.last))
        gap = self.width - len(first) - len(last)
        only = self.first.date() == self.last.date()
        ends = first if only else f"{first}{' ' * gap}{last}"
        yield f"{'':>{GUTTER}}{ends}"


def symbol(reading: Reading) -> str:
    """The character of a reading: what matters most about it."""
    if reading.verdict in ("over", "under"):
        return "X"
    if not reading.trusted:
        return "?"
    if reading.above:
        return "^"
    return "v" if reading.below else "o"
