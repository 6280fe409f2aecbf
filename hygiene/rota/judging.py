"""Whether an answer passes its step, and what to do where it does not.

Steps and answers are plain mappings, as an adopted checklist and a sign-off hold them.
An answer that cannot be read does not pass: nothing is taken as good unread.
"""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from hygiene.kinds.entry import items

_OTHERWISE = "Put it right, look again, and write down what you did."


def judge(step: Mapping[str, Any], answer: Mapping[str, Any]) -> bool:
    """Whether the answer passes: a tick that is done, a choice among the good ones
    (any option where none is named good), a reading from ``low`` to ``high``, both
    included, an entry that was written.
    """
    match step.get("sort", "tick"):
        case "choice":
            return answer.get("chosen") in _passing(step)
        case "reading":
            return _within(answer.get("value"), step.get("low"), step.get("high"))
        case "entry":
            return answer.get("done") is True or bool(answer.get("wrote"))
    return answer.get("done") is True


def _passing(step: Mapping[str, Any]) -> tuple[Any, ...]:
    passing = step.get("good") or step.get("options")
    return tuple(passing) if isinstance(passing, list | tuple) else ()


def _within(value: Any, low: Any, high: Any) -> bool:
    """Whether the value lies within; a limit that is no number lets nothing through."""
    made = _number(value)
    if made is None:
        return False
    least = Decimal("-Infinity") if low is None else _number(low)
    most = Decimal("Infinity") if high is None else _number(high)
    return least is not None and most is not None and least <= made <= most


def _number(given: Any) -> Decimal | None:
    if isinstance(given, bool) or not isinstance(given, int | Decimal):
        return None
    made = Decimal(given)
    return made if made.is_finite() else None


def what_to_do(step: Mapping[str, Any]) -> str:
    """What the checklist says to do when the step fails, or the plain rule for it."""
    said = step.get("if_fails")
    return said if isinstance(said, str) and said.strip() else _OTHERWISE


def limits(step: Mapping[str, Any]) -> str:
    """What passes, in words: ``18 to 24 C``, ``0 trays at most``; empty if anything."""
    unit = step.get("unit") or ""
    low, high = step.get("low"), step.get("high")
    if step.get("sort") == "choice":
        return " or ".join(map(str, items(step, "good")))
    if low is not None and high is not None:
        return f"{low} to {high} {unit}".rstrip()
    if low is not None:
        return f"{low} {unit}".rstrip() + " at least"
    return f"{high} {unit}".rstrip() + " at most" if high is not None else ""
