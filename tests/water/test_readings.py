"""Readings: thinned samples, bleached-out reagent, strips in steps."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hygiene.water.readings import BadReading, Diluted, reading, strip, strip_interval

STEPS = (0, 10, 25, 50, 100, 200)


def test_a_thinned_sample_is_multiplied_back():
    """0.8 mg/L in 10 ml made up to 100 ml is 8 mg/L in the water."""
    answer = reading(Diluted(0.8, 10, 100))
    assert answer.values["free_mg_per_l"] == pytest.approx(8.0)


def test_a_sign_is_carried_through():
    """Below 0.02 thinned ten times is below 0.2, not 0.2."""
    answer = reading(Diluted(0.02, 10, 100, "<"))
    assert answer.values["sign"] == "<"
    assert answer.says[0].startswith("<0.2")


@pytest.mark.parametrize("first", [Diluted(9.0), Diluted(0.0), Diluted(0.0, 10, 100)])
def test_bleached_out_reagent_is_warned_of(first):
    """Above 8 the reagent bleaches, and nothing at all may be too much."""
    assert any("bleach" in line for line in reading(first).warnings)


def test_two_dilutions_that_agree_are_told_to():
    """Within a fifth of each other."""
    answer = reading(Diluted(0.8, 10, 100), Diluted(0.42, 5, 100))
    assert answer.values["agree"] is True
    assert not answer.findings


def test_a_thinner_sample_that_reads_higher_shows_bleaching():
    """0.5 undiluted but 12 when thinned: the first was bleached out."""
    answer = reading(Diluted(0.5), Diluted(1.2, 10, 100))
    assert answer.values["agree"] is False
    assert any("bleached" in line for line in answer.findings)


@pytest.mark.parametrize(
    ("given_values", "why"),
    [
        ((-0.1, 10, 100), "below zero"),
        ((0.5, 0, 100), "more than zero"),
        ((0.5, 100, 10), "cannot be made up"),
        ((math.nan, 10, 100), "plain number"),
    ],
)
def test_a_reading_that_cannot_be_is_refused(given_values, why):
    """A sample is not larger than what it is made up to."""
    with pytest.raises(BadReading, match=why):
        Diluted(*given_values)


def test_a_matched_step_lies_between_its_neighbours():
    """A strip that matches 50 lies somewhere between 25 and 100."""
    found = strip_interval(STEPS, (50,))
    assert (found.low_mg_per_l, found.high_mg_per_l) == (25, 100)


def test_between_two_steps_is_just_that():
    """Between 25 and 50."""
    found = strip_interval(STEPS, (25, 50))
    assert (found.low_mg_per_l, found.high_mg_per_l) == (25, 50)


def test_the_last_step_has_no_upper_end():
    """A strip at its darkest says only: at least that much, thin it."""
    answer = strip(STEPS, (200,), at_most_mg_per_l=400)
    assert answer.values["high_mg_per_l"] is None
    assert answer.values["at_most"] is None
    assert any("thin the sample" in line for line in answer.warnings)


@given(st.sampled_from(STEPS), st.floats(0, 300))
def test_a_bound_is_decided_only_where_the_whole_interval_agrees(match, bound):
    """At least holds at the low end, or fails at the high end, or is not told."""
    answer = strip(STEPS, (match,), at_least_mg_per_l=bound)
    found = strip_interval(STEPS, (match,))
    expected = None
    if found.low_mg_per_l >= bound:
        expected = True
    elif found.high_mg_per_l < bound:
        expected = False
    assert answer.values["at_least"] is expected
    assert bool(answer.findings) == (expected is False)


def test_too_strong_is_a_finding():
    """A strip wholly above the most that is wanted."""
    assert strip(STEPS, (100, 200), at_most_mg_per_l=50).findings


@pytest.mark.parametrize(
    ("steps", "matched", "why"),
    [
        ((50,), (50,), "steps"),
        ((0, 50, 25), (25,), "go up"),
        (STEPS, (60,), "not a step"),
        (STEPS, (10, 50), "neighbouring"),
        (STEPS, (50, 25), "neighbouring"),
        (STEPS, (), "give the step"),
    ],
)
def test_a_strip_that_cannot_be_is_refused(steps, matched, why):
    """One clear line, no interval."""
    with pytest.raises(BadReading, match=why):
        strip_interval(steps, matched)
