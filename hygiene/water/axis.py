"""The upright axis of a picture of readings: what it spans, and its round marks."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Final, NamedTuple

_STEPS: Final = (1.0, 2.0, 2.5, 5.0, 10.0)
FAR: Final = 3.0
"""A limit over so many times the highest reading is left off the picture."""


class Axis(NamedTuple):
    """From ``low`` to ``high``; ``log`` for counts, as log(1 + count)."""

    low: float
    high: float
    log: bool = False

    def place(self, value: float) -> float:
        """Where a value stands, from 0 at the foot to 1 at the top."""
        low, high, at = map(self._scaled, (self.low, self.high, value))
        return min(max((at - low) / (high - low), 0.0), 1.0)

    def _scaled(self, value: float) -> float:
        return math.log10(1 + max(value, 0.0)) if self.log else value

    def marks(self, most: int = 6) -> list[float]:
        """Round values to mark, at most so many."""
        if self.log:
            return [0.0, *(10.0**n for n in range(int(math.log10(self.high)) + 1))]
        step = _round_step((self.high - self.low) / (most - 1))
        first = math.ceil(self.low / step - 1e-9)
        last = math.floor(self.high / step + 1e-9)
        return [round(n * step, 12) for n in range(first, last + 1)]


def axis_for(values: Iterable[float], *, counted: bool = False) -> Axis:
    """An axis that shows these values; it starts at nothing unless they lie far up.

    Counts that reach over 20 are drawn on a log axis.
    """
    found = list(values) or [0.0]
    low, high = min(found), max(found)
    if counted and high > 20:
        return Axis(0.0, 10.0 ** math.ceil(math.log10(high)), log=True)
    if high <= 0:
        return Axis(0.0, 1.0)
    if low < high / 2 or low <= 0:
        low = 0.0
    span = (high - low) or high / 2
    step = _round_step(span / 5)
    foot = 0.0 if low == 0 else math.floor((low - span * 0.1) / step) * step
    return Axis(max(foot, 0.0), math.ceil((high + span * 0.1) / step) * step)


def _round_step(least: float) -> float:
    """The smallest round step of at least so much."""
    scale = 10.0 ** math.floor(math.log10(least))
    return next(step * scale for step in _STEPS if step * scale >= least * (1 - 1e-9))


def near(limit: float, values: Iterable[float]) -> bool:
    """Whether a limit is near enough to the readings to be drawn with them."""
    return limit <= FAR * max(values, default=limit)
