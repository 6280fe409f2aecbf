"""The trend of a sample point as a drawing for a page, with a text in its place.

Every sign is told apart by its shape, so that a black-and-white copier loses nothing.
A result such as ``<1`` stands at its level as a triangle that points down, one such
as ``>200`` as one that points up.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from itertools import pairwise
from string import ascii_uppercase
from typing import Final, NamedTuple
from xml.sax.saxutils import escape

from hygiene.water.axis import Axis, axis_for, near
from hygiene.water.trend import Reading, Trend, in_words

WIDTH: Final = 680.0
HEIGHT: Final = 220.0
LEFT: Final = 58.0
RIGHT: Final = 96.0
TOP: Final = 22.0
BOTTOM: Final = 30.0
SIZE: Final = 3.4
INK: Final = "#1b1b1b"
QUIET: Final = "#8a8a8a"
ALARM: Final = "#a02020"
DOTS: Final = (
    f'fill="none" stroke="{INK}" stroke-width="{SIZE * 1.6 + 1:.2f}" '
    'stroke-linecap="round"'
)
"""Dots are lines of no length with round ends: a hundred of them are one path."""


class Figure(NamedTuple):
    """A drawing: its SVG, and the text that stands in place of it."""

    svg: str
    alternative: str


def trend_figure(trend: Trend) -> Figure:
    """Draw a trend: its readings, limits, and where the sanitiser was another."""
    words = in_words(trend)
    drawing = _Drawing(trend)
    parts = "".join(drawing.parts())
    svg = (
        f'<svg xmlns="http://www.w3.org/2000/svg" role="img" '
        f'viewBox="0 0 {WIDTH:g} {HEIGHT:g}" width="100%" font-size="9" '
        f'fill="{INK}"><title>{escape(trend.name)}</title>'
        f"<desc>{escape(words)}</desc>{parts}</svg>"
    )
    return Figure(svg, words)


class _Drawing:
    def __init__(self, trend: Trend) -> None:
        self.trend = trend
        self.values = [r.value for r in trend.history if r.value is not None]
        self.bounds = [b for b in trend.bounds if near(b.value, self.values)]
        every = [*self.values, *(b.value for b in self.bounds)]
        self.axis: Axis = axis_for(every, counted=trend.counted)
        self.first, self.last = trend.history[0].at, trend.history[-1].at

    def parts(self) -> Iterator[str]:
        yield from self._frame()
        yield from self._limits()
        yield from self._changes()
        yield self._thread()
        yield from self._signs()

    def _x(self, at: datetime) -> float:
        whole = (self.last - self.first).total_seconds()
        part = (at - self.first).total_seconds() / whole if whole else 0.5
        return LEFT + 8 + part * (WIDTH - LEFT - RIGHT - 16)

    def _y(self, value: float) -> float:
        return TOP + (1 - self.axis.place(value)) * (HEIGHT - TOP - BOTTOM)

    def _of(self, reading: Reading) -> float:
        if reading.value is not None:
            return self._y(reading.value)
        return self._y(self.axis.high if reading.above else self.axis.low)

    def _frame(self) -> Iterator[str]:
        end, foot = WIDTH - RIGHT, HEIGHT - BOTTOM
        for value in self.axis.marks():
            y = self._y(value)
            yield _line(LEFT, y, end, y, "#dddddd", 0.5)
            yield _text(LEFT - 5, y + 3, f"{value:g}", "end")
        yield _line(LEFT, foot, end, foot, INK, 0.8)
        unit = f", {self.trend.unit}" if self.trend.unit else ""
        yield _text(LEFT, TOP - 10, f"{self.trend.name}{unit}", "start")
        yield _text(self._x(self.first), foot + 13, _day(self.first), "start")
        if self.last.date() != self.first.date():
            yield _text(self._x(self.last), foot + 13, _day(self.last), "end")

    def _limits(self) -> Iterator[str]:
        for bound in self.bounds:
            y = self._y(bound.value)
            yield _line(LEFT, y, WIDTH - RIGHT, y, ALARM, 0.9, "6 3")
            how = "at most" if bound.most else "at least"
            yield _text(WIDTH - RIGHT + 5, y + 3, f"{bound.value:g} {how}", "start")

    def _changes(self) -> Iterator[str]:
        for letter, change in zip(ascii_uppercase, self.trend.changes, strict=False):
            x = self._x(change.at)
            yield _line(x, TOP, x, HEIGHT - BOTTOM, INK, 0.8, "1.5 3")
            yield _text(
                x + 3, TOP + 8, f"{letter} {change.was} → {change.now}", "start"
            )

    def _thread(self) -> str:
        """A quiet line between neighbours that are both plain numbers."""
        way = "".join(
            f"M{self._x(before.at):.1f} {self._of(before):.1f}"
            f"L{self._x(after.at):.1f} {self._of(after):.1f}"
            for before, after in pairwise(self.trend.history)
            if before.sign == after.sign == "=" and None not in (before[1], after[1])
        )
        style = f'fill="none" stroke="{QUIET}" stroke-width="0.7"'
        return f'<path d="{way}" {style}/>' if way else ""

    def _signs(self) -> Iterator[str]:
        """Every sign; those that look alike are one path, since a page costs by its
        parts."""
        alike: dict[str, list[str]] = {}
        for reading in self.trend.history:
            shape, style = self._sign(reading)
            alike.setdefault(style, []).append(shape)
            if not reading.trusted:
                x, y = self._x(reading.at), self._of(reading)
                yield _text(x + 4, y - 3, "?", "start")
        for style, shapes in alike.items():
            yield f'<path d="{"".join(shapes)}" {style}/>'

    def _sign(self, reading: Reading) -> tuple[str, str]:
        """The shape of a reading, and how it is painted."""
        x, y = self._x(reading.at), self._of(reading)
        out = reading.verdict in ("over", "under")
        ink = ALARM if out else INK
        painted = f'fill="{ink if out else "#ffffff"}" stroke="{ink}" stroke-width="1"'
        if reading.above or reading.below:
            return _triangle(x, y, down=reading.below), painted
        if out:
            return _square(x, y), f'fill="{ink}"'
        if not reading.trusted:
            return _ring(x, y), painted
        return f"M{x:.1f} {y:.1f}h0.01", DOTS


KEY: Final = (
    "Dot: within its limit. Square: out of limit. Triangle pointing down: less than "
    "the level at which it stands; pointing up: more than it; filled: out of limit. "
    "Open dot, or a question mark: not to be relied on (kit out of date, or nobody "
    "trained). Dashed line: a limit. Dotted line: the sanitiser changed."
)
"""What the signs say, to be printed once with the figures."""


def _day(at: datetime) -> str:
    return f"{at.day} {at:%b %Y}"


def _line(
    x1: float, y1: float, x2: float, y2: float, ink: str, width: float, dashes: str = ""
) -> str:
    dashed = f' stroke-dasharray="{dashes}"' if dashes else ""
    return (
        f'<line x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}" '
        f'stroke="{ink}" stroke-width="{width:g}"{dashed}/>'
    )


def _text(x: float, y: float, text: str, anchor: str) -> str:
    return f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}">{escape(text)}</text>'


def _ring(x: float, y: float) -> str:
    far = SIZE * 0.8
    arc = f"a{far:g} {far:g} 0 1 0 "
    return f"M{x - far:.1f} {y:.1f}{arc}{2 * far:g} 0{arc}{-2 * far:g} 0Z"


def _triangle(x: float, y: float, *, down: bool) -> str:
    tip, base = (y + SIZE, y - SIZE) if down else (y - SIZE, y + SIZE)
    return f"M{x - SIZE:.1f} {base:.1f}H{x + SIZE:.1f}L{x:.1f} {tip:.1f}Z"


def _square(x: float, y: float) -> str:
    half = SIZE * 0.9
    return f"M{x - half:.1f} {y - half:.1f}h{2 * half:g}v{2 * half:g}h{-2 * half:g}Z"
