"""How far a report is, on a terminal's stderr; a pipe hears nothing of it."""

from __future__ import annotations

import logging
import sys
from collections.abc import Iterator
from contextlib import contextmanager

from hygiene.cli.screen import width_of

_ENGINE = "weasyprint.progress"


@contextmanager
def shown(title: str) -> Iterator[None]:
    """Show what is made, and the steps and pages of the layout engine as they come."""
    if not sys.stderr.isatty():
        yield
        return
    steps = _Steps(title)
    log = logging.getLogger(_ENGINE)
    level, passes_on = log.level, log.propagate
    log.setLevel(logging.INFO)
    log.propagate = False
    log.addHandler(steps)
    steps.show("reading")
    try:
        yield
    finally:
        log.removeHandler(steps)
        log.setLevel(level)
        log.propagate = passes_on
        steps.wipe()


class _Steps(logging.Handler):
    """One line, written over: the title and what the engine says last."""

    def __init__(self, title: str) -> None:
        super().__init__()
        self.title = title
        self.longest = 0

    def emit(self, record: logging.LogRecord) -> None:
        """Show a step without its number."""
        said = record.getMessage()
        self.show(said.partition(" - ")[2].replace(" - ", ", ").lower() or said)

    def show(self, step: str) -> None:
        """Write over what was shown."""
        # a line that is wider than the terminal is not written over, but scrolls
        text = f"{self.title}: {step} ..."[: (width_of(sys.stderr) or 79) - 1]
        self.longest = max(self.longest, len(text))
        print(f"\r{text:<{self.longest}}", end="", file=sys.stderr, flush=True)

    def wipe(self) -> None:
        """Leave an empty line."""
        print(f"\r{'':<{self.longest}}\r", end="", file=sys.stderr, flush=True)


def counted(done: int) -> None:
    """How many lines were read so far, for a long import or export."""
    if sys.stderr is not None and sys.stderr.isatty():
        print(f"  {done:,} lines ...", end="\r", file=sys.stderr, flush=True)
