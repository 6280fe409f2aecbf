"""Dechlorinating agents against printed figures."""

from __future__ import annotations

import pytest

from hygiene.sanitising.neutralise import neutralise, read_agent

FIELD = "AWWA, Disinfection of Pipelines and Storage Facilities, field guide, table 7-2"


@pytest.mark.parametrize(
    ("agent", "mg_per_mg"),
    [("bisulfite", 1.61), ("metabisulfite", 1.47), ("sulfite", 1.96),
     ("ascorbic acid", 2.5), ("sodium ascorbate", 2.8), ("thiosulfate", 1.9)],
)  # fmt: skip
def test_the_field_figure_lies_between_start_and_cap(agent: str, mg_per_mg: float):
    """Source: AWWA field guide, table 7-2, agent for a milligram of chlorine at pH 7.

    The start is the stoichiometric low end, so the strip test leads up to it.
    """
    values = neutralise(10, 100, read_agent(agent)).values
    assert values["agent_g"] <= mg_per_mg <= values["cap_g"], FIELD


@pytest.mark.parametrize(
    ("agent", "kg"),
    [("bisulfite", 0.16), ("metabisulfite", 0.15), ("sulfite", 0.20),
     ("ascorbic acid", 0.25), ("sodium ascorbate", 0.28)],
)  # fmt: skip
def test_a_hundred_cubic_metres(agent: str, kg: float):
    """Source: the same guide, table 7-5: kg for 100 m3 at 1 mg/L, two figures."""
    values = neutralise(100_000, 1, read_agent(agent)).values
    assert values["agent_g"] / 1000 == pytest.approx(kg, rel=0.12)
