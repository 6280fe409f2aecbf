"""Injectors and proportioners, both ways."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hygiene.errors import WronglyPut
from hygiene.sanitising.injector import (
    Ratio,
    Season,
    feed_ml_per_min,
    gives_mg_per_l,
    inject,
    injected,
    proportioned,
    read_ratio,
)
from hygiene.sanitising.strength import read_strength

BLEACH = read_strength("125 g/L")
POWDER = read_strength("65 % w/w", solid=True)


@given(st.floats(0.1, 1000), st.floats(0.1, 500))
def test_feeding_and_its_way_back(flow: float, target: float):
    """The feed for a strength gives that strength."""
    feed = feed_ml_per_min(flow, target, BLEACH)
    assert gives_mg_per_l(feed / 1000, flow, BLEACH) == pytest.approx(target)


def test_what_the_water_holds_is_not_fed_again():
    """From 0.5 to 2 mg/L is a feed for 1.5."""
    values = inject(10, 2, BLEACH, background_mg_per_l=0.5).values
    assert values["feed_ml_per_min"] == pytest.approx(10 * 1.5 / 125, rel=1e-4)


@pytest.mark.parametrize(
    ("text", "in_all"),
    [("1:100", 101), ("1 to 100", 101), ("1 in 100", 100), ("1 %", 100),
     ("0.5%", 200), ("1:64", 65), ("1 TO 50", 51)],
)  # fmt: skip
def test_to_and_in_are_told_apart(text: str, in_all: float):
    """1 part to R makes R + 1 parts, 1 in R makes R."""
    assert in_all == pytest.approx(read_ratio(text).in_all)


@pytest.mark.parametrize(
    "text", ["", "100", "1:0", "2:100", "1:-5", "1:nan", "0 %", "101 %", "1/100", "1:"]
)
def test_what_is_no_ratio_is_refused(text: str):
    """One to something, of at least one."""
    with pytest.raises(WronglyPut):
        read_ratio(text)


@given(st.floats(1, 500), st.booleans(), st.floats(0.1, 100))
def test_a_proportioner_gives_back_what_was_asked(
    parts: float, counts_all: bool, target: float
):
    """One part of concentrate in all of its parts is the strength wanted."""
    ratio = Ratio(parts, counts_all)
    values = inject(10, target, BLEACH, ratio=ratio).values
    concentrate = read_strength(f"{values['concentrate_mg_per_l']:.6f} mg/L")
    assert proportioned(ratio, concentrate).values["gives_mg_per_l"] == pytest.approx(
        target, rel=1e-4
    )
    drawn = values["concentrate_ml_per_min"] / 1000
    assert drawn * ratio.in_all == pytest.approx(10)


def test_the_other_reading_is_shown():
    """The same 1:100 by the other custom differs by a hundredth, and is told."""
    values = inject(10, 5, BLEACH, ratio=Ratio(100)).values
    assert values["concentrate_mg_per_l"] == pytest.approx(505)
    assert values["concentrate_if_read_the_other_way_mg_per_l"] == pytest.approx(500)


def test_a_product_too_weak_for_the_ratio_is_refused():
    """No concentrate is stronger than the product it is made of."""
    with pytest.raises(WronglyPut, match="at most"):
        inject(10, 50, read_strength("5 g/L"), ratio=Ratio(200))


def test_a_season_is_water_times_dose():
    """400 L a day for 120 days at 1 mg/L takes 384 ml of 125 g/L."""
    values = inject(8, 1, BLEACH, season=Season(400, 120)).values
    assert values["season_product_l"] == pytest.approx(0.384)


def test_a_measured_feed_says_what_it_gives():
    """2 ml/min into 10 L/min of 125 g/L is 25 mg/L."""
    assert injected(0.002, 10, BLEACH).values["gives_mg_per_l"] == pytest.approx(25)


@pytest.mark.parametrize(
    "ask",
    [
        lambda: feed_ml_per_min(10, 5, POWDER),
        lambda: injected(0.001, 10, POWDER),
        lambda: proportioned(Ratio(100), POWDER),
        lambda: injected(11, 10, BLEACH),
    ],
)
def test_a_solid_or_too_much_is_refused(ask):
    """A powder is not injected, and no feed is more than the flow."""
    with pytest.raises(WronglyPut):
        ask()
