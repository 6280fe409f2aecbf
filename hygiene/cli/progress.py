"""How far a long command is: on stderr, over itself, and only at a terminal."""

from __future__ import annotations

import sys


def progress(done: int) -> None:
    """Say how many lines were read so far."""
    if sys.stderr is not None and sys.stderr.isatty():
        print(f"  {done:,} lines ...", end="\r", file=sys.stderr, flush=True)
