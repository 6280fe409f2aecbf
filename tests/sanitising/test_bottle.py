"""The bottle in between."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from hygiene.errors import Refused, WronglyPut
from hygiene.sanitising.bottle import hazards_of, two_step
from hygiene.sanitising.measuring import Label, read_tool
from hygiene.sanitising.strength import read_strength

BLEACH = read_strength("125 g/L")
SYRINGE = read_tool("10 ml syringe, 0.5 ml marks")
EIGHT = datetime(2026, 3, 1, 8, 0, tzinfo=UTC)


def test_both_steps_conserve_the_active():
    """What the bottle gives in the second step is the strength asked for."""
    values = two_step(BLEACH, 2, 10).values
    bottle = values["product_ml"] * 125 / values["bottle_l"]
    assert values["bottle_mg_per_l"] == pytest.approx(bottle)
    given = values["from_bottle_ml"] / 1000 * bottle / values["made_l"]
    assert given == pytest.approx(2)


def test_each_step_can_be_measured():
    """Both amounts are at least ten marks of the tool."""
    values = two_step(BLEACH, 2, 10, tool=SYRINGE).values
    assert values["product_ml"] >= 5
    assert values["from_bottle_ml"] >= 5
    assert values["given_mg_per_l"] >= 2


def test_two_misreadings_are_wider_than_one():
    """Low and high reckon with both steps."""
    values = two_step(BLEACH, 2, 10, tool=SYRINGE).values
    first = 0.25 / values["product_ml"]
    second = 0.25 / values["from_bottle_ml"]
    high = values["given_mg_per_l"] * (1 + first) * (1 + second)
    low = values["given_mg_per_l"] * (1 - first) * (1 - second)
    assert values["high_mg_per_l"] == pytest.approx(high, rel=1e-3)
    assert values["low_mg_per_l"] == pytest.approx(low, rel=1e-3)


def test_the_bottle_gets_a_label():
    """Name, strength, hazards, made at, use by the next day."""
    label = two_step(BLEACH, 2, 10, mixed_at=EIGHT).values["label"]
    assert set(label) == {"name", "strength", "hazards", "made_at", "use_by"}
    assert label["use_by"] == "use by 2026-03-02 08:00"


def test_a_powder_has_no_two_steps():
    """What is weighed is weighed."""
    with pytest.raises(WronglyPut):
        two_step(read_strength("65 % w/w", solid=True), 2, 10)


def test_the_label_rules_two_steps_too():
    """A strength outside the label is refused before any bottle."""
    with pytest.raises(Refused):
        two_step(BLEACH, 2, 10, label=Label(5, 10))


def test_a_tool_too_coarse_is_refused():
    """No round bottle makes 2 ppm measurable with a bucket."""
    with pytest.raises(WronglyPut, match="finer"):
        two_step(BLEACH, 50, 0.05, tool=read_tool("10 L bucket, 1 L marks"))


@pytest.mark.parametrize(
    ("mg_per_l", "part"),
    [(60000, "H314"), (35000, "H318"), (12000, "H315"), (2500, "do not drink")],
)
def test_hazards_follow_the_strength(mg_per_l: float, part: str):
    """A weaker bottle is a lesser hazard, but never none; no acid near any."""
    text = hazards_of("chlorine", mg_per_l)
    assert part in text
    assert "toxic gas" in text
