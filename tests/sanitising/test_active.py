"""The share of HOCl."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hygiene.sanitising.active import (
    OutOfRange,
    active_chlorine,
    hocl_share,
    pka_hocl,
)

phs = st.floats(4, 12)
temps = st.floats(0, 40)


@given(temps)
def test_half_at_the_pka(temp_c: float):
    """Where pH equals pKa, half is HOCl."""
    assert hocl_share(pka_hocl(temp_c), temp_c) == pytest.approx(0.5)


@given(phs, temps, st.floats(0.01, 2))
def test_more_alkaline_is_less_active(ph: float, temp_c: float, more: float):
    """The share falls with pH, and stays between nothing and all."""
    share = hocl_share(ph, temp_c)
    assert 0 < hocl_share(ph + more, temp_c) < share < 1


@given(phs, temps)
def test_salts_lower_it(ph: float, temp_c: float):
    """Salty water has a little less HOCl than the ideal formula says."""
    assert hocl_share(ph, temp_c, ionic_mol_per_l=0.01) < hocl_share(ph, temp_c)


def test_salts_of_10_mmol_lower_it_by_two_to_three_points():
    """At pH 7.5 and 20 C."""
    apart = hocl_share(7.5, 20) - hocl_share(7.5, 20, ionic_mol_per_l=0.01)
    assert 0.02 < apart < 0.03


def test_what_ph_costs():
    """The dose that gives the same HOCl as at pH 7."""
    values = active_chlorine(8, 20, free_mg_per_l=2).values
    ratio = hocl_share(7, 20) / hocl_share(8, 20)
    assert values["times_the_dose_of_ph_7"] == pytest.approx(ratio)
    assert values["hocl_mg_per_l"] == pytest.approx(2 * hocl_share(8, 20))


def test_without_a_reading_there_is_no_hocl_figure():
    """The key stays, without a number."""
    assert active_chlorine(7, 20).values["hocl_mg_per_l"] is None


@pytest.mark.parametrize(
    ("ph", "temp_c"), [(3.9, 20), (14.1, 20), (7, -1), (7, 41), (0, 20)]
)
def test_out_of_range_is_refused(ph: float, temp_c: float):
    """Below pH 4 it gasses; outside 0 to 40 C the pKa is not known."""
    with pytest.raises(OutOfRange):
        active_chlorine(ph, temp_c)


def test_cyanurate_is_refused():
    """With a stabiliser pH does not give the share."""
    with pytest.raises(OutOfRange, match="cyanuric"):
        active_chlorine(7.5, 20, cyanurate=True)
