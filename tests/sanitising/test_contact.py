"""Contact: what is required, how it is looked up, what is refused."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hygiene.sanitising.contact import (
    OutOfTable,
    Water,
    contact,
    falling_contact,
    giardia_regression,
    label_time,
    required,
)
from hygiene.sanitising.residual import NotAContact, Reading


def ct(residual: float, ph: float, temp: float, log: float = 3) -> float:
    found = required("giardia", "chlorine", log, residual, Water(ph, temp))
    return found.ct_mg_min_per_l


residuals = st.floats(0.05, 4.0)
phs = st.floats(6, 9)
temps = st.floats(0.5, 40)


@given(residuals, phs, temps, temps)
@settings(max_examples=300)
def test_colder_never_asks_less(residual, ph, one, other):
    """By the table, CT never falls when the water gets colder."""
    cold, warm = sorted((one, other))
    assert ct(residual, ph, cold) >= ct(residual, ph, warm)


@given(residuals, phs, phs, temps)
@settings(max_examples=300)
def test_more_alkaline_never_asks_less(residual, one, other, temp):
    """By the table, CT never falls when the water gets more alkaline."""
    low, high = sorted((one, other))
    assert ct(residual, high, temp) >= ct(residual, low, temp)


@given(residuals, residuals, phs, temps)
@settings(max_examples=300)
def test_stronger_never_asks_less(one, other, ph, temp):
    """By the table, CT never falls when the residual gets stronger."""
    weak, strong = sorted((one, other))
    assert ct(strong, ph, temp) >= ct(weak, ph, temp)


def test_the_regression_itself_falls_at_its_seam():
    """Why the regression never stands alone: colder by a hair asks less at 12.5 C."""
    assert giardia_regression(1, 9, 12.499) < giardia_regression(1, 9, 12.5)


def test_between_3_and_4_the_higher_of_row_and_regression_counts():
    """Above the last row neither the row nor the formula may be undercut."""
    row = ct(3.0, 7.5, 10)
    formula = giardia_regression(3.6, 7.5, 10)
    assert max(row, formula) == ct(3.6, 7.5, 10)
    assert row == ct(3.1, 7.5, 14.9)  # here the row is the higher of the two


def test_a_part_of_three_logs_is_a_part_of_the_ct():
    """CT for x-log is CT for 3-log times x / 3."""
    assert ct(1.0, 7.5, 10, log=0.5) == pytest.approx(134 * 0.5 / 3)


def test_viruses_take_the_next_log_that_is_tabulated():
    """Between tabulated logs the higher one stands, and it is said."""
    found = required("virus", "chlorine", 2.5, 1, Water(7, 10))
    assert found.ct_mg_min_per_l == 4
    assert any("3-log" in line for line in found.warnings)


def test_above_25_c_counts_as_25_and_says_so():
    """Warmer than the table earns nothing more, and the answer says so."""
    found = required("giardia", "chlorine", 3, 1, Water(7.5, 31))
    assert found.ct_mg_min_per_l == 45
    assert any("25 C" in line for line in found.warnings)


@pytest.mark.parametrize(
    ("against", "agent", "log", "residual", "ph", "temp", "why"),
    [
        ("giardia", "chlorine", 3, 1, 5.99, 10, "pH"),
        ("giardia", "chlorine", 3, 1, 9.01, 10, "pH"),
        ("virus", "chlorine", 3, 1, 9.5, 10, "pH"),
        ("giardia", "chlorine", 3, 1, 7, 0.4, "below the table"),
        ("giardia", "chlorine-dioxide", 3, 1, 7, 0.9, "below the table"),
        ("giardia", "chlorine", 3, 4.01, 7, 10, "shock dose"),
        ("virus", "chlorine", 4, 50, 7, 10, "shock dose"),
        ("giardia", "chlorine", 3, 0, 7, 10, "more than zero"),
        ("giardia", "chlorine", 3, -1, 7, 10, "more than zero"),
        ("giardia", "chlorine", 3.5, 1, 7, 10, "log"),
        ("virus", "chlorine", 4.5, 1, 7, 10, "log"),
        ("virus", "chlorine", 0, 1, 7, 10, "log"),
        ("giardia", "chlorine", 3, math.nan, 7, 10, "plain number"),
        ("giardia", "chlorine", 3, 1, 7, math.inf, "plain number"),
        ("giardia", "chlorine", math.nan, 1, 7, 10, "plain number"),
    ],
)
def test_where_the_table_is_silent_no_number_is_given(
    against, agent, log, residual, ph, temp, why
):
    """Outside the published tables the request is refused, with its reason."""
    with pytest.raises(OutOfTable, match=why):
        required(against, agent, log, residual, Water(ph, temp))


def test_minutes_are_ct_over_residual():
    """A steady residual: minutes = CT / C."""
    answer = contact("giardia", "chlorine", 3, 2.0, Water(7.5, 20))
    assert answer.values["ct_mg_min_per_l"] / 2.0 == answer.values["minutes"]


def test_a_time_to_wait_is_never_rounded_down():
    """62 / 0.3 = 206.67 min is told as 207."""
    answer = contact("giardia", "chlorine", 3, 0.3, Water(7.5, 20))
    assert "207 min" in answer.says[0]


def test_time_kept_is_held_against_what_is_needed():
    """Too short a contact is a finding; long enough is none."""
    short = contact("giardia", "chlorine", 3, 1, Water(7.5, 10), done_min=133)
    enough = contact("giardia", "chlorine", 3, 1, Water(7.5, 10), done_min=134)
    assert short.findings
    assert not enough.findings
    assert short.values["enough"] is False
    assert short.values["log_done"] == pytest.approx(3 * 133 / 134)


def test_every_answer_says_it_is_not_for_mould_or_surfaces():
    """The tables are for Giardia and viruses in clear water: always said."""
    fall = (Reading(0, 1.0), Reading(10, 0.5))
    for answer in (
        contact("virus", "chlorine", 4, 1, Water(7, 10)),
        falling_contact("virus", "chlorine", 2, fall, Water(7, 10)),
    ):
        assert "mould spores" in answer.valid
        assert "clear water" in answer.valid


def test_a_shock_dose_is_credited_at_3():
    """50 mg/L for 27 min at 20 C, pH 7.5 earns 81, which is short of 83."""
    readings = (Reading(0, 50.0), Reading(27, 50.0))
    answer = falling_contact("giardia", "chlorine", 3, readings, Water(7.5, 20))
    assert answer.values["done_ct_mg_min_per_l"] == pytest.approx(81)
    assert answer.values["minutes"] == pytest.approx(83 / 3)
    assert answer.findings


def test_the_row_of_a_falling_residual_is_that_of_its_highest():
    """A residual that starts at 2 mg/L is judged by the 2 mg/L row."""
    readings = (Reading(0, 2.0), Reading(60, 0.5))
    answer = falling_contact("giardia", "chlorine", 3, readings, Water(7.5, 10))
    assert answer.values["ct_mg_min_per_l"] == 150


def test_a_residual_that_runs_out_never_gets_there():
    """Where the fall leaves too little, no time is named."""
    readings = (Reading(0, 2.0), Reading(10, 0.2))
    answer = falling_contact("giardia", "chlorine", 3, readings, Water(7.5, 10))
    assert answer.values["minutes"] is None
    assert any("never" in line for line in answer.warnings)


def test_the_label_time_kept_short_is_a_finding():
    """The label's contact time is kept whole or it is not kept."""
    assert label_time(5, 4.9).findings
    assert not label_time(5, 5).findings
    with pytest.raises(NotAContact):
        label_time(0, 5)
