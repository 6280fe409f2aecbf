"""The Mann-Kendall test, exact with ties, against a plain count of every order."""

from __future__ import annotations

import math
from itertools import combinations, permutations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hygiene.water.kendall import mann_kendall


def by_hand(values: list[float]) -> tuple[int, float]:
    """S, and the share of all orders of the values that are as extreme."""

    def s_of(row: tuple[float, ...]) -> int:
        return sum((b > a) - (b < a) for a, b in combinations(row, 2))

    seen = s_of(tuple(values))
    every = [s_of(row) for row in permutations(values)]
    return seen, sum(abs(s) >= abs(seen) for s in every) / len(every)


@settings(max_examples=60, deadline=None)
@given(st.lists(st.sampled_from([1.0, 2.0, 3.0, math.inf, -math.inf]), max_size=6))
def test_the_chance_is_that_of_every_order(values: list[float]) -> None:
    """Ties, and what is below or above everything, among them."""
    found = mann_kendall(values)
    s, p = by_hand(values)
    assert found.s == s
    assert found.p == pytest.approx(p, abs=1e-12)


@settings(max_examples=60, deadline=None)
@given(st.lists(st.floats(-5, 5), min_size=2, max_size=12))
def test_turned_round_it_falls_as_it_rose(values: list[float]) -> None:
    """The same chance, the other way."""
    there, back = mann_kendall(values), mann_kendall(values[::-1])
    assert there.s == -back.s
    assert there.p == pytest.approx(back.p)
    assert 0 < there.p <= 1


def test_eight_in_a_row_that_fall() -> None:
    """2 orders of 40320 are as extreme."""
    found = mann_kendall([8.0, 7.0, 6.0, 5.0, 4.0, 3.0, 2.0, 1.0])
    assert (found.s, found.p) == (-28, 2 / 40320)


def test_all_equal_is_no_drift() -> None:
    """Nothing rises or falls."""
    found = mann_kendall([1.0] * 8)
    assert (found.s, found.p, found.tied) == (0, 1.0, 7)
