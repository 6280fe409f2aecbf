"""Exact tests of the search for causes against scipy's (scipy.stats, BSD)."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from hygiene.tracing.causes import find_causes
from hygiene.tracing.comparison import Seen, compared, units
from hygiene.tracing.outcomes import Batch, Lot, Outcome, TrayOutcome
from hygiene.tracing.statistics import (
    added,
    at_least,
    binomial,
    doubled_ranks,
    drawn_sum,
    geometric_limits,
    hypergeometric_tail,
    leaned,
)

# found and bearing, then the others: 2 x 2 tables
tables = st.tuples(*[st.integers(0, 12)] * 4).filter(
    lambda t: t[0] + t[2] > 0 and t[1] + t[3] > 0
)


def row(table: tuple[int, int, int, int]) -> list[Seen]:
    mouldy, clean, others_mouldy, others_clean = table
    return [
        *[Seen(True, True)] * mouldy,
        *[Seen(True, False)] * clean,
        *[Seen(False, True)] * others_mouldy,
        *[Seen(False, False)] * others_clean,
    ]


@settings(max_examples=80)
@given(tables)
def test_tail_against_fisher_exact(table: tuple[int, int, int, int]) -> None:
    """scipy.stats.fisher_exact, alternative="greater"."""
    found, clean, others_found, others_clean = table
    expected = stats.fisher_exact(
        [[found, clean], [others_found, others_clean]], alternative="greater"
    ).pvalue
    ours = hypergeometric_tail(found, found + clean, found + others_found, sum(table))
    assert expected == pytest.approx(ours)


@settings(max_examples=40)
@given(st.integers(1, 12), st.integers(0, 12), st.integers(0, 12))
def test_drawing_against_hypergeom(clean: int, mouldy: int, drawn: int) -> None:
    """scipy.stats.hypergeom, every value it can take."""
    whole = clean + mouldy
    drawn = min(drawn, whole)
    theirs = stats.hypergeom(whole, mouldy, drawn)
    for found, chance in drawn_sum([1] * mouldy + [0] * clean, drawn).items():
        assert theirs.pmf(found) == pytest.approx(chance)


@settings(max_examples=60)
@given(st.lists(tables, min_size=1, max_size=5))
def test_strata_against_convolved_hypergeoms(
    strata: list[tuple[int, int, int, int]],
) -> None:
    """Stratified exact test: scipy's hypergeometrics, convolved by numpy."""
    whole = np.array([1.0])
    found = 0
    for a, b, c, d in strata:
        if 0 in (a + b, c + d):
            continue
        whole = np.convolve(
            whole, stats.hypergeom(a + b + c + d, a + c, a + b).pmf(range(a + b + 1))
        )
        found += a
    ours = compared(units(row(table), 1) for table in strata)
    if ours is None:
        assert whole.tolist() == [1.0]
    else:
        assert whole[found:].sum() == pytest.approx(ours.p)


@settings(max_examples=40)
@given(st.lists(st.tuples(st.integers(1, 11), st.booleans()), min_size=1, max_size=20))
def test_one_tray_of_twelve_against_poisson_binomial(
    batches: list[tuple[int, bool]],
) -> None:
    """scipy.stats.poisson_binom: the tray is mouldy with chance (mouldy trays)/12."""
    rows = [
        units(row((mine, 1 - mine, many - mine, 11 - many + mine)), 1)
        for many, mine in batches
    ]
    found = sum(mine for _, mine in batches)
    theirs = stats.poisson_binom([many / 12 for many, _ in batches])
    ours = compared(rows)
    assert ours is not None
    assert theirs.sf(found - 1) == pytest.approx(ours.p)


def test_binomial_against_binom() -> None:
    """scipy.stats.binom, also where the number of ways overflows a float."""
    for tries, rate in ((14, 0.64), (2190, 0.002), (5, 0.0), (5, 1.0)):
        theirs = stats.binom(tries, rate)
        ours = binomial(tries, rate, 1e-12)
        assert sum(ours.values()) == pytest.approx(1)
        for found, chance in ours.items():
            assert theirs.pmf(found) == pytest.approx(chance)


@pytest.mark.parametrize("times", [1.5, 4, 15])
@pytest.mark.parametrize(("mouldy", "clean", "drawn"), [(3, 9, 4), (10, 18, 14)])
def test_lean_against_nchypergeom_fisher(
    mouldy: int, clean: int, drawn: int, times: float
) -> None:
    """scipy.stats.nchypergeom_fisher: the odds are ``times`` to one."""
    chances = leaned(drawn_sum([1] * mouldy + [0] * clean, drawn), times, 1)
    theirs = stats.nchypergeom_fisher(mouldy + clean, mouldy, drawn, times)
    for found, chance in chances.items():
        assert theirs.pmf(found) == pytest.approx(chance, rel=1e-6)


@given(st.lists(st.integers(0, 6), min_size=1, max_size=20))
def test_ranks_against_rankdata(values: list[int]) -> None:
    """scipy.stats.rankdata, average ranks for ties."""
    assert [2 * r for r in stats.rankdata(values)] == doubled_ranks(values)


@settings(max_examples=30)
@given(
    st.lists(st.integers(0, 5), min_size=2, max_size=8),
    st.lists(st.integers(0, 5), min_size=2, max_size=8),
)
def test_rank_sum_with_ties_against_permutation_test(
    mine: list[int], rest: list[int]
) -> None:
    """scipy.stats.permutation_test, every split of the tied ranks counted."""
    if sum(map(len, (mine, rest))) > 12:
        mine, rest = mine[:6], rest[:6]
    ranks = doubled_ranks([*mine, *rest])
    theirs = stats.permutation_test(
        (ranks[: len(mine)], ranks[len(mine) :]),
        lambda x, y: np.sum(x),
        alternative="greater",
        n_resamples=np.inf,
    )
    ours = at_least(drawn_sum(ranks, len(mine)), sum(ranks[: len(mine)]))
    assert theirs.pvalue == pytest.approx(ours)


@pytest.mark.parametrize("rate", [0.02, 0.08, 0.25])
def test_chart_limits_against_geom(rate: float) -> None:
    """scipy.stats.geom: the middle gap, and the gap that 0.135 % go beyond."""
    limits = geometric_limits(rate)
    assert stats.geom(rate).median() == limits.centre
    assert stats.geom(rate).isf(0.00135) == limits.high


def test_a_lot_sown_in_turn_is_judged_by_fisher_inside_each_fortnight() -> None:
    """Two lots by turns for 28 days, through the whole search: two Fisher tables."""
    mouldy = {0, 2, 4, 6, 8, 15, 16, 18, 20, 22, 24}
    batches = [
        Batch(
            f"B{day:02d}",
            date(2031, 3, 3) + timedelta(day),
            (
                TrayOutcome(
                    f"T{day}", Outcome.MOULD if day in mouldy else Outcome.NO_MOULD
                ),
            ),
            (Lot("LA" if day % 2 == 0 else "LB"),),
        )
        for day in range(28)
    ]
    # from the lot's first to its last day: 27 days, cut after the 14th
    first = stats.hypergeom(14, 5, 7).pmf(range(8))
    second = stats.hypergeom(13, 6, 7).pmf(range(8))
    expected = np.convolve(first, second)[10:].sum()
    best = find_causes(batches).ranked[0]
    assert (best.name, best.found) == ("Lot LA", 10)
    assert expected == pytest.approx(best.p)


def test_independent_strata_add_as_convolution() -> None:
    """numpy.convolve on the same two rows."""
    parts = [drawn_sum([1, 1, 0], 1), drawn_sum([1, 0, 0, 0], 2)]
    theirs = np.convolve([1 / 3, 2 / 3], [1 / 2, 1 / 2])
    assert theirs.tolist() == pytest.approx([added(parts)[k] for k in (0, 1, 2)])
