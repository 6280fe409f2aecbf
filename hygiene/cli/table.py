"""The table of commands: name, the module that holds it, one line of help.

A module is imported only when its command runs, so ``--help`` costs what this table
costs. A module's ``app`` is a ``typer.Typer`` with one command, or a group of them.
"""

from __future__ import annotations

from typing import NamedTuple


class Entry(NamedTuple):
    """One command: its name, where it lives, what it does, where help lists it."""

    name: str
    module: str
    help: str
    section: str = "More"


DAY = "The day"
SET_UP = "Set up and see it work"
WRITE = "Write a record"
MEND = "Read and mend the record"
READY = "Get ready and prove it"
WORK_OUT = "Work it out"

COMMANDS: tuple[Entry, ...] = (
    Entry(
        "calc",
        "hygiene.cli.calc",
        "Dilutions, ageing, contact, lines, counts: worked step by step.",
        WORK_OUT,
    ),
)
