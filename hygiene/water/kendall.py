"""The Mann-Kendall test of a row of values for a drift (Mann 1945, Kendall 1975).

The null distribution is exact, with ties as well: few readings need no approximation.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from functools import cache
from itertools import combinations
from typing import NamedTuple


class Kendall(NamedTuple):
    """The Mann-Kendall statistic: S, its exact two-sided chance, and the ties."""

    n: int
    s: int
    p: float
    tied: int


def mann_kendall(values: Sequence[float]) -> Kendall:
    """The Mann-Kendall test of values in the order of time, exact with ties.

    S counts the pairs that rise less those that fall. Under no trend every order of
    the same values is as likely, and the number of inversions of a row with equal
    values has the Gaussian multinomial as its generating function (MacMahon 1913).
    """
    s = sum((b > a) - (b < a) for a, b in combinations(values, 2))
    groups = tuple(sorted(Counter(values).values()))
    untied = math.comb(len(values), 2) - sum(math.comb(size, 2) for size in groups)
    counts = _inversions(groups)
    every = sum(counts)
    # S = untied pairs - 2 x inversions
    extreme = sum(
        count
        for swapped, count in enumerate(counts)
        if abs(untied - 2 * swapped) >= abs(s)
    )
    return Kendall(len(values), s, extreme / every, len(values) - len(groups))


@cache
def _inversions(groups: tuple[int, ...]) -> tuple[int, ...]:
    """How many orders of a row with equal values have 0, 1, 2 ... inversions."""
    made: tuple[int, ...] = (1,)
    placed = 0
    for size in groups:
        placed += size
        made = _times(made, _gaussian(placed, size))
    return made


@cache
def _gaussian(n: int, k: int) -> tuple[int, ...]:
    """The Gaussian binomial of n and k as a polynomial's coefficients."""
    if k in (0, n):
        return (1,)
    shifted = (0,) * k + _gaussian(n - 1, k)
    return _plus(shifted, _gaussian(n - 1, k - 1))


def _plus(one: Sequence[int], other: Sequence[int]) -> tuple[int, ...]:
    length = max(len(one), len(other))
    pad = (*one, *(0,) * (length - len(one))), (*other, *(0,) * (length - len(other)))
    return tuple(a + b for a, b in zip(*pad, strict=True))


def _times(one: Sequence[int], other: Sequence[int]) -> tuple[int, ...]:
    made = [0] * (len(one) + len(other) - 1)
    for i, a in enumerate(one):
        for j, b in enumerate(other):
            made[i + j] += a * b
    return tuple(made)
