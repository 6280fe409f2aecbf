"""A small farm for tests: two people, one room, two racks, three short checklists."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from pathlib import Path
from typing import Any

from hygiene.book.record import Record
from hygiene.book.writing import Writing
from hygiene.cli.world import World
from hygiene.farm.in_force import InForce, in_force
from hygiene.kinds.checklist import Checklist, Step
from hygiene.kinds.setup import Farm, Person, Rack, Room, Training
from hygiene.rota.schedule import Due, Rota, read_rota

START = datetime(2026, 3, 2, 6, 0, tzinfo=UTC)
"""A Monday, before the first task is due."""

WALK = Checklist(
    code="walk",
    title="Opening walk-round",
    version=1,
    dated=date(2026, 1, 1),
    rule="FREQ=DAILY",
    starts=date(2026, 1, 1),
    steps=(
        Step(
            code="temp",
            text="Room temperature",
            sort="reading",
            unit="C",
            low=Decimal(18),
            high=Decimal(24),
        ),
        Step(
            code="mould",
            text="Mouldy trays",
            sort="reading",
            unit="trays",
            whole=True,
            high=Decimal(0),
            per="rack",
            writes="mould",
            safety=True,
        ),
        Step(
            code="smell",
            text="Smell",
            sort="choice",
            options=("fresh", "musty"),
            good=("fresh",),
        ),
        Step(code="drains", text="Drains clear"),
        Step(code="pests", text="Pests seen", sort="entry", writes="pest"),
    ),
)
FLOORS = Checklist(
    code="floors",
    title="Floors and drains",
    version=1,
    dated=date(2026, 1, 1),
    rule="FREQ=DAILY",
    starts=date(2026, 1, 1),
    at=("16:00",),
    training="chemicals",
    steps=(Step(code="swept", text="Swept"),),
)
REVIEW = Checklist(
    code="review",
    title="Weekly review",
    version=1,
    dated=date(2026, 1, 1),
    rule="FREQ=WEEKLY;BYDAY=TU",
    starts=date(2026, 1, 1),
    may_sign=("manager",),
    steps=(Step(code="read", text="Book read"),),
)
THINGS = (
    Farm(name="Low Meadow", address="1 Mill Lane", time_zone="Europe/London"),
    Person(
        code="AB",
        name="A. Birch",
        roles=("manager",),
        training=(Training(topic="chemicals", had_on=date(2026, 1, 5)),),
    ),
    Person(code="CD", name="C. Dale"),
    Room(code="GROW", name="Growing room"),
    Rack(code="R1", room="GROW"),
    Rack(code="R2", room="GROW"),
    WALK,
    FLOORS,
    REVIEW,
)
WALK_LINE = ("temp=21.3", "mould.R1=0", "mould.R2=0", "pests=none")


@dataclass
class SmallFarm:
    """The farm's record, and a clock that a test moves."""

    folder: Path
    now: datetime = START

    @property
    def path(self) -> Path:
        return self.folder / "farm.db"

    @property
    def keys(self) -> Path:
        return self.folder / "keys"

    def clock(self) -> datetime:
        return self.now

    def later(self, **span: float) -> None:
        self.now += timedelta(**span)

    def world(self, **changes: Any) -> World:
        made = World(
            now=self.clock,
            environ={"HYGIENE_RECORD": str(self.path), "HYGIENE_KEYS": str(self.keys)},
        )
        return made._replace(**changes)

    def open(self) -> Record:
        return Record.open(self.path, to_write=True)

    def write(self, act: Callable[[Writing], Any]) -> Any:
        with self.open() as record, record.writing(self.clock, self.keys) as writing:
            return act(writing)

    def rota(self) -> Rota:
        with self.open() as record:
            return read_rota(record.setup())

    def in_force(self) -> InForce:
        with self.open() as record:
            return in_force(record.setup(), self.now)

    def due(self, task: str, day: date | None = None) -> Due:
        day = day or self.now.date()
        return next(due for due in self.rota().dues(day, day) if due.code == task)


def build(folder: Path) -> SmallFarm:
    farm = SmallFarm(folder)
    with (
        Record.create(farm.path, farm.clock, farm.keys) as record,
        record.writing(farm.clock, farm.keys) as writing,
    ):
        for thing in THINGS:
            writing.add(thing, by="AB")
    return farm
