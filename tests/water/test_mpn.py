"""Most probable number: estimate, interval, rarity, odd rows."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hygiene.water.mpn import BadTubes, dilutions, most_probable_number, mpn


def rows(positive, tubes=(5, 5, 5), volumes=(10, 1, 0.1)):
    return dilutions(tubes, volumes, positive)


@st.composite
def mixed_rows(draw):
    """Rows with at least one positive and one negative tube."""
    count = draw(st.integers(1, 4))
    tubes = [draw(st.integers(1, 12)) for _ in range(count)]
    volumes = [draw(st.floats(0.001, 100)) for _ in range(count)]
    positive = [draw(st.integers(0, n)) for n in tubes]
    if sum(positive) in (0, sum(tubes)):
        tubes[0] += 1
        positive[0] = 1
    return dilutions(tubes, volumes, positive)


@given(mixed_rows())
@settings(max_examples=150)
def test_the_estimate_solves_its_equation(made):
    """Sum p a / (1 - e^(-L a)) = sum t a at the estimate."""
    found = mpn(made).per_ml
    left = sum(
        r.positive * r.volume_ml / -math.expm1(-found * r.volume_ml) for r in made
    )
    right = sum(r.tubes * r.volume_ml for r in made)
    assert left == pytest.approx(right, rel=1e-9)


@given(mixed_rows())
@settings(max_examples=150)
def test_the_interval_holds_the_estimate_evenly_on_the_log_scale(made):
    """Low x high = estimate squared, and rarity lies from 0 to 1."""
    found = mpn(made)
    assert found.low_per_ml < found.per_ml < found.high_per_ml
    product = found.low_per_ml * found.high_per_ml
    assert product == pytest.approx(found.per_ml**2)
    assert 0 <= found.rarity_index <= 1


@given(mixed_rows(), st.floats(0.01, 100))
@settings(max_examples=100)
def test_ten_times_the_volume_is_a_tenth_of_the_number(made, factor):
    """Only the volume sets the scale."""
    scaled = dilutions(
        [r.tubes for r in made],
        [r.volume_ml * factor for r in made],
        [r.positive for r in made],
    )
    assert mpn(made).per_ml / factor == pytest.approx(mpn(scaled).per_ml)


def test_one_more_positive_tube_is_never_fewer_organisms():
    """The estimate rises with every positive tube."""
    found = [mpn(rows((5, p, 0))).per_ml for p in range(5)]
    assert found == sorted(found)


def test_all_negative_is_less_than_one_positive_in_the_largest_volume():
    """Nothing grew: below the value of one positive in the largest volume."""
    found = mpn(rows((0, 0, 0)))
    assert found.sign == "<"
    assert found.per_ml == mpn(rows((1, 0, 0))).per_ml
    assert found.low_per_ml == 0
    assert math.exp(-55.5 * found.high_per_ml) == pytest.approx(0.025)


def test_all_positive_is_more_than_one_negative_in_the_smallest_volume():
    """All grew: above the value of one negative in the smallest volume."""
    found = mpn(rows((5, 5, 5)))
    assert found.sign == ">"
    assert found.per_ml == mpn(rows((5, 5, 4))).per_ml
    low = found.low_per_ml
    chance = math.prod((1 - math.exp(-low * a)) ** 5 for a in (10, 1, 0.1))
    assert chance == pytest.approx(0.025)
    assert math.isinf(found.high_per_ml)


@pytest.mark.parametrize("positive", [0, 1])
def test_a_lone_tube_still_gives_a_bound(positive):
    """One tube of one volume has no maximum, but it has an exact bound."""
    found = mpn(dilutions((1,), (1,), (positive,)))
    assert found.sign == "<>"[positive]
    assert 0 < found.per_ml < math.inf


def test_largest_and_smallest_are_found_in_any_order():
    """The order in which the dilutions are written does not matter."""
    ahead = mpn(rows((0, 0, 0)))
    back = mpn(dilutions((5, 5, 5), (0.1, 1, 10), (0, 0, 0)))
    assert ahead.per_ml == back.per_ml
    assert mpn(rows((5, 2, 1))).per_ml == pytest.approx(
        mpn(dilutions((5, 5, 5), (0.1, 1, 10), (1, 2, 5))).per_ml
    )


@pytest.mark.parametrize(
    ("tubes", "volumes", "positive", "why"),
    [
        ((5, 5), (10, 1, 0.1), (5, 2, 0), "as many of each"),
        ((5, 5, 5), (10, 1, 0.1), (6, 2, 0), "6 positive of 5"),
        ((5, 5, 5), (10, 1, 0.1), (5, -1, 0), "-1 positive"),
        ((5, 0, 5), (10, 1, 0.1), (5, 0, 0), "tubes"),
        ((5, 5, 5), (10, 0, 0.1), (5, 2, 0), "cannot be"),
        ((5, 5, 5), (10, math.nan, 0.1), (5, 2, 0), "cannot be"),
        ((), (), (), "dilutions"),
    ],
)
def test_tubes_that_cannot_be_are_refused(tubes, volumes, positive, why):
    """More positives than tubes, no tubes, no volume: one clear line."""
    with pytest.raises(BadTubes, match=why):
        dilutions(tubes, volumes, positive)


def test_a_very_rare_outcome_is_called_doubtful():
    """0-2-5 cannot come about by chance: tubes or dilutions were mixed up."""
    answer = most_probable_number(rows((0, 2, 5)))
    assert answer.values["rarity_category"] == 3
    assert answer.warnings


def test_an_ordinary_outcome_draws_no_warning():
    """5-2-0 is the likeliest outcome at its own number."""
    answer = most_probable_number(rows((5, 2, 0)))
    assert answer.values["rarity_category"] == 1
    assert answer.values["rarity_index"] == pytest.approx(1)
    assert not answer.warnings


def test_the_working_can_be_redone_on_paper():
    """The equation stands there with the numbers put in, and its solution."""
    text = "\n".join(most_probable_number(rows((5, 2, 0))).steps)
    assert "5 x 10 / (1 - e^(-10 L)) + 2 x 1 / (1 - e^(-1 L)) = 55.5" in text
    left = 50 / (1 - math.exp(-10 * 0.49322)) + 2 / (1 - math.exp(-0.49322))
    assert "L = 0.49322" in text
    assert left == pytest.approx(55.5, abs=1e-3)
