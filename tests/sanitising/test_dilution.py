"""Dilution: the active is conserved, and the volume is what was asked for."""

from __future__ import annotations

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from hygiene.errors import Refused, WronglyPut
from hygiene.sanitising.dilution import (
    dilute,
    made_from,
    mixing_card,
    product_needed,
    strength_given,
    work_out,
)
from hygiene.sanitising.measuring import Label, Tool, read_tool
from hygiene.sanitising.strength import Strength, read_strength

BLEACH = read_strength("125 g/L")
POWDER = read_strength("65 % w/w", solid=True)
JUG = read_tool("100 ml jug, 10 ml marks")

stocks = st.builds(
    Strength,
    st.just("made up"),
    st.sampled_from(["chlorine", "peracetic acid", "quat"]),
    st.floats(5, 700),
    st.sampled_from(["ml", "g"]),
)
targets = st.floats(0.1, 4000)
volumes = st.floats(0.1, 5000)


def test_made_up_to_the_volume():
    """Product and water together are the 60 L."""
    values = dilute(BLEACH, 200, made_l=60).values
    assert values["product_ml"] == pytest.approx(96)
    assert values["water_l"] == pytest.approx(59.904)
    assert values["made_l"] == 60
    assert values["parts_water"] == pytest.approx(624)


def test_a_powder_is_weighed():
    """1000 L at 50 mg/L from 65 %: 76.9 g, and the water is the volume."""
    values = dilute(POWDER, 50, made_l=1000).values
    assert values["product_g"] == pytest.approx(76.923, rel=1e-4)
    assert values["water_l"] == 1000
    assert "product_ml" not in values


@given(stocks, targets, volumes, st.floats(0, 50))
def test_the_active_is_conserved(
    stock: Strength, target: float, made_l: float, background: float
):
    """What goes in with product and water is what the made solution holds."""
    assume(background < target)
    product = product_needed(stock, target, made_l, background)
    water_l = made_l - (0 if stock.solid else product / 1000)
    held_mg = product * stock.mg_per_unit + water_l * background
    assert held_mg == pytest.approx(target * made_l, rel=1e-9)


@given(stocks, targets, volumes, st.floats(0.1, 50))
def test_never_weaker_than_asked(
    stock: Strength, target: float, made_l: float, mark: float
):
    """Rounded to the tool's marks, the nominal strength is at least what was asked."""
    tool = Tool("tool", 100 * mark, mark, stock.unit)
    assume(tool.round_up(product_needed(stock, target, made_l)) < made_l * 1000)
    done = work_out(stock, target, made_l, tool=tool)
    assert done.given_mg_per_l >= target * (1 - 1e-6)
    assert done.low_mg_per_l <= done.given_mg_per_l <= done.high_mg_per_l


@given(stocks, st.floats(0.001, 1), volumes, volumes)
def test_more_water_is_weaker(
    stock: Strength, product: float, made_l: float, more_l: float
):
    """The same product in a larger volume gives less."""
    assume(more_l > made_l * 1.0001)
    weaker = strength_given(stock, product, more_l)
    assert weaker < strength_given(stock, product, made_l)


@given(stocks, targets, volumes)
def test_twice_the_volume_is_twice_the_product(
    stock: Strength, target: float, made_l: float
):
    """Adding the same volume twice equals once the double."""
    once = product_needed(stock, target, made_l)
    assert product_needed(stock, target, 2 * made_l) == pytest.approx(2 * once)


@given(stocks, targets, volumes, st.floats(0, 50))
def test_topping_up_agrees_with_making_up(
    stock: Strength, target: float, water_l: float, background: float
):
    """V_water (Cf - Cb) / (Cs - Cf) is the same product as made up to the sum."""
    assume(background < target < stock.mg_per_l)
    made_l = made_from(stock, target, water_l, background)
    product = product_needed(stock, target, made_l, background)
    if stock.solid:
        assert made_l == water_l
        return
    by_rule = water_l * (target - background) / (stock.mg_per_l - target) * 1000
    assert product == pytest.approx(by_rule, rel=1e-6)


def test_a_tank_that_holds_some_needs_less():
    """1000 L at 0.5 mg/L brought to 5 mg/L takes 36 ml of 125 g/L, not 40."""
    values = dilute(BLEACH, 5, into_l=1000, background_mg_per_l=0.5).values
    assert values["product_ml"] == pytest.approx(36.0014, rel=1e-5)
    assert values["made_l"] == pytest.approx(1000.036)


def test_the_jug_says_what_it_really_gives():
    """96 ml in 10 ml marks is 100 ml: 208.3 mg/L, from 197.9 to 218.8."""
    values = dilute(BLEACH, 200, made_l=60, tool=JUG).values
    assert values["product_ml"] == pytest.approx(100)
    assert values["exact_ml"] == pytest.approx(96)
    assert values["given_mg_per_l"] == pytest.approx(208.333, rel=1e-5)
    assert values["low_mg_per_l"] == pytest.approx(197.917, rel=1e-5)
    assert values["high_mg_per_l"] == pytest.approx(218.75, rel=1e-5)


def test_too_small_for_the_marks_is_said():
    """2 ml in 10 ml marks calls for a finer tool or two steps."""
    answer = dilute(BLEACH, 50, made_l=5, tool=JUG)
    assert any("--two-step" in said for said in answer.warnings)


def test_an_assumed_misreading_is_called_so():
    """Without a tool the 5 % is an assumption, and says that it has no source."""
    answer = dilute(BLEACH, 200, made_l=60)
    assert answer.values["low_mg_per_l"] == pytest.approx(190)
    assert any("no source" in said for said in answer.warnings)


def test_a_plan_against_the_label_is_refused():
    """300 ppm where the label allows 200 gives no number."""
    with pytest.raises(Refused):
        dilute(BLEACH, 300, made_l=60, label=Label(50, 200))


def test_an_end_outside_the_label_is_a_finding():
    """Asked within the label, but the jug's high end is above it."""
    answer = dilute(BLEACH, 200, made_l=60, label=Label(50, 210), tool=JUG)
    assert answer.findings


@pytest.mark.parametrize(
    ("target", "background"), [(125001, 0), (5, 5), (5, 6), (200000, 0)]
)
def test_what_no_mixing_gives_is_refused(target: float, background: float):
    """A target above the product, or one that the water holds already."""
    with pytest.raises(WronglyPut):
        dilute(BLEACH, target, made_l=60, background_mg_per_l=background)


def test_neat_product_is_no_dilution_but_possible():
    """The target may equal the product: no water."""
    values = dilute(BLEACH, 125000, made_l=1).values
    assert values["water_l"] == pytest.approx(0)


@pytest.mark.parametrize(("made_l", "into_l"), [(None, None), (5.0, 5.0)])
def test_one_volume_has_to_be_said(made_l: float | None, into_l: float | None):
    """Made up to, or into: one of them."""
    with pytest.raises(WronglyPut):
        dilute(BLEACH, 200, made_l=made_l, into_l=into_l)


def test_marks_wider_than_the_vessel_are_refused():
    """A 10 ml mark does not make 5 ml of anything."""
    with pytest.raises(WronglyPut):
        dilute(BLEACH, 60000, made_l=0.005, tool=JUG)


def test_every_answer_can_be_redone_and_is_cautioned():
    """Numbers put in, a source, cautions."""
    answer = dilute(BLEACH, 200, made_l=60)
    assert any("60 L x 200 mg/L / 125" in step for step in answer.steps)
    assert answer.source
    assert answer.cautions


def test_the_card_agrees_with_the_single_sum():
    """Each cell of the card is the dilution of its row and column."""
    card = mixing_card(BLEACH, [100, 200], [5, 60]).values
    assert [row["product"] for row in card["rows"]] == [
        [pytest.approx(4), pytest.approx(8)],
        [pytest.approx(48), pytest.approx(96)],
    ]
    assert card["parts_water"] == [pytest.approx(1249), pytest.approx(624)]


def test_the_card_keeps_to_the_label():
    """No column for the wall that the label does not allow."""
    with pytest.raises(Refused):
        mixing_card(BLEACH, [100, 500], [5], label=Label(None, 200))
