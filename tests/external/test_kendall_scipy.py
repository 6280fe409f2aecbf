"""The Mann-Kendall test against scipy: Kendall's tau with time, and a permutation test.

Source: ``scipy.stats.kendalltau(method="exact")`` for rows without ties, and the exact
``scipy.stats.permutation_test`` of S for rows with ties and censored results.
"""

from __future__ import annotations

from random import Random

import numpy as np
import pytest
from scipy import stats

from hygiene.water.kendall import mann_kendall

RNG = Random(20260301)
PLAIN = [[RNG.gauss(n * slope, 1) for n in range(8)]
         for slope in (0, 0, 0.3, -0.3, 0.8, -0.8) for _ in range(8)]  # fmt: skip
TIED = [[float(RNG.choice((-9, 1, 2, 3, 9))) for _ in range(6)] for _ in range(8)]


@pytest.mark.parametrize("values", PLAIN, ids=range(len(PLAIN)))
def test_without_ties_it_is_kendalls_tau_with_time(values: list[float]) -> None:
    """S = tau x pairs, and the same exact chance."""
    made = mann_kendall(values)
    tau, p = stats.kendalltau(range(8), values, method="exact")
    assert made.s == pytest.approx(tau * 28)
    assert made.p == pytest.approx(p, rel=1e-9)


def s_of(values: np.ndarray, axis: int = -1) -> np.ndarray:
    rows = np.moveaxis(values, axis, -1)
    later, earlier = np.triu_indices(rows.shape[-1], 1)[::-1]
    return np.sign(rows[..., later] - rows[..., earlier]).sum(axis=-1)


@pytest.mark.parametrize("values", TIED, ids=range(len(TIED)))
def test_with_ties_it_is_the_share_of_all_orders(values: list[float]) -> None:
    """Every order of the same values counts as likely as every other."""
    made = mann_kendall(values)
    found = stats.permutation_test(
        (np.array(values),),
        lambda x, axis: np.abs(s_of(x, axis)),
        permutation_type="pairings",
        n_resamples=np.inf,
        alternative="greater",
        vectorized=True,
    )
    assert made.p == pytest.approx(found.pvalue, rel=1e-9)
