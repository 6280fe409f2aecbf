"""The upright axis: round marks, and everything that is drawn lies within it."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hygiene.water.axis import axis_for, near

NUMBERS = st.floats(0, 1e6).map(lambda x: round(x, 6))


@given(st.lists(NUMBERS, min_size=1, max_size=12), st.booleans())
def test_every_value_lies_within(values: list[float], counted: bool) -> None:
    """And keeps its order."""
    axis = axis_for(values, counted=counted)
    assert axis.low <= min(values)
    assert axis.high >= max(values)
    assert axis.low < axis.high
    places = [axis.place(value) for value in sorted(values)]
    assert places == sorted(places)
    assert all(0 <= place <= 1 for place in places)


@given(st.lists(NUMBERS, min_size=1, max_size=12), st.booleans())
def test_marks_are_few_and_within(values: list[float], counted: bool) -> None:
    """A person reads six at a glance; counts have one for each power of ten."""
    axis = axis_for(values, counted=counted)
    marks = axis.marks()
    assert 2 <= len(marks) <= (9 if axis.log else 7)
    assert all(axis.low - 1e-9 <= mark <= axis.high * (1 + 1e-9) for mark in marks)


@pytest.mark.parametrize(
    ("values", "low", "high"),
    [([0.2, 0.9], 0, 1.0), ([7.2, 7.6], 7.1, 7.7), ([0, 0], 0, 1), ([5], 4.5, 5.5)],
)
def test_it_starts_at_nothing_unless_the_readings_lie_far_up(
    values: list[float], low: float, high: float
) -> None:
    """A residual from nothing, a pH close by."""
    axis = axis_for(values)
    assert axis.low == pytest.approx(low)
    assert axis.high == pytest.approx(high)


def test_counts_over_twenty_are_drawn_by_powers_of_ten() -> None:
    """1 and 2419 on one picture."""
    axis = axis_for([1, 2419.6], counted=True)
    assert axis.log
    assert axis.marks() == [0, 1, 10, 100, 1000, 10000]
    assert not axis_for([1, 12], counted=True).log


def test_a_limit_far_above_is_left_off() -> None:
    """5 mg/L would press readings of 0.5 flat."""
    assert near(1.0, [0.5])
    assert not near(5.0, [0.5])
    assert near(0.0, [0.0])
