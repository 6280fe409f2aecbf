"""Plain names and what they stand for."""

from __future__ import annotations

import pytest

from hygiene.sanitising.substances import UnknownSubstance, known


@pytest.mark.parametrize(
    ("text", "trait"),
    [
        ("Thick BLEACH, 5 %", "chlorine"),
        ("chlorinated alkaline detergent", "chlorine"),
        ("chlorinated alkaline detergent", "alkali"),
        ("Iodophor", "acid"),
        ("peroxyacetic acid 5%", "peracid"),
        ("lime-scale remover", "acid"),
        ("hydrated lime", "alkali"),
        ("oxygen bleach", "peroxide"),
        ("DDAC", "quat"),
        ("vitamin C", "reducer"),
    ],
)
def test_a_plain_name_has_its_traits(text, trait):
    """Case, hyphens, commas and strengths around a name do not matter."""
    assert trait in known(text).traits


def test_the_longest_name_counts():
    """Chlorine dioxide is not chlorine; oxygen bleach is not bleach."""
    assert "chlorine" not in known("chlorine dioxide").traits
    assert "chlorine" not in known("oxygen bleach").traits


def test_a_product_of_two_has_the_traits_of_both():
    """A text that names two things stands for both."""
    assert {"acid", "quat"} <= known("acid descaler with quat").traits


def test_what_a_label_says_is_not_there_does_not_count():
    """Chlorine-free on a label is no chlorine."""
    assert "chlorine" not in known("chlorine-free acid cleaner").traits
    with pytest.raises(UnknownSubstance):
        known("chlorine-free cleaner")


def test_a_slip_of_the_hand_is_offered_the_near_name():
    """The refusal says what to type next."""
    with pytest.raises(UnknownSubstance) as refused:
        known("glutaraldehyd")
    assert "glutaraldehyde" in (refused.value.way_out or "")
