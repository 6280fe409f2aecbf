"""Ageing of hypochlorite: monotone, never above the label, chlorate beside it."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hygiene.errors import Refused, WronglyPut
from hygiene.sanitising.ageing import (
    Can,
    CannotAge,
    Dose,
    Kept,
    age,
    chlorate_g_per_l,
    days_to_fraction,
    fraction_at_chlorate,
    half_life_days,
    ionic_strength,
    rate_per_molar_second,
    read_history,
    strength_on,
)
from hygiene.sanitising.measuring import Label
from hygiene.sanitising.strength import read_strength

BLEACH = read_strength("125 g/L")
MADE = date(2026, 1, 1)
CAN = Can(BLEACH, MADE)
JUNE = date(2026, 6, 1)

strengths = st.floats(20, 180)
spans = st.floats(0.1, 2000)
temps = st.floats(0, 50)


def test_half_life_is_when_half_is_left():
    """After one half-life half of the strength is left."""
    rate = rate_per_molar_second(20, ionic_strength(125))
    days = half_life_days(125, rate)
    assert age(125, [Kept(days, 20)]).strength_g_per_l == pytest.approx(62.5)


@given(strengths, spans, spans, temps)
def test_older_is_weaker(g_per_l: float, days: float, more: float, temp: float):
    """Strength falls with time."""
    young = age(g_per_l, [Kept(days, temp)]).strength_g_per_l
    assert age(g_per_l, [Kept(days + more, temp)]).strength_g_per_l < young


@given(strengths, spans, temps, st.floats(0.1, 10))
def test_warmer_is_weaker(g_per_l: float, days: float, temp: float, warmer: float):
    """Strength falls with temperature."""
    cool = age(g_per_l, [Kept(days, temp)]).strength_g_per_l
    assert age(g_per_l, [Kept(days, temp + warmer)]).strength_g_per_l < cool


@given(strengths, st.floats(1.01, 2), spans, temps)
def test_stronger_loses_a_larger_share(
    g_per_l: float, times: float, days: float, temp: float
):
    """Of a stronger can a larger share is lost."""
    weak = age(g_per_l, [Kept(days, temp)])
    strong = age(g_per_l * times, [Kept(days, temp)])
    share = strong.strength_g_per_l / strong.start_g_per_l
    assert share < weak.strength_g_per_l / weak.start_g_per_l


@given(st.lists(st.builds(Kept, spans, temps), min_size=2, max_size=5))
def test_the_order_of_the_history_is_of_no_account(history: list[Kept]):
    """Losses add up as rate times time; splitting the history changes nothing."""
    straight = age(125, history).strength_g_per_l
    assert age(125, history[::-1]).strength_g_per_l == pytest.approx(straight)
    first = age(125, history[:1], fresh_g_per_l=125).strength_g_per_l
    rest = age(first, history[1:], fresh_g_per_l=125).strength_g_per_l
    assert rest == pytest.approx(straight)


def test_no_time_no_loss():
    """Used on the day it was made, it holds what the label says."""
    values = strength_on(CAN, MADE, read_history("21 C", 0)).values
    assert values["strength_g_per_l"] == 125
    assert values["fraction_left"] == 1
    assert values["half_life_days"] > 0


def test_safety_stands_apart_from_the_physics():
    """The model's figure is the model's; the careful one is beside it, lower."""
    values = strength_on(CAN, JUNE, read_history("21 C", 151)).values
    plain = age(125, [Kept(151, 21)]).strength_g_per_l
    assert values["strength_g_per_l"] == pytest.approx(plain)
    assert values["careful_strength_g_per_l"] < plain


def test_chlorate_is_four_tenths_of_the_loss():
    """125 aged to 90 g/L and dosed to 5 mg/L brings 0.76 mg/L."""
    per_chlorine = chlorate_g_per_l(125, 90) / 90
    assert per_chlorine * 5 == pytest.approx(0.763, abs=0.001)


def test_the_fraction_at_which_chlorate_reaches_its_limit():
    """At that fraction a dose brings exactly the limit."""
    fraction = fraction_at_chlorate(5, 0.7)
    brought = chlorate_g_per_l(125, 125 * fraction) / (125 * fraction) * 5
    assert brought == pytest.approx(0.7)


def test_days_to_a_fraction():
    """A can aged for that long holds that fraction."""
    rate = rate_per_molar_second(20, ionic_strength(125))
    days = days_to_fraction(125, rate, 0.7)
    assert age(125, [Kept(days, 20)]).strength_g_per_l == pytest.approx(87.5)


def test_chlorate_above_its_limit_in_a_drinking_dose_is_a_finding():
    """A dose that stays in the water is held against 0.70 mg/L."""
    old = strength_on(CAN, JUNE, read_history("21 C", 151), dose=Dose(5))
    assert old.findings
    young = strength_on(CAN, date(2026, 1, 10), read_history("21 C", 9), dose=Dose(5))
    assert not young.findings
    shock = strength_on(CAN, JUNE, read_history("21 C", 151), dose=Dose(100))
    assert not shock.findings


def test_both_ends_of_a_dose():
    """Planned on the aged end, a can still full overdoses; the other way it is weak."""
    dose = Dose(200, 60)
    answer = strength_on(CAN, JUNE, read_history("21 C", 151), dose=dose)
    careful = answer.values["careful_strength_g_per_l"]
    assert answer.values["high_mg_per_l"] == pytest.approx(200 * 125 / careful)
    assert answer.values["low_mg_per_l"] == pytest.approx(200 * careful / 125)
    assert answer.values["product_if_as_labelled_ml"] == pytest.approx(96)


def test_both_ends_are_held_against_the_label():
    """The plan is within the label, one of its ends is not: a finding."""
    dose = Dose(200, 60, Label(150, 210))
    answer = strength_on(CAN, JUNE, read_history("21 C", 151), dose=dose)
    assert len(answer.findings) == 2
    with pytest.raises(Refused):
        strength_on(
            CAN, JUNE, read_history("21 C", 151), dose=Dose(500, 60, dose.label)
        )


def test_a_measured_strength_replaces_the_model():
    """Measured 100 g/L in May, the model ages on from there, with the same salt."""
    can = Can(BLEACH, MADE, read_strength("100 g/L"), date(2026, 5, 1))
    values = strength_on(can, JUNE, read_history("21 C", 31)).values
    onward = age(100, [Kept(31, 21)], fresh_g_per_l=125).strength_g_per_l
    assert values["strength_g_per_l"] == pytest.approx(onward)
    assert values["fraction_left"] == pytest.approx(onward / 125)


def test_never_above_the_label():
    """A measurement above the label counts as the label's figure, and is said."""
    can = Can(BLEACH, MADE, read_strength("140 g/L"), JUNE)
    answer = strength_on(can, JUNE, read_history("21 C", 0))
    assert answer.values["strength_g_per_l"] == 125
    assert any("above the label" in said for said in answer.warnings)


def test_histories_are_read():
    """One temperature for all, or spells that add up to the days that passed."""
    assert read_history("21 C", 40) == (Kept(40, 21),)
    assert read_history("10 d at 70 F, 30 d at 15 C", 40) == (
        Kept(10, pytest.approx(21.1111, abs=1e-4)),
        Kept(30, 15),
    )


@pytest.mark.parametrize(
    "text",
    ["10 d at 21 C", "10 d at 21 C, 31 d", "10 d, 30 d", "21", "", "90 C", "-30 C",
     "10 d at 21 C; 300 d at 15 C", "at 21 C", ","],
)  # fmt: skip
def test_a_history_that_cannot_be_is_refused(text: str):
    """Days that do not add up, temperatures no shed has, half a spell."""
    with pytest.raises(WronglyPut):
        read_history(text, 40)


def test_used_before_made_is_refused():
    """Time runs one way."""
    with pytest.raises(CannotAge, match="before it was made"):
        CAN.days_until(date(2025, 12, 31))


@pytest.mark.parametrize(
    ("stock", "measured", "measured_on"),
    [
        (read_strength("65 % w/w", solid=True), None, None),
        (read_strength("10 % w/v", active="quat"), None, None),
        (BLEACH, read_strength("90 g/L"), None),
        (BLEACH, None, JUNE),
        (BLEACH, read_strength("90 g/L"), date(2025, 12, 1)),
    ],
)
def test_a_can_that_cannot_be_is_refused(stock, measured, measured_on):
    """Only hypochlorite liquids age so; a measurement has a date after the making."""
    with pytest.raises(CannotAge):
        Can(stock, MADE, measured, measured_on)


def test_outside_the_model_is_said():
    """A weak bleach or a cold shed is outside the measured range."""
    can = Can(read_strength("25 g/L"), MADE)
    answer = strength_on(can, JUNE, read_history("5 C", 151))
    assert any("outside the model" in said for said in answer.warnings)
    assert any("15 to 55 C" in said for said in answer.warnings)


def test_it_says_when_to_buy_new():
    """By the day on which the careful figure is half, or chlorate is at its limit."""
    plain = strength_on(CAN, JUNE, read_history("21 C", 151)).values["buy_new_by"]
    dosed = strength_on(CAN, JUNE, read_history("21 C", 151), dose=Dose(5))
    assert date.fromisoformat(dosed.values["buy_new_by"]) < date.fromisoformat(plain)
