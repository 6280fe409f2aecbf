"""Plate counts: weighted mean, exact interval, plates that cannot be counted."""

from __future__ import annotations

import math

import pytest

from hygiene.water.counts import BadPlates, count, plate_count, plates, poisson_interval


def test_colonies_of_all_plates_over_all_that_was_plated():
    """Two plates of 1 ml and one of 0.1 ml: 84 / 2.1 ml."""
    found = count(plates((42, 38, 4), (1, 1, 0.1)))
    assert found.per_one == pytest.approx(84 / 2.1)
    assert found.low < found.per_one < found.high


def test_no_colony_is_less_than_one_in_all_that_was_plated():
    """Nothing on two plates of 1 ml: < 0.5 per ml, at most 1.84 at 97.5 %."""
    found = count(plates((0, 0), (1, 1)))
    assert found.sign == "<"
    assert found.per_one == pytest.approx(0.5)
    assert math.exp(-2 * found.high) == pytest.approx(0.025)


def test_too_many_to_count_is_more_than_the_most_in_the_least():
    """No plate can be counted: > 300 in the smallest amount, no upper end."""
    found = count(plates((None, 400), (1, 0.1)))
    assert found.sign == ">"
    assert found.per_one == pytest.approx(3000)
    assert plate_count(plates((None,), (1,))).values["high_per_100ml"] is None


def test_a_crowded_plate_is_left_out_and_it_is_said():
    """A plate of more than 300 does not count where another can be counted."""
    answer = plate_count(plates((400, 35), (1, 0.1)))
    assert answer.values["count_per_100ml"] == pytest.approx(35000)
    assert any("left out" in line for line in answer.warnings)


def test_moulds_are_crowded_from_150():
    """Mould colonies run together: 200 on a plate is no count."""
    assert (
        plate_count(plates((200,), (0.1,)), unit="g", mould=True).values["sign"] == ">"
    )
    assert plate_count(plates((200,), (0.1,)), unit="g").values["sign"] == "="


def test_few_colonies_are_called_an_estimate():
    """Fewer than ten colonies say little."""
    assert any("estimate" in w for w in plate_count(plates((3,), (100,))).warnings)


@pytest.mark.parametrize("seen", [1, 7, 50, 300])
def test_each_end_of_the_interval_leaves_one_in_forty(seen):
    """P(seen or more) at the low end and P(seen or fewer) at the high end: 0.025."""
    low, high = poisson_interval(seen)

    def at_most(number, mean):
        return math.fsum(
            math.exp(k * math.log(mean) - mean - math.lgamma(k + 1))
            for k in range(number + 1)
        )

    assert 1 - at_most(seen - 1, low) == pytest.approx(0.025, abs=1e-9)
    assert at_most(seen, high) == pytest.approx(0.025, abs=1e-9)


@pytest.mark.parametrize(
    ("colonies", "amounts", "why"),
    [
        ((1, 2), (1,), "as many"),
        ((-1,), (1,), "cannot be counted"),
        ((1,), (0,), "cannot be"),
        ((1,), (math.nan,), "cannot be"),
        ((), (), "plates"),
    ],
)
def test_plates_that_cannot_be_are_refused(colonies, amounts, why):
    """One clear line, no number."""
    with pytest.raises(BadPlates, match=why):
        plates(colonies, amounts)
