"""Small farm files, and set-up entries as a record would hand them over."""

from __future__ import annotations

import tomllib
from collections.abc import Iterable
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from typing import Any

from hygiene.farm.differences import Change
from hygiene.farm.in_force import InForce, in_force
from hygiene.kinds.entry import Entry, read_line, write_line

START = datetime(2025, 1, 1, 8, tzinfo=UTC)

SMALL = """
[farm]
name = "Fold"
address = "Lane"
time_zone = "Europe/London"

[[person]]
code = "AB"
name = "A B"
roles = ["manager", "worker"]

[[room]]
code = "grow"
name = "Growing room"

[[rack]]
code = "R1"
room = "grow"
levels = 4

[[tray]]
code = "T001..T006"
area_m2 = 0.25
"""

WALK = """
code = "walk"
title = "Walk round"
version = 1
dated = 2025-01-01
rule = "FREQ=DAILY"
starts = 2025-01-01
[[steps]]
code = "smell"
text = "Smells sweet"
"""


def toml(text: str) -> dict[str, Any]:
    return tomllib.loads(text, parse_float=Decimal)


def recorded(changes: Iterable[Change], before: Iterable[Entry] = ()) -> list[Entry]:
    """The entries that these changes write, read back from their lines, a day on."""
    entries = list(before)
    at = (START + timedelta(days=len({e.happened_at for e in entries}))).isoformat()
    for change in changes:
        thing = change.writes
        entry = Entry(
            "shed-a2b3", len(entries) + 1, thing.kind, at, at, "AB", thing.body()
        )
        entries.append(read_line(write_line(entry)))
    return entries


def now(entries: Iterable[Entry]) -> InForce:
    return in_force(entries, START + timedelta(days=300))
