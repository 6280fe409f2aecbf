"""What stands against an act: a plan is refused for it, a fact is marked with it.

``Against`` is one rule that an act stands against. A question asked beforehand
(``--check``) raises ``PlanRefused`` with all of them and writes nothing; what was done
all the same is written with their marks, which stay for ever.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from textwrap import fill
from typing import NamedTuple

from hygiene.errors import Refused, WronglyPut

WIDTH = 70


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


def in_short(against: Iterable[Against]) -> str:
    """The first thing that is wrong, and how many more there are."""
    first, *more = dict.fromkeys(rule.says for rule in against)
    return f"{first} (and {len(more)} more)" if more else first


def refuse(against: Sequence[Against]) -> None:
    """Refuse a plan; does nothing where no rule stands against it."""
    if against:
        raise PlanRefused(what=told(against))


def told(against: Iterable[Against]) -> str:
    """Every rule on lines of its own: what is wrong, the source, the way out."""
    return "\n".join(
        fill(line, WIDTH, subsequent_indent="    ", break_on_hyphens=False)
        for rule in against
        for line in (
            f"refused: {rule.says}",
            f"  rule: {rule.source}",
            f"  way out: {rule.way_out}",
        )
    )
