"""Whether an answer passes its step."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hygiene.rota.judging import judge, limits, what_to_do

ROOM = {"sort": "reading", "unit": "C", "low": 18, "high": Decimal("24.0")}


@pytest.mark.parametrize(
    ("value", "passes"),
    [("17.9", False), ("18", True), ("18.0", True), ("24", True), ("24.01", False)],
)
def test_a_reading_passes_from_low_to_high_both_included(value, passes):
    """The limits themselves are good."""
    assert judge(ROOM, {"value": Decimal(value)}) is passes


def test_a_reading_with_one_limit_or_none():
    """An open end lets everything through on that side."""
    assert judge({"sort": "reading", "high": 0}, {"value": -5})
    assert not judge({"sort": "reading", "high": 0}, {"value": 1})
    assert judge({"sort": "reading", "low": 0}, {"value": 99})
    assert judge({"sort": "reading"}, {"value": 99})


@given(st.integers(-50, 50), st.integers(-50, 50), st.integers(-50, 50))
def test_a_wider_limit_never_fails_what_a_narrower_one_passed(value, low, high):
    """Loosening a limit cannot turn a pass into a failure."""
    narrow = {"sort": "reading", "low": low, "high": high}
    wide = {"sort": "reading", "low": low - 1, "high": high + 1}
    if judge(narrow, {"value": value}):
        assert judge(wide, {"value": value})


@pytest.mark.parametrize("value", [None, "18", True, 20.0, Decimal("NaN")])
def test_a_reading_that_is_no_number_does_not_pass(value):
    """Nothing is taken as good unread, not even where everything would pass."""
    assert not judge(ROOM, {"value": value})
    assert not judge({"sort": "reading"}, {"value": value})


def test_a_limit_that_is_no_number_lets_nothing_through():
    """A checklist written oddly must not make everything pass."""
    assert not judge({"sort": "reading", "high": "24"}, {"value": 20})


def test_a_choice_passes_when_it_is_among_the_good_ones():
    """Where none is named good, every option is."""
    step = {"sort": "choice", "options": ["sweet", "sour"], "good": ["sweet"]}
    assert judge(step, {"chosen": "sweet"})
    assert not judge(step, {"chosen": "sour"})
    assert judge({**step, "good": []}, {"chosen": "sour"})
    assert not judge({**step, "good": []}, {"chosen": "musty"})
    assert not judge({**step, "good": 7}, {"chosen": "sweet"})


def test_a_tick_passes_when_it_was_done():
    """Not done, or not answered, does not pass."""
    assert judge({"sort": "tick"}, {"done": True})
    assert judge({}, {"done": True})
    assert not judge({"sort": "tick"}, {"done": False})
    assert not judge({"sort": "tick"}, {})


def test_an_entry_passes_when_it_was_written():
    """The entry itself says what was found."""
    assert judge({"sort": "entry"}, {"wrote": "shed-k7q2/12"})
    assert not judge({"sort": "entry"}, {})


def test_what_to_do_is_what_the_checklist_says():
    """Or the plain rule, where it says nothing."""
    assert what_to_do({"if_fails": "Ring the vet."}) == "Ring the vet."
    assert "look again" in what_to_do({"if_fails": " "})


def test_limits_in_words():
    """What passes, as the person reads it beside the question."""
    assert limits(ROOM) == "18 to 24.0 C"
    assert limits({"high": 0, "unit": "trays"}) == "0 trays at most"
    assert limits({"low": 50, "unit": "C"}) == "50 C at least"
    assert limits({"sort": "choice", "good": ["sweet", "none"]}) == "sweet or none"
    assert limits({}) == ""
