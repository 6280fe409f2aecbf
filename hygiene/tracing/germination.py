"""A germination count, its exact interval, and what it shows of a claimed share.

The interval is that of Clopper and Pearson (Biometrika 26, 1934): the shares under
which a count as high, or as low, as the one seen still has a chance of 2.5 %.
"""

from __future__ import annotations

from collections.abc import Callable
from math import exp, lgamma, log
from typing import Final, NamedTuple

TAIL: Final = 0.025
WANTED_PERCENT: Final = 90.0
"""What seed for fodder should reach: common practice, no source."""


class Interval(NamedTuple):
    """Percent that germinated, and the exact 95 % interval around it."""

    percent: float
    low_percent: float
    high_percent: float

    @property
    def verdict(self) -> str:
        """Whether 90 % is ``shown``, ``not shown`` (it is less), or ``unclear``."""
        if self.low_percent >= WANTED_PERCENT:
            return "shown"
        return "not shown" if self.high_percent < WANTED_PERCENT else "unclear"


def interval(germinated: int, sown: int) -> Interval:
    """The share of ``germinated`` in ``sown`` seeds (1 or more), in percent."""
    low = (
        _root(lambda share: _at_least(germinated, sown, share) - TAIL)
        if germinated
        else 0.0
    )
    high = (
        _root(lambda share: TAIL - (1 - _at_least(germinated + 1, sown, share)))
        if germinated < sown
        else 1.0
    )
    return Interval(100 * germinated / sown, 100 * low, 100 * high)


def _root(rising: Callable[[float], float]) -> float:
    low, high = 0.0, 1.0
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (low, middle) if rising(middle) > 0 else (middle, high)
    return (low + high) / 2


def _at_least(count: int, sown: int, share: float) -> float:
    """The chance of ``count`` or more out of ``sown``, each with chance ``share``."""
    if count <= 0:
        return 1.0
    return sum(
        exp(
            lgamma(sown + 1)
            - lgamma(n + 1)
            - lgamma(sown - n + 1)
            + n * log(share)
            + (sown - n) * log(1 - share)
        )
        for n in range(count, sown + 1)
    )
