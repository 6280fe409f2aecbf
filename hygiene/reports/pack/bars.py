"""Bars by month as a drawing: told apart by shade and outline, never by colour alone.

Beside each drawing its numbers stand in a table, so the text in its place only says
what is drawn, and where the numbers are.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final, NamedTuple
from xml.sax.saxutils import escape

from hygiene.reports.figures import INK, QUIET, Figure

WIDTH: Final = 330.0
HEIGHT: Final = 132.0
TOP: Final = 26.0
FOOT: Final = 26.0
GAP: Final = 0.28
FONT: Final = "DejaVu Sans Condensed, DejaVu Sans, sans-serif"
FILLS: Final = ("#cdd5cf", "#ffffff", "#8a8f8b", "#1d1d1b")
"""Light, white with an outline, grey, and ink: four that a copier keeps apart."""


class Series(NamedTuple):
    """What a part of each bar counts, and which of ``FILLS`` it is drawn with."""

    name: str
    values: tuple[float, ...]
    fill: int


def bars(
    title: str,
    names: Sequence[tuple[str, str]],
    series: Sequence[Series],
    labels: Sequence[str],
) -> Figure:
    """Stacked bars; ``names`` are month and year beneath, ``labels`` stand on top."""
    sums = [sum(values) for values in zip(*(s.values for s in series), strict=True)]
    most = max([*sums, 1e-9])
    told = [s for s in series if any(s.values)]
    words = f"{title}, as bars: {', '.join(s.name for s in told) or 'nothing'}."
    words += " The numbers stand in the table of this chapter."
    drawn = "".join(
        [*_key(told), *_stacks(series, most, labels, sums), *_foot(names)],
    )
    svg = (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH:g} {HEIGHT:g}" '
        f'width="{WIDTH:g}" height="{HEIGHT:g}" font-family="{FONT}" font-size="8" '
        f'fill="{INK}">{drawn}</svg>'
    )
    return Figure(svg, words)


def _step(many: int) -> float:
    return WIDTH / max(many, 6)


def _stacks(
    series: Sequence[Series], most: float, labels: Sequence[str], sums: Sequence[float]
) -> Iterator[str]:
    step, room = _step(len(labels)), HEIGHT - TOP - FOOT
    for place, label in enumerate(labels):
        left, y = place * step + step * GAP / 2, HEIGHT - FOOT
        for each in series:
            high = each.values[place] / most * room
            if high > 0:
                y -= high
                yield _bar(left, y, step * (1 - GAP), high, each.fill)
        yield _text(left + step * (1 - GAP) / 2, y - 3, label if sums[place] else "·")


def _foot(names: Sequence[tuple[str, str]]) -> Iterator[str]:
    step, y = _step(len(names)), HEIGHT - FOOT
    way = f"M0 {y:g}H{step * len(names):.1f}"
    yield f'<path d="{way}" stroke="{INK}" stroke-width="0.8"/>'
    before = ""
    for place, (name, year) in enumerate(names):
        middle = place * step + step / 2
        yield _text(middle, y + 10, name)
        if year != before:
            yield _text(middle, y + 20, year)
        before = year


def _key(series: Sequence[Series]) -> Iterator[str]:
    left = 0.0
    for each in series:
        yield _bar(left, 2, 8, 7, each.fill)
        yield _text(left + 12, 8.5, each.name, "start")
        left += 22 + 4.4 * len(each.name)


def _bar(x: float, y: float, width: float, high: float, fill: int) -> str:
    return (
        f'<rect x="{x:.1f}" y="{y:.1f}" width="{width:.1f}" height="{high:.1f}" '
        f'fill="{FILLS[fill]}" stroke="{QUIET if fill == 0 else INK}" '
        f'stroke-width="0.6"/>'
    )


def _text(x: float, y: float, text: str, anchor: str = "middle") -> str:
    return f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}">{escape(text)}</text>'
