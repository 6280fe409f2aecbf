"""Entries as a record would hand them over, one a minute in the order they are made."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from itertools import count
from typing import Any

from hygiene.kinds.entry import Entry, read_line, write_line

MONDAY = datetime(2026, 3, 2, 7, 0, tzinfo=UTC)


def at(day: float) -> datetime:
    return MONDAY + timedelta(days=day)


class Book:
    """Lines of one book."""

    def __init__(self, name: str = "shed-k7q2") -> None:
        self.name = name
        self.numbers = count(1)

    def add(
        self, kind: str, day: float, *, corrects: str | None = None, **body: Any
    ) -> Entry:
        seq = next(self.numbers)
        happened = at(day).isoformat()
        recorded = (at(day) + timedelta(minutes=seq)).isoformat()
        entry = Entry(
            self.name, seq, kind, happened, recorded, "AB", body, corrects=corrects
        )
        return read_line(write_line(entry))

    def sow(self, day: float, batch: str, *trays: str, **said: Any) -> Entry:
        rack = said.pop("rack", "R1")
        lots = said.pop("lots", {"L-1": 6_000})
        return self.add(
            "sow",
            day,
            batch=batch,
            seeds=[{"lot": lot, "grams": grams} for lot, grams in lots.items()],
            places=[{"tray": t} | ({"rack": rack} if rack else {}) for t in trays],
            **said,
        )

    def move(
        self, day: float, batch: str, rack: str, *trays: str, **said: Any
    ) -> Entry:
        places = [{"tray": tray, "rack": rack} for tray in trays]
        return self.add("move", day, batch=batch, places=places, **said)

    def feed(self, day: float, batch: str, *trays: str, **said: Any) -> Entry:
        made = {"animals": "EWES", "grams": 7_000, **said}
        return self.add("feed", day, batch=batch, trays=list(trays), **made)

    def hold(self, day: float, sort: str, held: str, **said: Any) -> Entry:
        made = {"why": "found wanting", **said}
        return self.add("hold", day, sort=sort, held=held, **made)
