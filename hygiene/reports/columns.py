"""Rows as lines in letters of one width, each column as wide as what stands in it.

A page costs by its boxes: four hundred rows of nine cells take three seconds to lay
out, the same rows as lines a tenth of that. Each row reads in order aloud, so every
value that needs it carries its own unit.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence
from itertools import zip_longest
from typing import Final

BETWEEN: Final = "  "
NARROWEST: Final = 10
"""No column is made narrower than so many letters."""


def laid_out(
    heads: Sequence[str], rows: Sequence[Sequence[str]], room: int
) -> tuple[str, list[str]]:
    """The head line, and each row as a text, in lines of ``room`` letters at most.

    Where the rows are wider the widest columns are made narrower, and what is too long
    goes on beneath itself. An empty column is left out.
    """
    kept = [n for n in range(len(heads)) if any(row[n] for row in rows)]
    cells = [[row[n] for n in kept] for row in rows]
    widths = _widths([heads[n] for n in kept], cells, room)
    head = _line([heads[n] for n in kept], widths)
    return head, ["\n".join(_lines(row, widths)) for row in cells]


def _widths(
    heads: Sequence[str], rows: Sequence[Sequence[str]], room: int
) -> list[int]:
    least = [max(len(head), NARROWEST) for head in heads]
    widths = [
        max(len(head), *(len(row[n]) for row in rows)) for n, head in enumerate(heads)
    ]
    room -= len(BETWEEN) * (len(heads) - 1)
    while sum(widths) > room:
        able = [n for n in range(len(heads)) if widths[n] > least[n]]
        if not able:
            break
        widths[max(able, key=lambda n: widths[n])] -= 1
    return widths


def _lines(cells: Sequence[str], widths: Sequence[int]) -> Iterator[str]:
    wrapped = [
        textwrap.wrap(cell, width) or [""]
        for cell, width in zip(cells, widths, strict=True)
    ]
    for parts in zip_longest(*wrapped, fillvalue=""):
        yield _line(parts, widths)


def _line(cells: Sequence[str], widths: Sequence[int]) -> str:
    padded = (c.ljust(w) for c, w in zip(cells, widths, strict=True))
    return BETWEEN.join(padded).rstrip()
