"""``hygiene calc``: the arithmetic, worked step by step."""

from __future__ import annotations

from hygiene.cli.lazy import LazyGroup, lazy_group
from hygiene.cli.table import Entry

_IN = "hygiene.cli.calc."
_MIX, _LINES = "Mix and keep", "Lines and waste"

COMMANDS: tuple[Entry, ...] = (
    Entry("dilute", _IN + "dilute", "What to measure for a strength.", _MIX),
    Entry("card", _IN + "card", "A mixing card for the wall.", _MIX),
    Entry("strength", _IN + "strength", "A strength's bases; what age leaves.", _MIX),
    Entry("active", _IN + "active", "The share of chlorine that works (HOCl).", _MIX),
    Entry(
        "line", _IN + "line", "What a line holds, its shock dose, the flush.", _LINES
    ),
    Entry("inject", _IN + "inject", "Injectors and proportioners, both ways.", _LINES),
    Entry("neutralise", _IN + "neutralise", "Chlorine out of waste water.", _LINES),
)
"""One line a calculation: name, module (``hygiene.cli.calc.NAME``), help, section."""

app: LazyGroup = lazy_group(
    COMMANDS,
    """Work it out from the label's numbers, step by step.

    The label governs; every answer names the published rule it used, says where that
    rule stops being valid, and shows its cautions.
    """,
)
