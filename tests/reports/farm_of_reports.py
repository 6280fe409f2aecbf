"""A small invented farm for the tests of reports: a record with a clock of its own."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from decimal import Decimal
from pathlib import Path
from zoneinfo import ZoneInfo

from hygiene.book.record import Record
from hygiene.kinds.action import Action, Close, Recheck
from hygiene.kinds.base import Kind
from hygiene.kinds.checklist import Checklist, Step
from hygiene.kinds.day import Answer, Countersign, Miss, SignOff
from hygiene.kinds.entry import Entry
from hygiene.kinds.find import Hold, Mould
from hygiene.kinds.moments import stamp
from hygiene.kinds.setup import Farm, Person, Rack, Room
from hygiene.reports import reading
from hygiene.reports.period import Period
from hygiene.reports.reading import Reading

ZONE = ZoneInfo("Europe/London")

DAY = date(2026, 3, 25)


def at(day: str, time: str = "07:00") -> datetime:
    """A moment by the farm's clock."""
    return datetime.fromisoformat(f"{day}T{time}").replace(tzinfo=ZONE)


WALK = Checklist(
    code="walk",
    title="Opening walk-round",
    version=1,
    dated=date(2026, 1, 1),
    rule="FREQ=DAILY",
    starts=date(2026, 1, 1),
    area="Growing room",
    steps=(
        Step(
            code="temp",
            text="Room temperature",
            sort="reading",
            unit="C",
            low=Decimal(16),
            high=Decimal(22),
        ),
        Step(
            code="mould",
            text="Mouldy trays",
            sort="reading",
            unit="trays",
            high=Decimal(0),
            whole=True,
            per="rack",
            safety=True,
        ),
        Step(code="drains", text="Drains run free"),
    ),
)
WASH = Checklist(
    code="wash",
    title="Tray wash",
    version=3,
    dated=date(2026, 1, 1),
    rule="FREQ=DAILY",
    starts=date(2026, 1, 1),
    area="Wash bay",
    at=("09:00", "15:00"),
    grace="4 h",
    steps=(Step(code="rinse", text="Rinsed"), Step(code="dry", text="Dry and stacked")),
)
DEEP = Checklist(
    code="deep",
    title="Weekly deep clean",
    version=1,
    dated=date(2026, 1, 1),
    rule="FREQ=WEEKLY;BYDAY=MO",
    starts=date(2026, 1, 5),
    steps=(Step(code="floor", text="Floor and drains cleaned"),),
)


class Shed:
    """A record being filled; ``now`` is moved by each writing."""

    def __init__(
        self, folder: Path, *, demonstration: bool = False, there: bool = False
    ) -> None:
        self.path = folder / "farm.db"
        self.keys = folder / "keys"
        self.now = at("2026-01-01", "06:00")
        if not there:
            Record.create(
                self.path, self.clock, self.keys, demonstration=demonstration
            ).close()

    def clock(self) -> datetime:
        return self.now

    def write(self, thing: Kind, when: datetime, by: str = "AB", **how) -> Entry:
        """Write one thing at a moment; ``happened_at`` and the like go through."""
        self.now = when
        with (
            Record.open(self.path, to_write=True) as record,
            record.writing(self.clock, self.keys) as writing,
        ):
            return writing.add(thing, by=by, **how)

    def write_all(self, rows) -> list[Entry]:
        """Many at once: (thing, when, by)."""
        with (
            Record.open(self.path, to_write=True) as record,
            record.writing(self.clock, self.keys) as writing,
        ):
            made = []
            for thing, when, by in rows:
                self.now = when
                made.append(writing.add(thing, by=by))
            return made

    def set_up(self, *checklists: Checklist, name: str = "Thistledrift Farm") -> None:
        """The farm, two people, a room, two racks, and its checklists."""
        things: list[Kind] = [
            Farm(
                name=name,
                address="Lane End, Thistledrift",
                time_zone="Europe/London",
                holding_number="00/000/0000",
                feed_registration="invented 0001",
            ),
            Person(code="AB", name="Ada Brook", roles=("manager",)),
            Person(code="CD", name="Colm Dale"),
            Room(code="GROW", name="Growing room"),
            Rack(code="R1", room="GROW"),
            Rack(code="R2", room="GROW"),
            *checklists,
        ]
        self.write_all((thing, self.now, "AB") for thing in things)

    def record(self) -> Record:
        return Record.open(self.path)


def sign(task: Checklist, due: datetime, *answers: Answer, **more) -> SignOff:
    """A sign-off of a task's due."""
    return SignOff(
        task=task.code,
        due=stamp(due),
        version=task.version,
        answers=answers,
        **more,
    )


def walked(due: datetime, temp: str = "19.5", mouldy: int = 0, **more) -> SignOff:
    """The walk-round with its readings, judged against 16 to 22 C and no mould."""
    value = Decimal(temp)
    return sign(
        WALK,
        due,
        Answer(
            step="temp",
            value=value,
            unit="C",
            passed=16 <= value <= 22,
            did=None if value <= 22 else "opened the louvres",
        ),
        Answer(step="mould", of="R1", value=Decimal(0), unit="trays", passed=True),
        Answer(
            step="mould",
            of="R2",
            value=Decimal(mouldy),
            unit="trays",
            passed=mouldy == 0,
        ),
        Answer(step="drains", done=True, passed=True),
        **more,
    )


def washed(due: datetime, **more) -> SignOff:
    """The tray wash, every step done."""
    return sign(
        WASH,
        due,
        Answer(step="rinse", done=True, passed=True),
        Answer(step="dry", done=True, passed=True),
        **more,
    )


def eventful(folder: Path, *, demonstration: bool = True) -> Shed:
    """25 March 2026 with a reading out of limit, a correction, a strike, a late entry,
    a miss, a hold and a second look; the days before it with a few gaps.
    """
    shed = Shed(folder, demonstration=demonstration)
    shed.set_up(WALK, WASH, DEEP)
    day = date(2026, 3, 1)
    while day < date(2026, 3, 25):
        on = str(day)
        rows = [(walked(at(on)), at(on, "07:10"), "AB" if day.day % 3 else "CD")]
        for time in ("09:00", "15:00"):
            if day.day % 7:
                rows.append((washed(at(on, time)), at(on, time), "CD"))
        if day.weekday() == 0:
            rows.append(
                (
                    sign(DEEP, at(on), Answer(step="floor", done=True, passed=True)),
                    at(on, "10:00"),
                    "CD",
                )
            )
        shed.write_all(rows)
        day += timedelta(days=1)
    on = "2026-03-25"
    walk = shed.write(walked(at(on), temp="24.5"), at(on, "07:12"))
    action = shed.write(
        Action(
            about=walk.name,
            problem="walk: temp was 24.5 C",
            step="temp",
            did="opened the louvres",
        ),
        at(on, "07:13"),
    )
    look = shed.write(
        Recheck(
            action=action.name,
            seen="cooled down",
            passed=True,
            value=Decimal("20.5"),
            unit="C",
        ),
        at(on, "08:40"),
        "CD",
    )
    shed.write(
        Close(
            action=action.name,
            did="louvres set to open at 20 C",
            recheck=look.name,
            cause="the timer of the fan had stopped",
        ),
        at(on, "09:30"),
    )
    wash = shed.write(
        washed(at(on, "09:00"), marks=("late",), note="pump was slow"),
        at(on, "14:30"),
        "CD",
        reason="busy with calving",
    )
    shed.write(
        Action(about=wash.name, problem="wash: signed 1 h 30 min late"),
        at(on, "14:31"),
        "CD",
    )
    shed.write(
        Miss(task="wash", due=stamp(at(on, "15:00")), why="no hot water"),
        at(on, "17:00"),
        "CD",
    )
    mould = shed.write(Mould(rack="R2", tray_count=2, colour="grey"), at(on, "11:00"))
    shed.write(
        Hold(held="R2", sort="rack", why="mould on 2 trays", because=mould.name),
        at(on, "11:01"),
    )
    walk = shed.write(
        walked(at(on), temp="24.5", note="read twice"),
        at(on, "12:00"),
        corrects=walk.name,
        reason="note added",
        happened_at=at(on, "07:10"),
    )
    shed.write(
        Countersign(entries=(walk.name, wash.name), day=on, note="all seen"),
        at(on, "18:30"),
        "CD",
    )
    shed.now = at(on, "21:00")
    return shed


def read(shed: Shed, first: date = DAY, last: date | None = None, now=None) -> Reading:
    """What a report of these days reads, printed at the shed's own moment."""
    with shed.record() as record:
        return reading.read(record, Period(first, last or first), now or shed.now)
