"""``hygiene calc``: the arithmetic, worked step by step."""

from __future__ import annotations

from hygiene.cli.lazy import LazyGroup, lazy_group
from hygiene.cli.table import Entry

COMMANDS: tuple[Entry, ...] = ()
"""One line a calculation: name, module (``hygiene.cli.calc.NAME``), help, section."""

app: LazyGroup = lazy_group(
    COMMANDS,
    """Work it out from the label's numbers, step by step.

    The label governs; every answer names the published rule it used, says where that
    rule stops being valid, and shows its cautions.
    """,
)
