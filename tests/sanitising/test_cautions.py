"""Cautions: short on screen, full on paper."""

from __future__ import annotations

import pytest

from hygiene.sanitising.cautions import cautions_for
from hygiene.sanitising.substances import names

TASKS = ("dilute", "two-step", "line", "inject", "neutralise", "surface", "spray",
         "strength", "card", "soak")  # fmt: skip


@pytest.mark.parametrize("task", TASKS)
def test_who_handles_product_is_told_gear_and_first_aid(task):
    """Whatever the active, known or not: gear and first aid, in a few lines."""
    for active in (*names(), "something nobody knows", ""):
        short = cautions_for(active, task)
        assert any("loves" in line or "auntlets" in line for line in short)
        assert any(line.startswith("Eyes or skin") for line in short)
        assert len(short) <= 6


def test_paper_holds_all_of_the_screen_and_more():
    """Full: gear, air, order of mixing, first aid, store, spill, label."""
    for active in names():
        short = cautions_for(active, "dilute")
        full = cautions_for(active, "dilute", full=True)
        assert set(short) < set(full)
        for word in ("Store:", "Spill:", "label", "Gas or choking", "into water"):
            assert any(word in line for line in full)


def test_bleach_is_told_apart_from_acids():
    """The one line that saves a life: no acid."""
    assert any("chlorine gas" in line for line in cautions_for("bleach", "dilute"))


def test_product_goes_into_water():
    """Never water into chemical."""
    for task in ("dilute", "line", "inject"):
        assert any("into water" in line for line in cautions_for("bleach", task))


def test_spraying_warns_of_masks_that_stop_no_gas():
    """A dust mask stops spores, not chlorine or peracid vapour."""
    said = " ".join(cautions_for("peracetic acid", "spray"))
    assert "dust mask" in said
    assert "not chlorine" in said


def test_a_bottle_in_between_is_labelled():
    """Two-step dilution leaves a bottle that must say what it is."""
    assert any("Label the bottle" in c for c in cautions_for("bleach", "two-step"))


def test_neutralised_waste_never_goes_into_slurry():
    """Said at every neutralising."""
    assert any("slurry" in line for line in cautions_for("thiosulfate", "neutralise"))


def test_a_clean_toxin_result_clears_nothing():
    """Said at every toxin answer."""
    assert any("never clears" in line for line in cautions_for("", "toxin"))
