"""Taking the chlorine out."""

from __future__ import annotations

import pytest

from hygiene.errors import WronglyPut
from hygiene.sanitising.neutralise import AGENTS, neutralise, read_agent


@pytest.mark.parametrize(
    ("name", "g_per_g"),
    [("thiosulfate", 0.875), ("sodium thiosulphate", 0.875), ("ascorbic acid", 2.484),
     ("vitamin C", 2.484), ("bisulfite", 1.468), ("metabisulfite", 1.341),
     ("sodium-sulfite", 1.778), ("sodium ascorbate", 2.794)],
)  # fmt: skip
def test_grams_for_a_gram_of_chlorine(name: str, g_per_g: float):
    """From molar masses; a litre of 1000 mg would be a gram."""
    values = neutralise(10, 100, read_agent(name)).values
    assert values["agent_g"] == pytest.approx(g_per_g, abs=0.001)


def test_the_cap_of_thiosulfate_is_tetrathionate():
    """Eight times the low figure, if it only goes half way."""
    values = neutralise(10, 100, read_agent("thiosulfate")).values
    assert values["cap_g"] == pytest.approx(7.0, abs=0.001)


def test_every_cap_is_above_its_start():
    """There is room for the strip test to say more."""
    assert all(agent.g_per_g_cap > agent.g_per_g_low for agent in AGENTS.values())


@pytest.mark.parametrize("free", [300.1, 500, 1000, 50000])
def test_too_strong_is_refused(free: float):
    """Above a few hundred mg/L it heats and gasses."""
    with pytest.raises(WronglyPut, match="too strong"):
        neutralise(10, free, read_agent("thiosulfate"))


def test_a_line_dose_can_be_neutralised():
    """200 mg/L is within reach."""
    assert neutralise(100, 200, read_agent("thiosulfate")).values["agent_g"] > 0


def test_never_into_slurry_is_said():
    """With every agent."""
    for agent in AGENTS.values():
        assert any("slurry" in said for said in neutralise(1, 1, agent).cautions)


def test_an_unknown_agent_is_refused_with_the_list():
    """Vinegar does not neutralise bleach: it makes chlorine."""
    with pytest.raises(WronglyPut, match="ascorbic acid"):
        read_agent("vinegar")
