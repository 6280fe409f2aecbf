"""Most probable number and plate counts against published values and other solvers.

Sources: FDA BAM appendix 2 tables and its solver's printed example (version 2002);
APHA Standard Methods 9221; Blodgett 2002, 2005 and Jarvis and others 2010 as they are
quoted in the test suite of the FDA authors' R package MPN; scipy; a binomial model with
complementary log-log link, fitted by hand.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.optimize import minimize_scalar
from scipy.stats import binom, chi2

from hygiene.water.counts import poisson_interval
from hygiene.water.mpn import dilutions, mpn

WATER = (10, 1, 0.1)
FOOD = (0.1, 0.01, 0.001)


def two_figures(value: float) -> float:
    return float(f"{value:.2g}")


@pytest.mark.parametrize(
    ("tubes", "volumes", "positive", "per_100"),
    [
        # APHA 9221, tubes of 10, 1 and 0.1 ml, per 100 ml
        (3, WATER, (1, 1, 1), 11),
        (3, WATER, (2, 1, 0), 15),
        (3, WATER, (3, 1, 0), 43),
        (5, WATER, (1, 1, 1), 6.1),
        (5, WATER, (2, 1, 0), 6.8),
        (5, WATER, (3, 1, 0), 11),
        (5, WATER, (5, 1, 0), 33),
        (5, WATER, (5, 2, 0), 49),
        # FDA BAM appendix 2, tables 1-3 (0.1, 0.01, 0.001 g), per gram x 100
        (3, FOOD, (0, 0, 1), 300),
        (3, FOOD, (1, 1, 1), 1100),
        (3, FOOD, (2, 2, 0), 2100),
        (3, FOOD, (3, 3, 2), 110000),
        (5, FOOD, (0, 0, 1), 180),
        (5, FOOD, (1, 2, 0), 610),
        (5, FOOD, (4, 0, 2), 2100),
        (5, FOOD, (5, 5, 4), 160000),
        (10, FOOD, (0, 0, 1), 90),
        (10, FOOD, (3, 2, 2), 750),
        (10, FOOD, (8, 2, 0), 1700),
        (10, FOOD, (10, 10, 9), 230000),
    ],
)
def test_three_dilutions_of_the_printed_tables(tubes, volumes, positive, per_100):
    """To the two figures that are printed."""
    found = mpn(dilutions((tubes,) * 3, volumes, positive))
    assert two_figures(100 * found.per_ml) == per_100


@pytest.mark.parametrize(
    ("positive", "per_100"),
    [
        ((5, 0, 0), 23), ((5, 0, 1), 31), ((5, 1, 1), 46), ((5, 2, 1), 70),
        ((5, 3, 0), 79), ((5, 3, 1), 110), ((5, 4, 0), 130), ((5, 4, 1), 170),
        ((5, 5, 0), 240), ((5, 5, 1), 350), ((5, 5, 2), 540), ((5, 5, 3), 920),
    ],
)  # fmt: skip
def test_five_tubes_of_the_printed_table_from_memory(positive, per_100):
    """FDA BAM table 2 / APHA 9221:IV, 5 tubes of 10, 1, 0.1 ml: from memory."""
    found = mpn(dilutions((5, 5, 5), WATER, positive))
    assert two_figures(100 * found.per_ml) == per_100


@pytest.mark.parametrize(("positive", "per_100"), [(1, 1.1), (5, 6.9), (9, 23)])
def test_ten_tubes_of_ten_ml(positive, per_100):
    """FDA BAM appendix 2, table 5."""
    found = mpn(dilutions((10,), (10,), (positive,)))
    assert two_figures(100 * found.per_ml) == per_100


def test_the_bam_solvers_printed_example():
    """Version 2002, 10 tubes each, 5-3-0: MPN, limits, standard error, ratio."""
    found = mpn(dilutions((10, 10, 10), FOOD, (5, 3, 0)))
    assert found.per_ml == pytest.approx(9.951, abs=0.001)
    # its limits are worked from the logarithm rounded to three places
    assert found.low_per_ml == pytest.approx(4.891, rel=1e-3)
    assert found.high_per_ml == pytest.approx(20.263, rel=1e-3)
    error = math.log10(found.high_per_ml / found.per_ml) / 1.96
    assert error == pytest.approx(0.1575, abs=5e-5)
    assert found.rarity_index == pytest.approx(9.25e-2, rel=1e-3)


@pytest.mark.parametrize(
    ("tubes", "volumes", "positive", "index"),
    [
        ((5, 5, 5), (1, 0.1, 0.01), (3, 0, 0), 1.0),
        ((5, 5, 5), (1, 0.1, 0.01), (2, 1, 0), 0.354),
        ((5, 5, 5), (1, 0.1, 0.01), (3, 4, 0), 2.51e-3),
        ((5, 5, 5), (1, 0.1, 0.01), (3, 3, 1), 2.34e-3),
        ((5, 5, 5), (1, 0.1, 0.01), (0, 4, 1), 5.85e-7),
        ((5, 5, 5), (1, 0.1, 0.01), (0, 2, 5), 2.91e-13),
        ((5, 5, 4), FOOD, (4, 2, 2), 1.02e-3),
        ((7, 5, 7), FOOD, (3, 0, 2), 1.15e-3),
        ((9, 3, 4), FOOD, (2, 3, 4), 6.34e-13),
    ],
)
def test_rarity_by_blodgett(tubes, volumes, positive, index):
    """Blodgett 2002 (table 4) and 2005: the index to its printed figures."""
    found = mpn(dilutions(tubes, volumes, positive))
    assert found.rarity_index == pytest.approx(index, rel=5e-3)


@pytest.mark.parametrize(
    ("tubes", "volumes", "positive", "value", "low", "high", "index"),
    [
        ((3, 3, 3), (1, 0.1, 0.01), (2, 2, 0), 2.1, 0.71, 6.2, 0.069),
        ((3, 3, 3), (1, 0.1, 0.01), (3, 1, 1), 7.5, 1.9, 30, 0.209),
        ((50, 49, 49), (2, 0.2, 0.02), (50, 34, 7), 6.2, 4.5, 8.6, 0.746),
    ],
)
def test_interval_by_jarvis(tubes, volumes, positive, value, low, high, index):
    """Jarvis, Wilrich, Wilrich 2010, tables 1 and 2: within 2.5 % of the print."""
    found = mpn(dilutions(tubes, volumes, positive))
    assert found.per_ml == pytest.approx(value, rel=0.025)
    assert found.low_per_ml == pytest.approx(low, rel=0.025)
    assert found.high_per_ml == pytest.approx(high, rel=0.025)
    assert found.rarity_index == pytest.approx(index, rel=0.01)


def test_ends_of_the_scale_by_jarvis():
    """Table 1: all negative of 3 x 3, at most 1.1; all positive, at least 36."""
    assert mpn(dilutions((3,) * 3, (1, 0.1, 0.01), (0, 0, 0))).high_per_ml == (
        pytest.approx(1.1, abs=0.05)
    )
    assert mpn(dilutions((3,) * 3, (1, 0.1, 0.01), (3, 3, 3))).low_per_ml == (
        pytest.approx(36, abs=0.5)
    )


OUTCOMES = [(5, 2, 0), (1, 1, 1), (5, 5, 4), (0, 1, 0), (4, 3, 2), (2, 0, 0)]


@pytest.mark.parametrize("positive", OUTCOMES)
def test_against_scipys_likelihood(positive):
    """scipy: the likelihood's top, and its curvature on log L for the interval."""
    volumes = np.array(WATER)

    def against(log_l):
        chance = -np.expm1(-math.exp(log_l) * volumes)
        return -binom.logpmf(positive, 5, chance).sum()

    top = minimize_scalar(against, bounds=(-8, 6), method="bounded",
                          options={"xatol": 1e-10}).x  # fmt: skip
    step = 1e-3
    curve = (against(top + step) - 2 * against(top) + against(top - step)) / step**2
    found = mpn(dilutions((5, 5, 5), WATER, positive))
    assert math.log(found.per_ml) == pytest.approx(top, abs=1e-5)
    width = math.log(found.high_per_ml / found.per_ml)
    assert width == pytest.approx(1.959964 / math.sqrt(curve), rel=1e-4)


@pytest.mark.parametrize("positive", OUTCOMES)
def test_against_a_generalised_linear_model(positive):
    """Binomial, complementary log-log link, offset log volume: fitted by scoring."""
    volumes, tubes = np.array(WATER), np.array((5.0, 5.0, 5.0))
    log_l = math.log(sum(positive) / float(volumes @ tubes))
    for _ in range(200):
        mean = np.exp(log_l + np.log(volumes))
        chance, none = -np.expm1(-mean), np.exp(-mean)
        weight = tubes * mean**2 * none / chance
        score = (np.array(positive) - tubes * chance) * mean / chance
        log_l += float(np.clip(score.sum() / weight.sum(), -1, 1))
    found = mpn(dilutions((5, 5, 5), WATER, positive))
    assert math.log(found.per_ml) == pytest.approx(log_l, abs=1e-8)


@pytest.mark.parametrize("seen", [0, 1, 5, 42, 300, 5000])
def test_exact_poisson_interval_against_chi_square(seen):
    """Garwood 1936 by scipy's chi-square quantiles."""
    low, high = poisson_interval(seen)
    assert low == pytest.approx(chi2.ppf(0.025, 2 * seen) / 2 if seen else 0)
    assert high == pytest.approx(chi2.ppf(0.975, 2 * seen + 2) / 2)
