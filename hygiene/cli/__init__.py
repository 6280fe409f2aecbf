"""The command line: parse, call, show. Nothing is worked out here."""

from __future__ import annotations

from hygiene.cli.lazy import LazyGroup, lazy_group
from hygiene.cli.table import COMMANDS

command: LazyGroup = lazy_group(
    COMMANDS,
    """The hygiene and feed-safety record of a shed that sprouts barley for fodder.

    It computes from the label's numbers and never tells you to use a product: the
    label, local rules, the authority and the vet come first.
    """,
)
"""The whole program as one command; tests hand it to ``invoke``."""


def main() -> None:
    """Run the program; the process ends with the documented exit code."""
    command(prog_name="hygiene")
