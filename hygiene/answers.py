"""The shape of every worked answer, shared by all that can be worked out.

An answer is values that stay put for a machine, a sentence to act on, the working
with the numbers put in so that it can be redone on paper, its cautions, and the
published rule that it follows with the limits of that rule.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

Value = float | int | str | bool | None | Sequence[Any] | Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Answer:
    """One worked answer.

    ``values`` go out as JSON under their own keys, each with its unit in its name.
    """

    values: Mapping[str, Value]
    says: tuple[str, ...]
    """What to do or know, first and in few words."""
    steps: tuple[str, ...]
    """The working, numbers put in."""
    source: str
    """The published rule; "from memory" or "common practice" where it is."""
    valid: str = ""
    """Where the rule holds and where it stops."""
    warnings: tuple[str, ...] = ()
    """What is odd or must be known about this very answer."""
    findings: tuple[str, ...] = ()
    """What is out of a limit: the command ends with exit code 3."""
    cautions: tuple[str, ...] = ()
    """Safety: gear, air, order of mixing, first aid."""

    def with_cautions(self, *cautions: str) -> Answer:
        """Return the same answer with ``cautions`` added, none of them twice."""
        every = dict.fromkeys((*self.cautions, *cautions))
        return replace(self, cautions=tuple(every))

    def as_json(self) -> dict[str, Value]:
        """Return the values, and beside them everything that is said in words."""
        return {
            **self.values,
            "says": list(self.says),
            "steps": list(self.steps),
            "source": self.source,
            "valid": self.valid,
            "warnings": list(self.warnings),
            "findings": list(self.findings),
            "cautions": list(self.cautions),
        }


def figure(value: float, digits: int = 4) -> str:
    """Write a number for a person: ``digits`` significant figures, no exponent.

    Figures before the point are never rounded away: 12345.6 is ``12346``.
    """
    if value == 0 or value != value:
        return "0"
    whole = len(str(int(abs(value)))) if abs(value) >= 1 else 0
    if whole >= digits:
        return f"{value:.0f}"
    text = f"{value:.{digits}g}"
    return f"{float(text):.12f}".rstrip("0").rstrip(".") if "e" in text else text


def litres(volume_l: float, digits: int = 4) -> str:
    """Write a volume for a person: millilitres below one litre."""
    if volume_l < 1:
        return f"{figure(volume_l * 1000, digits)} ml"
    return f"{figure(volume_l, digits)} L"
