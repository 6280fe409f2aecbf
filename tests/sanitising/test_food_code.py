"""The Food Code's rows, and rinsing by region."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hygiene.sanitising.food_code import (
    OutOfFoodCode,
    Solution,
    chlorine_minimum_c,
    sanitiser_of,
    surface,
)


@given(st.floats(25, 200), st.floats(25, 200), st.floats(0, 10), st.floats(0, 10))
def test_weaker_or_more_alkaline_never_asks_for_less_warmth(a, b, ph_a, ph_b):
    """A weaker solution and a higher pH need at least as warm a solution."""
    weak, strong = sorted((a, b))
    low, high = sorted((ph_a, ph_b))
    assert chlorine_minimum_c(weak, high) >= chlorine_minimum_c(strong, low)


def test_mains_water_is_too_cold_even_at_100():
    """The temperature is the solution's: 9 C fails, and heating is not the way out."""
    answer = surface(Solution("chlorine", 100, 9, 7))
    assert answer.findings
    assert any("Do not heat bleach" in line for line in answer.warnings)


@pytest.mark.parametrize(("level", "ph"), [(24.9, 7.0), (100.0, 10.1)])
def test_outside_its_table_the_food_code_is_silent(level, ph):
    """Below 25 mg/L and above pH 10 there is no row."""
    with pytest.raises(OutOfFoodCode):
        chlorine_minimum_c(level, ph)


def test_chlorine_needs_its_ph():
    """Without the pH there is no telling which column."""
    with pytest.raises(OutOfFoodCode, match="pH"):
        surface(Solution("chlorine", 100, 20))


def test_iodine_is_held_to_strength_ph_and_warmth():
    """12.5-25 mg/L, pH 5 or less, 20 C or warmer: each broken bound is told."""
    assert not surface(Solution("iodine", 25, 20, 5)).findings
    assert len(surface(Solution("iodine", 30, 19, 6)).findings) == 3


def test_quat_is_held_to_warmth_and_hardness():
    """24 C or warmer, hardness up to 500 mg/L."""
    assert not surface(Solution("quat", 200, 24, hardness_mg_per_l=500)).findings
    assert len(surface(Solution("quat", 200, 23, hardness_mg_per_l=501)).findings) == 2


@pytest.mark.parametrize(
    ("sanitiser", "level", "least"), [("chlorine", 100, 10), ("quat", 200, 30)]
)
def test_contact_is_10_s_for_chlorine_and_30_s_for_others(sanitiser, level, least):
    """A contact shorter than the row's is a finding."""
    solution = Solution(sanitiser, level, 25, 7)
    assert surface(solution, done_seconds=least - 1).findings
    assert not surface(solution, done_seconds=least).findings


def test_the_no_rinse_ceiling_is_united_states_law_only():
    """Elsewhere the label decides, mostly: rinse."""
    solution = Solution("chlorine", 200, 20, 7)
    assert surface(solution, region="us").values["no_rinse_up_to_mg_per_l"] == 200
    for region in ("uk", "eu", None):
        answer = surface(solution, region=region)
        assert answer.values["no_rinse_up_to_mg_per_l"] is None
        assert "label" in answer.values["rinse"]


def test_above_the_ceiling_it_is_rinsed():
    """Above 200 mg/L available chlorine a rinse is due in the United States."""
    solution = Solution("chlorine", 201, 20, 7)
    assert surface(solution, region="us").values["rinse"] == "yes"


def test_peracetic_has_no_row_but_a_bound_on_equipment():
    """Below 500 mg/L on equipment; the Food Code itself has no row."""
    answer = surface(Solution("peracetic acid", 500, 20))
    assert answer.findings
    assert not surface(Solution("peracetic acid", 499, 20)).findings


def test_names_of_the_shed_find_their_row():
    """An iodophor is iodine though it is an acid, too."""
    assert sanitiser_of("iodophor") == "iodine"
    assert sanitiser_of("sodium hypochlorite") == "chlorine"
    with pytest.raises(OutOfFoodCode):
        sanitiser_of("vinegar")


@pytest.mark.parametrize("level", [0, -1, math.nan, math.inf])
def test_a_strength_that_cannot_be_is_refused(level):
    """No row is looked up for nothing, or for what is no number."""
    with pytest.raises(OutOfFoodCode):
        Solution("chlorine", level, 20, 7)
