"""What goes to the screen: no character in it moves the cursor or turns the line.

A record may have come from elsewhere, and so may the name of a file on a stick. JSON
that is printed has them spelled out, and loses nothing.
"""

import re
import sys
from collections.abc import Callable
from typing import Any

HARMFUL = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069]")
"""Control characters but for tab, newline and return, and turns of direction."""


def shown(text: str) -> str:
    """The text with a sign where something cannot be shown."""
    return text if text.isprintable() else HARMFUL.sub("\ufffd", text)


def spelled(json: str) -> str:
    r"""JSON with such characters as ``\u202e``, which is the same JSON."""
    return HARMFUL.sub(lambda found: f"\\u{ord(found[0]):04x}", json)


def guard() -> None:
    """From now on all that is printed passes here."""
    for stream in (sys.stdout, sys.stderr):
        if stream is not None:  # it was closed before we began
            stream.write = _passing(stream.write)  # type: ignore[method-assign]


def _passing(write: Callable[[str], int]) -> Any:
    def passing(text: str) -> int:
        return write(text if text == "\n" else shown(text))

    return passing
