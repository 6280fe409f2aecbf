"""Toxins in feed at 12 % moisture, and what a limit does not cover."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hygiene.water.toxins import BadToxin, at_12_percent_moisture, limits_of, toxin


def test_a_wet_result_is_brought_to_12_percent():
    """1 ug/kg at 15 % dry matter is 88 / 15 = 5.87 ug/kg at 12 % moisture."""
    assert at_12_percent_moisture(1, 15) == pytest.approx(88 / 15)


@given(st.floats(0, 1e6), st.floats(1, 100))
def test_wetter_feed_weighs_heavier_at_12_percent(measured, dry_matter):
    """Below 88 % dry matter the result rises; above, it falls."""
    found = at_12_percent_moisture(measured, dry_matter)
    assert (found >= measured) == (dry_matter <= 88) or measured == found


@pytest.mark.parametrize(
    ("measured", "dry"), [(-1, 15), (math.nan, 15), (1, 0), (1, 101), (1, math.nan)]
)
def test_what_cannot_be_is_refused(measured, dry):
    """No result below zero, no dry matter outside 0 to 100 %."""
    with pytest.raises(BadToxin):
        at_12_percent_moisture(measured, dry)


def test_a_result_is_held_against_each_sort_of_feed():
    """5.87 ug/kg of aflatoxin B1 is within feed material, over for dairy feed."""
    answer = toxin(1, 15, name="aflatoxin B1")
    assert [finding.split(":")[0] for finding in answer.findings] == ["dairy feed"]


def test_a_coarse_test_does_not_clear_a_limit():
    """< 1 ug/kg wet is < 5.87 at 12 %: it cannot show 5."""
    answer = toxin(1, 15, sign="<", name="aflatoxin B1")
    assert any("too coarse" in finding for finding in answer.findings)
    assert not toxin(0.5, 15, sign="<", name="aflatoxin B1").findings


def test_more_than_below_a_limit_does_not_decide_it():
    """> 1 ug/kg wet says nothing of 20."""
    answer = toxin(1, 15, sign=">", name="aflatoxin B1")
    assert any("does not decide" in finding for finding in answer.findings)


def test_a_clean_result_never_clears_a_mouldy_batch():
    """Every answer says that no limit covers the sprout moulds."""
    for answer in (toxin(0, 15), toxin(0, 15, name="DON")):
        assert any("never clears" in line for line in answer.warnings)
        assert any("forbidden" in line for line in answer.warnings)


def test_a_toxin_without_a_limit_is_refused_by_name():
    """The refusal names those that have one."""
    with pytest.raises(BadToxin) as refused:
        limits_of("patulin")
    assert "zearalenone" in (refused.value.way_out or "")
