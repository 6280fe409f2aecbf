"""``hygiene calc``: the arithmetic, worked step by step."""

from __future__ import annotations

from hygiene.cli.lazy import LazyGroup, lazy_group
from hygiene.cli.table import Entry

_IN = "hygiene.cli.calc."
_MIX, _LINES = "Mix and keep", "Lines and waste"
_CHECK = "Check and test"

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
    Entry("contact", _IN + "contact", "How long it must stand, and did it.", _CHECK),
    Entry("surface", _IN + "surface", "Warm and strong enough; rinse or not.", _CHECK),
    Entry("reading", _IN + "reading", "A thinned sample; a strip in steps.", _CHECK),
    Entry("mpn", _IN + "mpn", "Most probable number from tubes.", _CHECK),
    Entry("count", _IN + "count", "A count from plates, with its interval.", _CHECK),
    Entry("toxin", _IN + "toxin", "A mould toxin at 12 % moisture.", _CHECK),
    Entry("meet", _IN + "meet", "What must not meet, and what forms.", _CHECK),
)
"""One line a calculation: name, module (``hygiene.cli.calc.NAME``), help, section."""

app: LazyGroup = lazy_group(
    COMMANDS,
    """Work it out from the label's numbers, step by step.

    The label governs; every answer names the published rule it used, says where that
    rule stops being valid, and shows its cautions.
    """,
)
