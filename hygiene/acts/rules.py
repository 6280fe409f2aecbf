"""What stands against an act: a plan is refused for it, a fact is marked with it.

``Against`` is one rule that an act stands against. A question asked beforehand
(``--check``) raises ``PlanRefused`` with all of them and writes nothing; what was done
all the same is written with their marks, which stay for ever.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import NamedTuple

from hygiene.errors import Refused, WronglyPut


class Against(NamedTuple):
    """One rule: the mark it leaves, what is wrong, who says so, and the way out."""

    mark: str
    says: str
    source: str
    way_out: str


class PlanRefused(Refused):
    """A plan that rules stand against: each with its source and its way out."""

    sentence = "{what}"


class ForcedNeedsReason(WronglyPut):
    """Something was done against the rules, and nobody says why."""

    sentence = "{what}\nhygiene: if it was done all the same, say why: --reason TEXT"


def marks(against: Iterable[Against]) -> tuple[str, ...]:
    """The marks, each once, in the order of the rules."""
    return tuple(dict.fromkeys(rule.mark for rule in against))


def in_words(against: Iterable[Against]) -> str:
    """What is wrong, in one sentence."""
    return "; ".join(dict.fromkeys(rule.says for rule in against))


def refuse(against: Sequence[Against]) -> None:
    """Refuse a plan; does nothing where no rule stands against it."""
    if against:
        raise PlanRefused(what=told(against))


def told(against: Iterable[Against]) -> str:
    """Every rule on lines of its own: what is wrong, the source, the way out."""
    lines = []
    for rule in against:
        lines.append(f"refused: {rule.says}\n  rule: {rule.source}")
        if rule.way_out:
            lines.append(f"  way out: {rule.way_out}")
    return "\n".join(lines)
