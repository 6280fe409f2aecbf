"""How much agent takes the chlorine out of waste water before it leaves.

Grams for a gram of chlorine from molar masses. Start at the low figure, strip-test,
add; the high figure is the cap. Above a few hundred mg/L the agent heats and gasses:
dilute it or use it up first.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from hygiene.answers import Answer, figure
from hygiene.errors import WronglyPut
from hygiene.sanitising.cautions import cautions_for
from hygiene.sanitising.strength import CL2_G_PER_MOL

MOST_FREE_MG_PER_L: Final = 300.0
"""A few hundred mg/L: common practice, no source for the exact figure."""


class CannotNeutralise(WronglyPut):
    """Water too strong to neutralise, or an agent that is not known."""

    sentence = "{why}"


@dataclass(frozen=True, slots=True)
class Agent:
    """A neutralising agent: grams for a gram of chlorine, from and up to."""

    name: str
    g_per_g_low: float
    g_per_g_cap: float
    how: str
    note: str = ""


def _agent(
    name: str, g_per_mol: float, cl2: float, cap: float, how: str, note: str = ""
) -> Agent:
    return Agent(name, g_per_mol / (cl2 * CL2_G_PER_MOL), cap, how, note)


_FIELD: Final = "cap: field figure and 10 %"
_SCAVENGES: Final = "It takes the oxygen out of water: fish die. Not into a stream."
# caps of the sulfites and ascorbates: 1.1 x the field figures at pH 7 of AWWA's field
# guide, Disinfection of Pipelines and Storage Facilities, table 7-2 (10 % overdose:
# Tikkanen et al., Guidance Manual for the Disposal of Chlorinated Water)
AGENTS: Final = {
    agent.name: agent
    for agent in (
        _agent(
            "sodium thiosulfate", 248.18, 4.0, 248.18 * 2 / CL2_G_PER_MOL,
            "pentahydrate crystals; low: all goes to sulfate (4 Cl2), cap: only to "
            "tetrathionate (Cl2 to 2 S2O3)",
        ),
        _agent("ascorbic acid", 176.12, 1.0, 1.1 * 2.5, f"one to one; {_FIELD}"),
        _agent("sodium ascorbate", 198.11, 1.0, 1.1 * 2.8, f"one to one; {_FIELD}"),
        _agent(
            "sodium bisulfite", 104.06, 1.0, 1.1 * 1.61, f"one to one; {_FIELD}",
            _SCAVENGES,
        ),
        _agent(
            "sodium metabisulfite", 190.11, 2.0, 1.1 * 1.47,
            f"one for two Cl2; {_FIELD}", _SCAVENGES,
        ),
        _agent(
            "sodium sulfite", 126.04, 1.0, 1.1 * 1.96, f"one to one; {_FIELD}",
            _SCAVENGES,
        ),
    )
}  # fmt: skip
_SYNONYMS: Final = {
    "thiosulfate": "sodium thiosulfate", "thiosulphate": "sodium thiosulfate",
    "sodium thiosulphate": "sodium thiosulfate",
    "sodium thiosulfate pentahydrate": "sodium thiosulfate",
    "thiosulfate pentahydrate": "sodium thiosulfate",
    "ascorbic": "ascorbic acid", "vitamin c": "ascorbic acid",
    "ascorbate": "sodium ascorbate", "bisulfite": "sodium bisulfite",
    "bisulphite": "sodium bisulfite", "sodium bisulphite": "sodium bisulfite",
    "metabisulfite": "sodium metabisulfite", "metabisulphite": "sodium metabisulfite",
    "sodium metabisulphite": "sodium metabisulfite", "sulfite": "sodium sulfite",
    "sulphite": "sodium sulfite", "sodium sulphite": "sodium sulfite",
}  # fmt: skip


def read_agent(text: str) -> Agent:
    """Read an agent's plain name; raises with the names that are known."""
    name = " ".join(text.lower().replace("-", " ").replace("_", " ").split())
    agent = AGENTS.get(_SYNONYMS.get(name, name))
    if agent is None:
        known = ", ".join(AGENTS)
        why = f"{text[:40]!r} is not a neutralising agent: say {known}"
        raise CannotNeutralise(why=why)
    return agent


def neutralise(volume_l: float, free_mg_per_l: float, agent: Agent) -> Answer:
    """Answer the agent for a volume of chlorinated waste: where to start, and the cap.

    Raises :class:`CannotNeutralise` above 300 mg/L.
    """
    if free_mg_per_l > MOST_FREE_MG_PER_L:
        raise CannotNeutralise(
            why=f"{figure(free_mg_per_l)} mg/L is too strong to neutralise (heat, "
            f"gas): use it up, or dilute it below {figure(MOST_FREE_MG_PER_L)} mg/L",
        )
    chlorine_g = volume_l * free_mg_per_l / 1000
    low, cap = chlorine_g * agent.g_per_g_low, chlorine_g * agent.g_per_g_cap
    return Answer(
        values={
            "agent_g": low,
            "cap_g": cap,
            "agent": agent.name,
            "chlorine_g": chlorine_g,
            "g_per_g_chlorine": agent.g_per_g_low,
        },
        says=(
            f"Start with {figure(low)} g of {agent.name}, dissolved in a bucket of "
            "water, added slowly outdoors.",
            f"Stir, wait, strip-test. Still chlorine? Add a little more, up to "
            f"{figure(cap)} g in all. Stop at zero.",
        ),
        steps=(
            f"chlorine = {figure(volume_l)} L x {figure(free_mg_per_l)} mg/L / 1000 = "
            f"{figure(chlorine_g)} g",
            f"start: {figure(chlorine_g)} g x {agent.g_per_g_low:.3f} = "
            f"{figure(low)} g; cap: x {agent.g_per_g_cap:.3f} = {figure(cap)} g",
            agent.how,
        ),
        source="molar masses and the reactions named in the working; caps of sulfites "
        "and ascorbates: AWWA field guide, Disinfection of Pipelines and Storage "
        "Facilities, table 7-2, and 10 %",
        valid=f"Free chlorine up to {figure(MOST_FREE_MG_PER_L)} mg/L, pure agent. "
        "Not for peracetic acid, peroxide or quats. Local rules say where it may go.",
        warnings=(agent.note,) if agent.note else (),
        cautions=cautions_for(agent.name, "neutralise"),
    )
