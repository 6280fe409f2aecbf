"""Germination intervals against scipy's exact binomial interval."""

from __future__ import annotations

import pytest
from scipy.stats import binomtest

from hygiene.tracing.germination import interval


@pytest.mark.parametrize("sown", [1, 7, 50, 100, 400, 1000])
@pytest.mark.parametrize("share", [0.0, 0.4, 0.8, 0.9, 0.95, 1.0])
def test_the_interval_is_that_of_clopper_and_pearson(sown: int, share: float) -> None:
    """scipy.stats.binomtest(...).proportion_ci(method="exact"), to 1e-7."""
    germinated = round(sown * share)
    made = interval(germinated, sown)
    exact = binomtest(germinated, sown).proportion_ci(0.95, method="exact")
    assert made.low_percent == pytest.approx(100 * exact.low, abs=1e-7)
    assert made.high_percent == pytest.approx(100 * exact.high, abs=1e-7)
