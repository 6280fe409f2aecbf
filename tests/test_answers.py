"""The shape of an answer, and how its figures are written."""

from __future__ import annotations

import pytest

from hygiene.answers import Answer, figure, litres

ANSWER = Answer({"product_ml": 96.0}, ("Measure 96 ml.",), ("60 x 200 / 125",), "CDC")


@pytest.mark.parametrize(
    ("value", "text"),
    [(96.0, "96"), (0.0291234, "0.02912"), (1234567.8, "1234568"), (59.904, "59.9"),
     (0.00000123, "0.00000123"), (0.0, "0"), (-20.0, "-20"), (99999.6, "100000")],
)  # fmt: skip
def test_figures_have_no_exponent(value: float, text: str):
    """Four figures, none before the point rounded away, never 1e-6."""
    assert text == figure(value)


@pytest.mark.parametrize(
    ("volume_l", "text"), [(0.245, "245 ml"), (1.0, "1 L"), (60.5, "60.5 L")]
)
def test_less_than_a_litre_is_in_millilitres(volume_l: float, text: str):
    """A person measures 245 ml, not 0.245 L."""
    assert text == litres(volume_l)


def test_json_has_the_values_and_the_words():
    """Every answer goes out with its source and cautions, values under own keys."""
    data = ANSWER.as_json()
    assert data["product_ml"] == 96.0
    assert {"source", "cautions", "steps", "warnings", "findings"} <= data.keys()


def test_a_caution_is_said_once():
    """Adding what is there already changes nothing."""
    twice = ANSWER.with_cautions("Goggles.").with_cautions("Goggles.", "Gloves.")
    assert twice.cautions == ("Goggles.", "Gloves.")
