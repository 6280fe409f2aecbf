"""What goes to the screen: no character in it moves the cursor or turns the line.

At a terminal no word is cut at its edge either: a wider line is broken between words.

A record may have come from elsewhere, and so may the name of a file on a stick. JSON
that is printed has them spelled out, and loses nothing.
"""

import os
import re
import sys
from collections.abc import Callable
from typing import Any

HARMFUL = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069]")
"""Control characters but for tab, newline and return, and turns of direction."""


def shown(text: str) -> str:
    """The text with a sign where something cannot be shown."""
    return text if text.isprintable() else HARMFUL.sub("\ufffd", text)


def _answer(text: str) -> str:
    """Of an answer no line is drawn over; what counts up beside it does that."""
    return shown(text.replace("\r", "\ufffd") if "\r" in text else text)


def spelled(json: str) -> str:
    r"""JSON with such characters as ``\u202e``, which is the same JSON."""
    return HARMFUL.sub(lambda found: f"\\u{ord(found[0]):04x}", json)


AS_IT_IS = {"--json", "--template", "completion"}
"""What is asked for with these is for a program, and stays as it is at a terminal."""
NARROWEST = 20


def folded(line: str, width: int) -> str:
    """A line broken between words where it is wider than the terminal.

    A code that fits only without its indent, such as a head, stands without it.
    """
    if len(line) <= width:
        return line
    import textwrap

    made = textwrap.wrap(
        line,
        width,
        subsequent_indent=" " * (len(line) - len(line.lstrip()) + 2),
        break_on_hyphens=False,  # codes and file names have them
        break_long_words=False,
    )
    return "\n".join(one if len(one) <= width else one.lstrip() for one in made)


def guard() -> None:
    """From now on all that is printed passes here."""
    plain = not AS_IT_IS.isdisjoint(sys.argv)
    for stream in (sys.stdout, sys.stderr):
        if stream is not None:  # it was closed before we began
            width = 0 if plain else width_of(stream)
            tame = shown if stream is sys.stderr else _answer
            stream.write = _passing(stream.write, tame, width)  # type: ignore[method-assign]


def width_of(stream: Any) -> int:
    """The columns of the terminal that the stream goes to; 0 where it is none."""
    try:
        columns = os.get_terminal_size(stream.fileno()).columns
    except (OSError, ValueError):  # a pipe, a file, or nothing
        return 0
    return columns if columns >= NARROWEST else 0


def columns(most: int = 79) -> int:
    """How wide a text may be laid out: the terminal's width, or what a pipe gets."""
    return min(most, width_of(sys.stdout) or most)


def _passing(
    write: Callable[[str], int], tame: Callable[[str], str], width: int
) -> Any:
    def passing(text: str) -> int:
        if text == "\n":
            return write(text)
        safe = tame(text)
        return write(_fitted(safe, width) if len(safe) > width > 0 else safe)

    return passing


def _fitted(text: str, width: int) -> str:
    """Each line folded, but for those that draw over themselves, and for commands."""
    if "\r" in text:
        return text
    return "\n".join(
        line if line.lstrip().startswith("hygiene ") else folded(line, width)
        for line in text.split("\n")
    )
