"""Parts of the demonstration's year for tests, which end on a fixed morning."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path

from hygiene.book.record import Record
from hygiene.cli.demo import generator
from hygiene.farm.in_force import InForce, in_force
from hygiene.kinds.moments import zone_of
from hygiene.rota.day import State, states, written
from hygiene.rota.schedule import Rota, read_rota
from hygiene.shipped import shipped

year = generator()

FARM = shipped("demo_farm") / "FARM.toml"
UNTIL = datetime(2026, 11, 25, 8, 45, tzinfo=zone_of("Europe/London"))
LAST = UNTIL.date()


@dataclass(frozen=True)
class Part:
    """A part of the year, open to read."""

    path: Path
    record: Record
    rota: Rota

    def states(self, day: date, last: date | None = None) -> list[State]:
        found = written(self.record.entries(["sign_off", "miss"]))
        return states(self.rota, self.rota.dues(day, last or day), found, UNTIL)

    def state(self, day: date, task: str) -> State:
        return next(s for s in self.states(day) if s.due.code == task)

    def farm_at(self, moment: datetime) -> InForce:
        return in_force(self.record.setup(), moment)


def build(folder: Path, days: int, stops_before: int = 0) -> Path:
    path = folder / "farm.db"
    year.build(path, folder / "keys", FARM, UNTIL, days=days, stops_before=stops_before)
    return path


def part(folder: Path, days: int, stops_before: int = 0) -> Iterator[Part]:
    path = build(folder, days, stops_before)
    with Record.open(path) as record:
        yield Part(path, record, read_rota(record.setup()))
