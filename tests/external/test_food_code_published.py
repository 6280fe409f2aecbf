"""The FDA Food Code's rows: 4-501.114 and 4-703.11(C), as printed."""

from __future__ import annotations

import pytest

from hygiene.sanitising.food_code import (
    CEILINGS_US,
    Solution,
    chlorine_minimum_c,
    contact_seconds,
)


@pytest.mark.parametrize(
    ("mg_per_l", "at_ph_8", "at_ph_10"),
    [
        (25, 49, 49),
        (49, 49, 49),
        (50, 24, 38),
        (99, 24, 38),
        (100, 13, 13),
        (200, 13, 13),
    ],
)
def test_chlorine_rows(mg_per_l, at_ph_8, at_ph_10):
    """4-501.114(A): the lowest solution temperature by strength and pH."""
    assert chlorine_minimum_c(mg_per_l, 8.0) == at_ph_8
    assert chlorine_minimum_c(mg_per_l, 10.0) == at_ph_10
    assert chlorine_minimum_c(mg_per_l, 8.1) == at_ph_10


def test_contact_times():
    """4-703.11(C): chlorine 10 s, other chemicals 30 s."""
    assert contact_seconds(Solution("chlorine", 100, 20, 7)) == 10
    assert contact_seconds(Solution("iodine", 20, 20, 5)) == 30
    assert contact_seconds(Solution("quat", 200, 24)) == 30


def test_the_no_rinse_ceiling_for_chlorine():
    """21 CFR 178.1010: 200 mg/L available chlorine, United States only."""
    assert CEILINGS_US["chlorine"].mg_per_l == 200
