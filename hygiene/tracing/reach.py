"""What a year of this size can show: how bad a cause must be before it is found."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from hygiene.tracing.comparison import Comparison
from hygiene.tracing.statistics import (
    Chances,
    added,
    at_least,
    binomial,
    critical,
    hypergeometric,
    leaned,
)

TIMES = (2, 3, 4, 5, 6, 8, 10, 12, 15, 20)
SHOWN = 0.8
"""A cause counts as within reach when it would be shown in four years of five."""

DENSE_STRATA = 3
"""A lot fills its few fortnights with finds; over more of them they lie apart."""


@dataclass(frozen=True, slots=True)
class Year:
    """The size of what was looked at, known sowings only."""

    sowings: int
    mouldy_sowings: int
    trays: int
    mouldy_trays: int

    @property
    def sowing_rate(self) -> float:
        """Share of the sowings that had mould."""
        return self.mouldy_sowings / self.sowings if self.sowings else 0.0

    @property
    def tray_rate(self) -> float:
        """Share of the trays that had mould."""
        return self.mouldy_trays / self.trays if self.trays else 0.0


NEGLIGIBLE = 1e-9


def _likely(tries: int, rate: float) -> Chances:
    return binomial(tries, rate, NEGLIGIBLE)


def chance_for_rank(comparison: Comparison, level: float) -> Callable[[float], float]:
    """Chance to show it when the year's finds lean to one side, ``times`` as likely."""
    bar = critical(comparison.chances, level)

    def chance(times: float) -> float:
        if bar is None:
            return 0.0
        return at_least(leaned(comparison.chances, times, comparison.one_find), bar)

    return chance


def chance_for_sowings(
    comparison: Comparison, year: Year, level: float
) -> Callable[[float], float]:
    """Chance to show a level of few sowings that mould ``times`` as often."""
    bearing, against = comparison.borne, comparison.against
    others = _likely(against, year.sowing_rate)
    bars: dict[int, int | None] = {}

    def shown(found: int, finds: int) -> bool:
        if finds not in bars:
            bars[finds] = critical(by_chance(finds), level)
        bar = bars[finds]
        return bar is not None and found >= bar

    def by_chance(finds: int) -> Chances:
        if comparison.strata <= DENSE_STRATA:
            return hypergeometric(bearing, finds, bearing + against)
        return binomial(finds, bearing / (bearing + against))

    def chance(times: float) -> float:
        own = _likely(bearing, min(1.0, times * year.sowing_rate))
        return math.fsum(
            a * b
            for found, a in own.items()
            for rest, b in others.items()
            if shown(found, found + rest)
        )

    return chance


def chance_for_tray(uses: int, year: Year, level: float) -> Callable[[float], float]:
    """Chance to show one tray on which mould starts ``times`` as often as on others.

    A bad tray makes most of its own finds, so they are added to the year's.
    """
    size = max(2, round(year.trays / max(year.sowings, 1)))
    spread = round(uses * year.sowing_rate)
    share = year.tray_rate / year.sowing_rate if year.sowing_rate else 0.0
    by_others = _likely(spread, share)

    def shown(own: int) -> bool:
        by_chance = added([by_others, _likely(own, 1 / size)])
        return at_least(by_chance, own + round(spread * share)) <= level

    def chance(times: float) -> float:
        own = _likely(uses, min(1.0, times * year.tray_rate))
        return math.fsum(weight for found, weight in own.items() if shown(found))

    return chance


def least_times(chance: Callable[[float], float]) -> int | None:
    """Give the least of ``TIMES`` that would be shown in four years of five."""
    return next((times for times in TIMES if chance(times) >= SHOWN), None)
