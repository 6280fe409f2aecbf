"""Clean farms for the readiness rules, on which troubles can be planted.

A farm is what happens on its days, before any of it is written. It is written line by
line past the acts, so that a record from elsewhere, from before or by another hand can
be told as well: what the acts refuse or mark is what the rules must find.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal
from pathlib import Path
from random import Random
from shutil import copytree
from typing import Any

from hygiene.acts.readiness import Looked, readiness
from hygiene.book.record import Record
from hygiene.kinds.action import Action, Close, Recheck
from hygiene.kinds.base import Kind
from hygiene.kinds.batch import Feed, Place, SeedShare, Sow
from hygiene.kinds.book import Backup
from hygiene.kinds.checklist import Checklist, Step
from hygiene.kinds.day import Answer, Countersign, SignOff
from hygiene.kinds.drill import Drill, DrillWay
from hygiene.kinds.kits import Calibrate
from hygiene.kinds.moments import stamp
from hygiene.kinds.sanitising import Container, Dose, Drawn, Reading
from hygiene.kinds.seed import Seed
from hygiene.kinds.setup import (
    Active,
    Animals,
    Farm,
    Kit,
    Line,
    Person,
    Point,
    Product,
    Rack,
    Room,
    Supplier,
    Training,
    Tray,
)
from hygiene.kinds.water import Result, Water

FIRST = date(2026, 3, 2)
BEGUN = datetime(2026, 3, 1, 6, tzinfo=UTC)
A_DAY = timedelta(days=1)
GROWING = 7
FAR = date(2030, 1, 1)
Name = Callable[[dict[str, str]], Kind]
Found = set[tuple[str, date | str | None]]
"""A rule, and the day or the code of each place where it finds something."""


@dataclass
class Event:
    """Something to be written: when it is typed, and what it says.

    ``make`` is handed the names of what was written before it, by their keys.
    """

    key: str
    at: datetime
    make: Name
    by: str = "AB"
    happened_at: datetime | None = None
    written_by: str | None = None
    reason: str | None = None
    corrects: str | None = None


@dataclass
class Clean:
    """A farm on which all is well, for so many days; ``chance`` draws its readings."""

    days: int
    seed: int
    first: date = FIRST
    things: dict[str, Kind] = field(default_factory=dict)
    events: dict[str, Event] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.chance = Random(self.seed)
        self.things = {thing_key(thing): thing for thing in set_up(self.first)}
        self._once()
        for number in range(self.days):
            self._live(self.first + number * A_DAY)

    @property
    def last(self) -> date:
        return self.first + (self.days - 1) * A_DAY

    @property
    def now(self) -> datetime:
        return at(self.last, "21:30")

    def every_day(self) -> list[date]:
        return [self.first + n * A_DAY for n in range(self.days)]

    def add(self, key: str, moment: datetime, thing: Kind | Name, **said: Any) -> Event:
        make = thing if callable(thing) else (lambda names, thing=thing: thing)
        self.events[key] = Event(key, moment, make, **said)
        return self.events[key]

    def change(self, key: str, **said: Any) -> None:
        """Say something of an entry differently."""
        made = self.events[key].make
        self.events[key].make = lambda names: replace(made(names), **said)  # type: ignore[type-var]

    def set(self, key: str, **said: Any) -> None:
        """Say something of the set-up differently."""
        self.things[key] = replace(self.things[key], **said)  # type: ignore[type-var]

    def acted(self, key: str, day: date, *, about: str, **said: Any) -> None:
        """A corrective action that was opened, looked at again and closed."""
        self.add(
            f"{key} action",
            at(day, "18:00"),
            lambda n: Action(about=n[about], problem="found wanting", **said),
        )
        self.add(
            f"{key} recheck",
            at(day, "18:20"),
            lambda n: Recheck(action=n[f"{key} action"], seen="good", passed=True),
            by="CD",
        )
        self.add(
            f"{key} close",
            at(day, "18:40"),
            lambda n: Close(
                action=n[f"{key} action"], recheck=n[f"{key} recheck"], did="done again"
            ),
            by="CD",
        )

    # ---- what goes on ----

    def _once(self) -> None:
        first, chance = self.first, self.chance
        before = first - A_DAY
        lot = Seed(
            lot="L-1", supplier="ALDER", supplier_lot="AF/1", grams=2_000_000,
            untreated_seen_by="AB", declaration="note 1",
        )  # fmt: skip
        self.add("lot", at(before, "09:00"), lot)
        can = Container(
            container="C-1", product="hypo", tenth_ml=100_000, expires_on=FAR
        )
        self.add("can", at(before, "09:10"), can)
        for kit in ("PH",):
            self.add(
                f"check {kit}",
                at(before, "09:20"),
                Calibrate(kit=kit, passed=True, against="buffer 7"),
            )
        sample = Water(
            point="P1",
            laboratory="Lowmoor",
            results=(
                Result(
                    parameter="ecoli", as_written="<1", sign="<", value=Decimal(1),
                    unit="CFU/100 mL", verdict="within",
                ),
            ),
        )  # fmt: skip
        self.add("sample", at(before, "09:30"), sample)
        way = DrillWay(
            way="back", asked="which lots?", seconds=60, record_ms=2, found_count=1,
            right_count=1,
        )  # fmt: skip
        self.add(
            "drill", at(before, "10:00"), Drill(code="L-1", ways=(way,), adds_up=True)
        )
        self.add(
            "backup",
            at(self.last - chance.randint(0, 5) * A_DAY, "20:40"),
            Backup(place="/mnt/stick", heads=("shed-x/1:aa",), bytes=1000),
        )

    def _live(self, day: date) -> None:
        chance, n = self.chance, (day - self.first).days
        doer, other = ("AB", "CD") if n % 2 else ("CD", "AB")
        strength, minutes = chance.randint(140, 200), chance.randint(11, 14)
        self.sign("walk", day, doer, temp=Decimal(chance.randint(185, 235)) / 10)
        self.sign("wash", day, doer, strength=strength, contact=minutes)
        self._dose(day, doer, strength, minutes)
        self._sow(day, doer)
        if n >= GROWING:
            self._feed(day, doer, day - GROWING * A_DAY)
        tasks = [f"walk {day}", f"wash {day}"]
        self.add(
            f"seen {day}",
            at(day, "20:00"),
            lambda names: Countersign(
                entries=tuple(names[t] for t in tasks if t in names), day=str(day)
            ),
            by=other,
        )

    def sign(self, task: str, day: date, by: str, **values: Any) -> None:
        """A task of the day, signed soon after it was due."""
        clock = CLOCKS[task]
        due, done = at(day, clock), at(day, clock, self.chance.randint(3, 40))
        thing = SignOff(
            task=task,
            due=stamp(due),
            version=1,
            answers=tuple(
                Answer(step=step, passed=True, value=value, unit=UNITS[step])
                for step, value in values.items()
            ),
        )
        self.add(f"{task} {day}", done, thing, by=by)

    def _dose(self, day: date, by: str, strength: int, minutes: int) -> None:
        began = at(day, "09:00")
        thing = Dose(
            product="hypo",
            drawn=(Drawn(container="C-1", tenth_ml=500),),
            target="tray",
            trays=trays_of(day, self.first),
            way="soak",
            volume_l=Decimal(60),
            readings=(
                Reading(spot="start", value_mg_per_l=Decimal(strength), kit="QS"),
                Reading(spot="end", value_mg_per_l=Decimal(strength - 20), kit="QS"),
            ),
            ended_at=stamp(began + timedelta(minutes=minutes)),
            washed_before=True,
            rinsed=True,
            dry=True,
        )
        self.add(
            f"dose {day}", began + timedelta(minutes=40), thing, by=by,
            happened_at=began,
        )  # fmt: skip

    def _sow(self, day: date, by: str) -> None:
        places = tuple(Place(tray=t, rack="R1") for t in trays_of(day, self.first))
        thing = Sow(
            batch=f"B-{day}", seeds=(SeedShare(lot="L-1", grams=6_000),), places=places
        )
        self.add(f"sow {day}", at(day, "11:00"), thing, by=by)

    def _feed(self, day: date, by: str, sown: date) -> None:
        grams = 34_000 + self.chance.randint(0, 2_000)
        thing = Feed(
            batch=f"B-{sown}",
            trays=trays_of(sown, self.first),
            animals="EWES",
            grams=grams,
            look_ok=True,
            smell_ok=True,
        )
        self.add(f"feed {day}", at(day, "08:30"), thing, by=by)

    # ---- written, and looked at ----

    def write(self, folder: Path, begun: Path) -> Path:
        """Make the record of it in a folder, from one that is begun."""
        path = copytree(begun, folder, dirs_exist_ok=True) / "farm.db"
        moments = [BEGUN]
        names: dict[str, str] = {}

        def clock() -> datetime:
            return moments[-1]

        with (
            Record.open(path, to_write=True) as record,
            record.writing(clock, folder / "keys") as writing,
        ):
            for thing in self.things.values():
                writing.add(thing, by="AB")
            for event in sorted(self.events.values(), key=lambda e: e.at):
                moments.append(event.at)
                if event.key.startswith("clock "):
                    moments.append(event.at - timedelta(hours=30))
                made = writing.add(
                    event.make(names),
                    by=event.by,
                    happened_at=event.happened_at,
                    written_by=event.written_by,
                    reason=event.reason,
                    corrects=names.get(event.corrects or ""),
                )
                names[event.key] = made.name
        return path

    def look(self, folder: Path, begun: Path) -> Looked:
        """What the rules find on all its days, at the end of the last one."""
        with Record.open(self.write(folder, begun)) as record:
            return readiness(record, self.first, self.last, self.now)


def begin(folder: Path) -> Path:
    """A record of which nothing but its first line is written: laid out once."""
    Record.create(folder / "farm.db", lambda: BEGUN, folder / "keys").close()
    return folder


def found(looked: Looked) -> Found:
    """Each rule with the day or, where it has none, the code of each place."""
    return {
        (finding.rule.code, item.day or item.code)
        for finding in looked.ready.findings
        for item in finding.items
    }


CLOCKS = {"walk": "07:00", "wash": "10:00"}
UNITS = {"temp": "C", "strength": "mg/L", "contact": "min"}


def at(day: date, clock: str, minutes: int = 0) -> datetime:
    """A moment at the farm, whose clock is UTC."""
    made = datetime.combine(day, time.fromisoformat(clock), UTC)
    return made + timedelta(minutes=minutes)


def trays_of(day: date, first: date) -> tuple[str, ...]:
    """Four trays of its own for each of eight days, then the first ones again."""
    start = (day - first).days % 8 * 4 + 1
    return tuple(f"T{n:03}" for n in range(start, start + 4))


def thing_key(thing: Kind) -> str:
    return f"{thing.kind} {getattr(thing, 'code', '')}".strip()


def set_up(first: date) -> Iterable[Kind]:
    """What stands at the farm; papers and trainings are in date for years."""
    trained = (
        Training(topic="hygiene", had_on=date(2025, 1, 5)),
        Training(topic="chemicals", had_on=date(2025, 1, 6)),
    )
    hypo = Product(
        code="hypo",
        name="Shed Hypochlorite",
        actives=(Active(name="chlorine", strength="125 g/L"),),
        product_types=("PT4",),
        uses=("tray",),
        label_min_mg_per_l=Decimal(100),
        label_max_mg_per_l=Decimal(500),
        contact_minutes=Decimal(10),
        rinse_needed=True,
        sds_checked_on=first - 30 * A_DAY,
        assessment="RA-1",
        assessment_review_on=FAR,
    )
    return (
        Farm(
            name="Low Meadow", address="1 Mill Lane", time_zone="UTC",
            profile="uk-primary", review_days=5,
        ),
        Person(code="AB", name="A. Birch", roles=("manager",), training=trained),
        Person(code="CD", name="C. Dale", roles=("worker",), training=trained),
        Person(code="EF", name="E. Fern", roles=("worker",), training=trained),
        Room(code="GROW", name="Growing room"),
        Rack(code="R1", room="GROW", levels=8),
        Tray(code="T001..T032"),
        Line(code="L1", name="Line", room="GROW"),
        Point(code="P1", name="Last nozzle", line="L1", sample_every_months=6),
        Kit(code="QS", name="Strips", sort="strip", expires_on=FAR),
        Kit(code="PH", name="Meter", sort="meter", check_every_months=6),
        hypo,
        Supplier(code="ALDER", name="Alder Seeds", address="2 Mill Lane"),
        Animals(code="EWES", name="Ewes", species="sheep", head=40),
        checklist("walk", "hygiene", Step(
            code="temp", text="Temperature", sort="reading", unit="C",
            low=Decimal(18), high=Decimal(24),
        )),
        checklist(
            "wash", "chemicals",
            Step(code="strength", text="Strength", sort="reading", unit="mg/L"),
            Step(code="contact", text="Contact", sort="reading", unit="min"),
        ),
    )  # fmt: skip


def checklist(code: str, training: str, *steps: Step) -> Checklist:
    return Checklist(
        code=code,
        title=f"The {code}",
        version=1,
        dated=date(2026, 1, 1),
        rule="FREQ=DAILY",
        starts=date(2026, 1, 1),
        at=(CLOCKS[code],),
        season="always",
        training=training,
        steps=steps,
    )
