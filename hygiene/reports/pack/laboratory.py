"""What laboratories found, a line for each result: a year of it on one page."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any, Final, NamedTuple

from hygiene.reports.columns import Day, Line, laid_out

MOST: Final = 120
"""So many results stand on the page; the others in the attached file."""
HEADS: Final = ("What", "Result", "Limit", "Verdict")
ROOM: Final = 78


class Laboratory(NamedTuple):
    """The head line, a group of lines for each certificate, and how many are left."""

    head: str
    days: tuple[Day, ...]
    more: int


def laboratory(certificates: Iterable[Any]) -> Laboratory | None:
    """The certificates of the water log's page as lines; None where there is none."""
    every = [(each, row) for each in certificates for row in each.rows]
    if not every:
        return None
    shown = every[:MOST]
    head, lines = laid_out(HEADS, [_cells(row) for _, row in shown], ROOM)
    groups: dict[int, tuple[Any, list[Line]]] = {}
    for (each, row), text in zip(shown, lines, strict=True):
        printed = "struck" if each.struck else "failed" if row.sign == "▲" else "good"
        groups.setdefault(id(each), (each, []))[1].append(Line(text, printed))
    days = (Day(_title(each), tuple(some)) for each, some in groups.values())
    return Laboratory(head, tuple(days), len(every) - len(shown))


def _cells(row: Any) -> tuple[str, ...]:
    return row.name, row.found, row.limit or "none", f"{row.sign} {row.said}"


def _title(each: Any) -> str:
    return "\n".join(_parts(each))


def _parts(each: Any) -> Iterator[str]:
    yield each.when
    yield each.place
    yield from each.said[:2]
