"""Parts of the demonstration's year for tests, which end on a fixed morning."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from hygiene.book.record import Record
from hygiene.cli import command
from hygiene.cli.demo import SHORTEST, generator
from hygiene.cli.world import World
from hygiene.farm.in_force import InForce, in_force
from hygiene.kinds.moments import zone_of
from hygiene.rota.day import State, states, written
from hygiene.rota.schedule import Rota, read_rota
from hygiene.shipped import shipped

year = generator()

FARM = shipped("demo_farm") / "FARM.toml"
UNTIL = datetime(2026, 11, 25, 8, 45, tzinfo=zone_of("Europe/London"))
LAST = UNTIL.date()
DAYS = SHORTEST


@dataclass(frozen=True)
class Shown:
    """What ``hygiene demo DIR`` left behind, and what it printed."""

    home: Path
    result: Result
    world: World

    @property
    def folder(self) -> Path:
        return self.home / "out"

    @property
    def record(self) -> Path:
        return self.folder / "farm.db"

    def later(self, *words: str) -> Result:
        """Run a command some hours after the demonstration, as its user would."""
        world = self.world._replace(now=lambda: UNTIL + timedelta(hours=3))
        return ran(words, world)


def ran(words: Sequence[str], world: World) -> Result:
    """Run the program in this process."""
    with pytest.MonkeyPatch.context() as patch:
        # typer's runner takes a Typer app; ours is the finished command already
        patch.setattr("typer.testing._get_command", lambda made: made)
        return CliRunner().invoke(command, list(words), obj=world)


@dataclass(frozen=True)
class Part:
    """A part of the year, open to read."""

    path: Path
    record: Record
    rota: Rota
    by_chance: tuple[tuple[date, str], ...] = ()
    """What went wrong by chance and an inspector would find: the day and the rule."""

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
    path, keys = folder / "farm.db", folder / "keys"
    chance = year.build(path, keys, FARM, UNTIL, days=days, stops_before=stops_before)
    for made in opened(path):
        yield replace(made, by_chance=tuple(chance))


def opened(path: Path) -> Iterator[Part]:
    with Record.open(path) as record:
        yield Part(path, record, read_rota(record.setup()))
