"""A residual over time: its area, its cap, and the share of a tank that counts."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hygiene.sanitising.residual import (
    BAFFLING,
    NotAContact,
    Reading,
    check_readings,
    credited_ct,
    minutes_to_reach,
    t10_minutes,
)

levels = st.floats(0.01, 50)
spans = st.floats(0.1, 200)


def test_a_steady_residual_is_level_times_minutes():
    """2 mg/L for 30 min is 60 mg.min/L."""
    assert credited_ct((Reading(0, 2.0), Reading(30, 2.0))) == pytest.approx(60)


def test_nothing_above_the_cap_is_credited():
    """At no moment does more than 3 mg/L count."""
    assert credited_ct((Reading(0, 50.0), Reading(10, 40.0))) == pytest.approx(30)


@given(levels, levels, spans)
def test_a_fall_lies_between_its_ends(start, end, minutes):
    """The area lies between the lower end's and the upper end's, both capped."""
    area = credited_ct((Reading(0, start), Reading(minutes, end)))
    low, high = sorted((min(start, 3.0), min(end, 3.0)))
    assert low * minutes * (1 - 1e-9) <= area <= high * minutes * (1 + 1e-9)


@given(levels, levels, levels, spans, st.floats(0.1, 0.9))
def test_area_is_the_sum_of_its_parts(start, middle, end, minutes, share):
    """Splitting the time never changes what is earned."""
    readings = (Reading(0, start), Reading(minutes, middle), Reading(2 * minutes, end))
    cut = 2 * minutes * share
    whole = credited_ct(readings)
    first = credited_ct(readings, cut)
    assert 0 <= first <= whole * (1 + 1e-9)


@given(levels, levels, spans, spans, spans)
def test_what_is_earned_never_shrinks(start, end, minutes, one, other):
    """A longer wait never earns less, also far beyond the last reading."""
    readings = (Reading(0, start), Reading(minutes, end))
    sooner, later = sorted((one, other))
    late = credited_ct(readings, later * 1e4)
    assert credited_ct(readings, sooner) <= credited_ct(readings, later) * (1 + 1e-9)
    assert credited_ct(readings, later) <= late * (1 + 1e-9)


def test_a_span_that_ends_at_zero_counts_nothing():
    """When it fell to zero is not known: it may have been at once."""
    assert credited_ct((Reading(0, 3.0), Reading(30, 0.0))) == 0


@given(levels, st.floats(0.2, 0.99), spans, st.floats(0.01, 0.9))
def test_the_time_named_earns_exactly_what_is_asked(start, kept, minutes, share):
    """``minutes_to_reach`` is the inverse of ``credited_ct``."""
    readings = (Reading(0, start), Reading(minutes, start * kept))
    asked = share * credited_ct(readings, minutes * 3)
    reached = minutes_to_reach(asked, readings)
    assert asked == pytest.approx(credited_ct(readings, reached), rel=1e-6)


def test_what_cannot_be_reached_takes_for_ever():
    """2 mg/L halving every minute earns 2 / ln 2 at most."""
    readings = (Reading(0, 2.0), Reading(1, 1.0))
    assert math.isinf(minutes_to_reach(2 / math.log(2) * 1.01, readings))
    assert minutes_to_reach(2 / math.log(2) * 0.99, readings) < 10


@pytest.mark.parametrize(
    ("readings", "why"),
    [
        ([Reading(0, 1)], "two readings"),
        ([Reading(1, 1), Reading(2, 1)], "at 0 min"),
        ([Reading(0, 1), Reading(5, 1), Reading(5, 0.5)], "go up"),
        ([Reading(0, 1), Reading(5, -0.1)], "below zero"),
        ([Reading(0, 0), Reading(5, 1)], "at the start"),
        ([Reading(0, math.nan), Reading(5, 1)], "plain number"),
    ],
)
def test_readings_that_cannot_be_are_refused(readings, why):
    """A contact has a start, a run of times and levels from zero up."""
    with pytest.raises(NotAContact, match=why):
        check_readings(readings)


def test_a_tank_counts_by_its_baffling():
    """T10 = V / Q x factor: 1000 L at 20 L/min unbaffled is 5 min, not 50."""
    assert t10_minutes(1000, 20, BAFFLING["unbaffled"]) == pytest.approx(5)
    with pytest.raises(NotAContact):
        t10_minutes(1000, 20, 1.1)
    with pytest.raises(NotAContact):
        t10_minutes(0, 20, 0.5)
