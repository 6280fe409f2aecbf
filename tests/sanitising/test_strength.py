"""Strengths: every basis, and what is refused."""

from __future__ import annotations

import pytest

from hygiene.errors import WronglyPut
from hygiene.sanitising.strength import (
    BadStrength,
    read_active,
    read_strength,
    strength_answer,
)


@pytest.mark.parametrize(
    ("text", "density", "g_per_l"),
    [
        ("125 g/L", None, 125.0), ("12.5 % w/v", None, 125.0),
        ("12.5% w/v", None, 125.0), ("12.5 % trade", None, 125.0),
        ("12.5 trade %", None, 125.0), ("125000 ppm", None, 125.0),
        ("125000 mg/L", None, 125.0), ("10.8 % w/w", 1.16, 125.28),
        ("10.8 % (w/w)", 1.16, 125.28), ("10.8 wt%", 1.16, 125.28),
        ("10.8 % w/w available chlorine", 1.16, 125.28),
        ("108 g/kg", 1.16, 125.28),
        ("11.3 % w/w NaOCl", 1.16, 124.854), ("11.3 % w/w as NaOCl", 1.16, 124.854),
        ("131.2 g/L NaOCl", None, 124.968), ("48 °chl", None, 152.16),
        ("48 degrees chlorometric", None, 152.16), ("48 chl", None, 152.16),
        ("5 % w/v sodium hypochlorite", None, 47.625),
    ],
)  # fmt: skip
def test_every_basis_ends_as_available_chlorine(
    text: str, density: float | None, g_per_l: float
):
    """A litre of the same liquid holds the same chlorine, however it is labelled."""
    read = read_strength(text, density_kg_per_l=density)
    assert g_per_l == pytest.approx(read.mg_per_unit, rel=1e-5)
    assert read.unit == "ml"


@pytest.mark.parametrize(
    ("text", "g_per_kg"),
    [("65 % w/w", 650.0), ("650 g/kg", 650.0), ("70 % w/w Ca(OCl)2", 694.28),
     ("86 % w/w NaDCC dihydrate", 476.44)],
)  # fmt: skip
def test_solids_are_by_weight(text: str, g_per_kg: float):
    """A solid's strength is grams in a kilogram."""
    read = read_strength(text, solid=True)
    assert g_per_kg == pytest.approx(read.mg_per_unit, rel=1e-4)
    assert read.unit == "g"


def test_a_bare_percentage_is_refused_with_its_three_meanings():
    """12.5 % is three products that differ by up to a fifth."""
    with pytest.raises(BadStrength) as refused:
        read_strength("12.5 %", density_kg_per_l=1.2)
    for part in ("% w/v (125 g/L)", "% w/w (150 g/L)", "NaOCl (143 g/L)", "20 %"):
        assert part in str(refused.value)


@pytest.mark.parametrize("text", ["6 % NaOCl", "5 % available chlorine", "5%"])
def test_naming_the_salt_does_not_say_by_what(text: str):
    """6 % NaOCl is still by weight or by volume."""
    with pytest.raises(BadStrength, match="of what"):
        read_strength(text)


def test_a_liquid_by_weight_needs_its_density():
    """Without a density the litre is not known."""
    with pytest.raises(BadStrength, match="--density"):
        read_strength("10.8 % w/w")


@pytest.mark.parametrize(
    ("text", "options"),
    [
        ("12.5", {}), ("12.5 foo", {}), ("0 g/L", {}), ("-5 g/L", {}),
        ("nan g/L", {}), ("inf % w/v", {}), ("", {}), ("g/L", {}),
        ("120 % w/w", {"solid": True}), ("125 g/L", {"solid": True}),
        ("65 % w/w", {"solid": True, "density_kg_per_l": 1.1}),
        ("3000 g/L", {}), ("130 % w/v", {"density_kg_per_l": 1.2}),
        ("48 chl NaDCC foo", {}),
    ],
)  # fmt: skip
def test_a_strength_that_cannot_be_is_refused(text: str, options: dict[str, object]):
    """No unit, no number, nothing or more than the whole: never a number."""
    with pytest.raises(WronglyPut):
        read_strength(text, **options)


def test_other_actives_are_not_counted_as_chlorine():
    """Peracetic acid, peroxide and quats stay what they are."""
    acid = read_strength("15 % w/w PAA", active="peracetic acid", density_kg_per_l=1.11)
    assert acid.mg_per_unit == pytest.approx(166.5)
    assert read_strength("10 % w/v", active="quat").mg_per_unit == pytest.approx(100)
    assert read_strength(
        "35 % w/w H2O2", active="hydrogen peroxide", density_kg_per_l=1.13
    ).mg_per_unit == pytest.approx(395.5)


def test_naocl_is_no_basis_of_another_active():
    """A peracetic acid is not written as hypochlorite."""
    with pytest.raises(BadStrength):
        read_strength("15 % w/v NaOCl", active="peracetic acid")


def test_actives_have_plain_names():
    """Trade words find their active; an unknown one is refused with the list."""
    assert read_active("PAA") == "peracetic acid"
    assert read_active("Bleach") == "chlorine"
    with pytest.raises(WronglyPut, match="hydrogen peroxide"):
        read_active("holy water")


def test_too_strong_a_hypochlorite_is_warned_about():
    """No can holds 400 g/L; a slip of the point does."""
    assert read_strength("400 g/L").warnings


def test_the_answer_shows_every_basis():
    """125 g/L at 1.16 kg/L: 10.78 % available, 11.31 % as NaOCl, 1.763 mol/L."""
    values = strength_answer(read_strength("125 g/L", density_kg_per_l=1.16)).values
    assert values["percent_w_w"] == pytest.approx(10.776, abs=0.001)
    assert values["percent_w_w_naocl"] == pytest.approx(11.313, abs=0.001)
    assert values["mol_per_l"] == pytest.approx(1.763, abs=0.001)
    assert values["chlorometric_degrees"] == pytest.approx(39.43, abs=0.01)


def test_a_solid_has_no_litre():
    """Of a powder only the weight is told."""
    values = strength_answer(read_strength("65 % w/w", solid=True)).values
    assert values == {"g_per_kg": 650.0, "percent_w_w": 65.0}
