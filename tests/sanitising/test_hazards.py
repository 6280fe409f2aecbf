"""What the codes of a label say."""

from __future__ import annotations

import pytest

from hygiene.sanitising.hazards import PICTOGRAMS, STATEMENTS, UNKNOWN, meanings


@pytest.mark.parametrize(
    ("code", "says"),
    [
        ("H314", "Causes severe skin burns and eye damage"),
        ("EUH031", "Contact with acids liberates toxic gas"),
        ("GHS05", "corrosion: burns skin and eyes, eats metal"),
    ],
)
def test_a_code_says_what_it_means(code, says):
    """Statements by 1272/2008 Annexes II and III; pictograms by their symbol."""
    assert meanings([code]) == [(code, says)]


def test_codes_that_stand_together_are_both_said():
    """H302+H312 is harmful by mouth and by skin."""
    ((code, says),) = meanings(["H302+H312"])
    assert code == "H302+H312"
    assert says == "Harmful if swallowed; Harmful in contact with skin"


def test_a_letter_after_the_code_changes_nothing():
    """H360D and H350i are said as H360 and H350."""
    said = [says for _, says in meanings(["H360D", "H350i"])]
    assert said == [STATEMENTS["H360"], STATEMENTS["H350"]]


@pytest.mark.parametrize("code", ["H999", "P280", "", "H302+H999", "GHS10", "hazard"])
def test_an_unknown_code_is_never_read_as_harmless(code):
    """It stands there with a word to read the label."""
    assert meanings([code]) == [(code, UNKNOWN)]


def test_there_are_nine_pictograms():
    """GHS01 to GHS09, Annex V."""
    assert list(PICTOGRAMS) == [f"GHS0{n}" for n in range(1, 10)]
