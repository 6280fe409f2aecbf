"""Clean farms for the readiness rules, and every trouble that can be planted in one.

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
from hygiene.kinds.book import Backup, Strike
from hygiene.kinds.checklist import Checklist, Step
from hygiene.kinds.day import Answer, Countersign, Miss, SignOff
from hygiene.kinds.drill import Drill, DrillWay
from hygiene.kinds.find import Pest
from hygiene.kinds.kits import Calibrate
from hygiene.kinds.moments import months_after, stamp
from hygiene.kinds.people import Train
from hygiene.kinds.sanitising import Container, Dose, Drawn, Lost, Reading
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


# ---- troubles ----------------------------------------------------------------------

Plant = Callable[[Clean, date], Found]


def gap(farm: Clean, day: date) -> Found:
    del farm.events[f"wash {day}"]
    return {("gap", day)}


def unsigned(farm: Clean, day: date) -> Found:
    _typed_by_another(farm, day)
    # nor can the typist be the second person who looks at it
    late = {("unreviewed", day)} if day <= farm.last - 5 * A_DAY else set()
    return {("unsigned", day), *late}


def _typed_by_another(farm: Clean, day: date) -> None:
    event = farm.events[f"walk {day}"]
    event.written_by = "CD" if event.by == "AB" else "AB"


def unreviewed(farm: Clean, day: date) -> Found:
    del farm.events[f"seen {day}"]
    return {("unreviewed", day)} if day <= farm.last - 5 * A_DAY else set()


def _too_warm(farm: Clean, day: date) -> None:
    answer = Answer(step="temp", passed=False, value=Decimal("27.3"), unit="C")
    farm.change(f"walk {day}", answers=(answer,))


def no_action(farm: Clean, day: date) -> Found:
    _too_warm(farm, day)
    return {("no-action", day)}


def open_action(farm: Clean, day: date) -> Found:
    _too_warm(farm, day)
    farm.acted("warm", day, about=f"walk {day}", step="temp")
    del farm.events["warm close"]
    return {("open-action", day)}


def closed_unchecked(farm: Clean, day: date) -> Found:
    _too_warm(farm, day)
    farm.acted("hot", day, about=f"walk {day}", step="temp")
    farm.add(
        "hot strike", at(day, "19:00"), Strike(struck="recheck"),
        corrects="hot recheck", reason="another room was looked at",
    )  # fmt: skip
    return {("closed-unchecked", day)}


def _marked(farm: Clean, day: date, mark: str, *, kind: str = "dose") -> None:
    """An entry that bears a mark, whose action was closed."""
    farm.change(f"{kind} {day}", marks=(mark,))
    farm.acted(mark, day, about=f"{kind} {day}")


def _marked_open(farm: Clean, day: date, mark: str, *, kind: str = "dose") -> None:
    _marked(farm, day, mark, kind=kind)
    del farm.events[f"{mark} close"]


def strength(farm: Clean, day: date) -> Found:
    _marked_open(farm, day, "too-weak")
    return {("strength", day)}


def two_strengths(farm: Clean, day: date) -> Found:
    read = (Reading(spot="start", value_mg_per_l=Decimal(400), kit="QS"),)
    farm.change(f"dose {day}", readings=read)
    return {("strength", day)}


def contact_time(farm: Clean, day: date) -> Found:
    _marked_open(farm, day, "contact-short")
    return {("time", day)}


def two_times(farm: Clean, day: date) -> Found:
    farm.change(f"dose {day}", ended_at=stamp(at(day, "09:30")))
    return {("time", day)}


def order(farm: Clean, day: date) -> Found:
    _marked_open(farm, day, "not-washed")
    return {("order", day)}


def without_paper(farm: Clean, day: date) -> Found:
    _marked_open(farm, day, "not-looked-at", kind="feed")
    return {("without-paper", day)}


def chain(farm: Clean, day: date) -> Found:
    farm.change(f"sow {day}", seeds=(SeedShare(lot="L-9", grams=6_000),))
    return {("chain", "L-9")}


def lost_tray(farm: Clean, day: date) -> Found:
    """It is fed without one of its trays, which is sown again a day later."""
    sown = day - GROWING * A_DAY
    farm.change(f"feed {day}", trays=trays_of(sown, farm.first)[1:])
    return {("balance", f"B-{sown}")}


def expired_store(farm: Clean, day: date) -> Found:
    can = Container(
        container="C-2", product="hypo", tenth_ml=50_000, expires_on=day - A_DAY
    )
    farm.add("old can", at(farm.first, "06:10"), can)
    return {("expired-store", day - A_DAY)}


def kit_check(farm: Clean, day: date) -> Found:
    farm.set("kit PH", check_every_months=1)
    when = min(farm.last - 40 * A_DAY, farm.first - A_DAY)
    farm.events["check PH"].happened_at = at(when, "09:00")
    return {("kit-check", "PH")}


def drill(farm: Clean, day: date) -> Found:
    when = farm.last - 380 * A_DAY
    farm.events["drill"].happened_at = at(when, "09:00")
    return {("drill", months_after(when, 12))}


def backup(farm: Clean, day: date) -> Found:
    del farm.events["backup"]
    return {("backup", "")}


def incident(farm: Clean, day: date) -> Found:
    farm.add(f"pest {day}", at(day, "12:00"), Pest(what="rat", place="hopper"))
    farm.acted("rat", day, about=f"pest {day}", incident=True)
    del farm.events["rat close"]
    return {("incident", day)}


def water(farm: Clean, day: date) -> Found:
    when = farm.last - 300 * A_DAY
    farm.events["sample"].happened_at = at(when, "09:00")
    return {("water", months_after(when, 6))}


def kit_order(farm: Clean, day: date) -> Found:
    farm.set("kit QS", expires_on=day - A_DAY)
    return {("kit-order", "QS")}


def register(farm: Clean, day: date) -> Found:
    farm.set("product hypo", product_types=("PT2",))
    return {("register", "hypo")}


def data_sheet(farm: Clean, day: date) -> Found:
    farm.set("product hypo", sds_checked_on=farm.last - 400 * A_DAY)
    return {("data-sheet", "hypo")}


def assessment(farm: Clean, day: date) -> Found:
    farm.set("product hypo", assessment_review_on=day - A_DAY)
    return {("assessment", day - A_DAY)}


def training(farm: Clean, day: date) -> Found:
    until = Training(topic="chemicals", had_on=date(2025, 1, 6), until=day - A_DAY)
    hygiene = Training(topic="hygiene", had_on=date(2025, 1, 5))
    farm.set("person CD", training=(hygiene, until))
    return {("training", "CD")}


def own_check(farm: Clean, day: date) -> Found:
    event = farm.events[f"seen {day}"]
    event.by = farm.events[f"walk {day}"].by
    farm.change(f"seen {day}", how="self-reviewed")
    late = {("unreviewed", day)} if day <= farm.last - 5 * A_DAY else set()
    return {("own-check", day), *late}


def own_recheck(farm: Clean, day: date) -> Found:
    _too_warm(farm, day)
    farm.acted("own", day, about=f"walk {day}", step="temp")
    for key in ("own action", "own recheck", "own close"):
        farm.events[key].by = "AB"
    return {("own-check", day)}


def again(farm: Clean, day: date) -> Found:
    for back in (9, 4, 0):
        _mice(farm, day - back * A_DAY)
    return {("again", day)}


def _mice(farm: Clean, day: date) -> None:
    thing = Pest(what="mouse droppings", place="behind the hopper")
    farm.add(f"mice {day}", at(day, "12:10"), thing)


def late(farm: Clean, day: date) -> Found:
    event = farm.events[f"wash {day}"]
    event.happened_at, event.at = event.at, at(day + A_DAY, "06:40")
    event.reason = "the telephone was flat"
    # the second look of that evening was before it was there
    seen = farm.events[f"seen {day}"]
    seen.at = at(day + A_DAY, "06:50")
    return {("late", day)}


def late_dose(farm: Clean, day: date) -> Found:
    farm.events[f"dose {day}"].at = at(day + A_DAY, "06:45")
    return {("late", day)}


def impossible(farm: Clean, day: date) -> Found:
    event = farm.events[f"dose {day}"]
    event.at = at(day, "09:01")
    return {("impossible", day)}


def ahead(farm: Clean, day: date) -> Found:
    farm.events[f"sow {day}"].happened_at = at(day, "14:00")
    return {("impossible", day)}


def same_value(farm: Clean, day: date) -> Found:
    _same(farm, day, 5)
    return {("same-value", day)}


def _same(farm: Clean, day: date, times: int) -> None:
    """So many days running up to a day, and another value around them."""
    for back in range(-1, times + 1):
        when = day - back * A_DAY
        value = Decimal("20.6") if 0 <= back < times else Decimal("21.3")
        if f"walk {when}" in farm.events:
            answer = Answer(step="temp", passed=True, value=value, unit="C")
            farm.change(f"walk {when}", answers=(answer,))


def unread(farm: Clean, day: date) -> Found:
    answer = Answer(step="temp", passed=True, done=True)
    farm.change(f"walk {day}", answers=(answer,))
    return {("unread", day)}


def unread_dose(farm: Clean, day: date) -> Found:
    farm.change(f"dose {day}", readings=())
    return {("unread", day)}


def often(farm: Clean, day: date) -> Found:
    """On every third day it is not done, and it is said why."""
    days = farm.every_day()[::3]
    for when in days:
        _missed(farm, when)
    return {("often", "wash")}


def _missed(farm: Clean, day: date) -> None:
    due = stamp(at(day, CLOCKS["wash"]))
    farm.events[f"wash {day}"].make = lambda names: Miss(
        task="wash", due=due, why="no water"
    )


def expired_used(farm: Clean, day: date) -> Found:
    _marked(farm, day, "expired")
    return {("expired-used", day)}


def product_type(farm: Clean, day: date) -> Found:
    _marked(farm, day, "wrong-product-type")
    return {("product-type", day)}


def untrained(farm: Clean, day: date) -> Found:
    _marked(farm, day, "untrained", kind="wash")
    return {("untrained", day)}


def kit_used(farm: Clean, day: date) -> Found:
    _marked(farm, day, "kit-out-of-date")
    return {("kit-used", day)}


def against_rules(farm: Clean, day: date) -> Found:
    _marked(farm, day, "tray-not-cleared", kind="sow")
    return {("against-rules", day)}


def clock(farm: Clean, day: date) -> Found:
    """A line is recorded by a clock that is thirty hours behind."""
    thing = Pest(what="wasp", place="door")
    farm.add(f"clock {day}", at(day, "13:00"), thing)
    return {("clock", (at(day, "13:00") - timedelta(hours=30)).date())}


PLANTS: dict[str, Plant] = {
    "gap": gap,
    "unsigned": unsigned,
    "unreviewed": unreviewed,
    "no-action": no_action,
    "open-action": open_action,
    "closed-unchecked": closed_unchecked,
    "strength": strength,
    "strength, two papers": two_strengths,
    "time": contact_time,
    "time, two papers": two_times,
    "order": order,
    "without-paper": without_paper,
    "chain": chain,
    "balance": lost_tray,
    "expired-store": expired_store,
    "kit-check": kit_check,
    "drill": drill,
    "backup": backup,
    "incident": incident,
    "water": water,
    "kit-order": kit_order,
    "register": register,
    "data-sheet": data_sheet,
    "assessment": assessment,
    "training": training,
    "own-check": own_check,
    "own-check, recheck": own_recheck,
    "again": again,
    "late": late,
    "late, dose": late_dose,
    "impossible": impossible,
    "impossible, ahead": ahead,
    "same-value": same_value,
    "unread": unread,
    "unread, dose": unread_dose,
    "often": often,
    "expired-used": expired_used,
    "product-type": product_type,
    "untrained": untrained,
    "kit-used": kit_used,
    "against-rules": against_rules,
    "clock": clock,
}
"""Every trouble, by the rule that finds it."""


WARM: tuple[str, ...] = (
    "no-action", "open-action", "closed-unchecked", "own-check, recheck",
)  # fmt: skip
"""Each is about a room that is too warm: three of them within thirty days would be a
trouble of its own."""


def plant_many(farm: Clean, chance: Random) -> Found:
    """One trouble of every rule, each on a day of its own that chance draws.

    What is not done often enough is not done on every third day, on which nothing
    else is planted.
    """
    seldom = set(farm.every_day()[::3])
    left = chance.sample(WARM, 2)
    names = [name for name in PLANTS if name not in WARM or name in left]
    chance.shuffle(names)
    # the one that needs a week of mornings finds its place first
    names.sort(key=lambda name: name != "same-value")
    expected, taken = set[tuple[str, date | str | None]](), set[date]()
    for name in names:
        free = [
            day
            for day in farm.every_day()[22:-3]
            if day not in seldom and not _touched(name, day) & taken
        ]
        day = chance.choice(free)
        taken |= _touched(name, day)
        expected |= PLANTS[name](farm, day)
    return expected


def _touched(name: str, day: date) -> set[date]:
    if name == "same-value":
        return {day - back * A_DAY for back in range(-1, 6)}
    return {day}


# ---- and what looks like them ------------------------------------------------------


def explained(farm: Clean, day: date) -> None:
    _missed(farm, day)


def signed_by_the_doer(farm: Clean, day: date) -> None:
    _typed_by_another(farm, day)
    farm.add(
        "own word",
        at(day, "20:30"),
        lambda names: Countersign(entries=(names[f"walk {day}"],), how="self-reviewed"),
        by=farm.events[f"walk {day}"].by,
    )


def not_yet_reviewed(farm: Clean, day: date) -> None:
    del farm.events[f"seen {farm.last}"]


def acted_upon(farm: Clean, day: date) -> None:
    _too_warm(farm, day)
    farm.acted("warm", day, about=f"walk {day}", step="temp")


def put_right(mark: str, kind: str = "dose") -> Callable[[Clean, date], None]:
    return lambda farm, day: _marked(farm, day, mark, kind=kind)


def about_the_same(farm: Clean, day: date) -> None:
    """A strip shows 180 where the checklist says 200; a minute more or less."""
    values = {"strength": (200, "mg/L"), "contact": (14, "min")}
    farm.change(
        f"wash {day}",
        answers=tuple(
            Answer(step=step, passed=True, value=Decimal(value), unit=unit)
            for step, (value, unit) in values.items()
        ),
    )
    read = (Reading(spot="start", value_mg_per_l=Decimal(180), kit="QS"),)
    farm.change(f"dose {day}", readings=read, ended_at=stamp(at(day, "09:12")))


def a_lot_more(farm: Clean, day: date) -> None:
    lot = Seed(
        lot="L-9", supplier="ALDER", supplier_lot="AF/9", grams=50_000,
        untreated_seen_by="AB", declaration="note 9",
    )  # fmt: skip
    farm.add("lot 9", at(farm.first, "06:20"), lot)
    chain(farm, day)


def fed_in_two_parts(farm: Clean, day: date) -> None:
    sown = day - GROWING * A_DAY
    first, *rest = trays_of(sown, farm.first)
    event = farm.events[f"feed {day}"]
    whole = event.make({})
    farm.change(f"feed {day}", trays=tuple(rest), grams=26_000)
    part = replace(whole, trays=(first,), grams=8_600)  # type: ignore[type-var]
    farm.add("rest", at(day, "08:40"), part)


def empty_can(farm: Clean, day: date) -> None:
    expired_store(farm, day)
    gone = Lost(container="C-2", tenth_ml=50_000, why="given back")
    farm.add("gone", at(farm.first, "06:15"), gone)


def checked_lately(farm: Clean, day: date) -> None:
    kit_check(farm, day)
    thing = Calibrate(kit="PH", passed=True, against="buffer 7")
    farm.add("check again", at(farm.last - 3 * A_DAY, "09:00"), thing)


def drilled_lately(farm: Clean, day: date) -> None:
    farm.events["drill"].happened_at = at(farm.last - 360 * A_DAY, "09:00")


def backed_up_a_week_ago(farm: Clean, day: date) -> None:
    farm.events["backup"].at = at(farm.last - 6 * A_DAY, "12:00")


def incident_closed(farm: Clean, day: date) -> None:
    farm.add(f"pest {day}", at(day, "12:00"), Pest(what="rat", place="hopper"))
    farm.acted("rat", day, about=f"pest {day}", incident=True)


def sampled_in_time(farm: Clean, day: date) -> None:
    farm.events["sample"].happened_at = at(farm.last - 170 * A_DAY, "09:00")


def new_strips(farm: Clean, day: date) -> None:
    kit_order(farm, day)
    thing = Calibrate(kit="QS", passed=True, against="new tube", expires_on=FAR)
    farm.add("strips", at(farm.first, "06:30"), thing)


def for_floors(farm: Clean, day: date) -> None:
    """A PT2 product that is said to be for floors hangs together."""
    farm.things["product quat"] = Product(
        code="quat", name="Floor Quat", product_types=("PT2",), uses=("floor",),
        sds_checked_on=farm.first,
    )  # fmt: skip
    can = Container(container="C-3", product="quat", tenth_ml=50_000)
    farm.add("can 3", at(farm.first, "06:40"), can)


def sheet_of_nothing(farm: Clean, day: date) -> None:
    """Of a product that does not stand in the store nobody needs a new sheet."""
    farm.things["product gone"] = Product(
        code="gone", name="Long Gone", uses=("floor",), sds_date=date(2019, 1, 1),
        assessment="RA-9", assessment_review_on=date(2020, 1, 1),
    )  # fmt: skip


def trained_again(farm: Clean, day: date) -> None:
    training(farm, day)
    thing = Train(person="CD", topic="chemicals", had_on=day - A_DAY)
    farm.add("course", at(day - A_DAY, "12:00"), thing)


def a_third_looks(farm: Clean, day: date) -> None:
    """Whoever did it looks as well, but so did another."""
    farm.add(
        "own look",
        at(day, "20:10"),
        lambda names: Countersign(entries=(names[f"walk {day}"],), how="self-reviewed"),
        by=farm.events[f"walk {day}"].by,
    )


def twice_only(farm: Clean, day: date) -> None:
    for back in (40, 9, 0):
        if day - back * A_DAY >= farm.first:
            _mice(farm, day - back * A_DAY)


def from_paper(farm: Clean, day: date) -> None:
    """Typed the next morning from the sheet that hangs in the shed."""
    late(farm, day)
    farm.change(f"wash {day}", marks=("late", "paper"))
    farm.events[f"wash {day}"].written_by = "EF"


def right_after(farm: Clean, day: date) -> None:
    """Several jobs signed in one minute, and a dose at the end of its contact."""
    farm.events[f"dose {day}"].at = at(day, "09:20")
    for task in ("walk", "wash"):
        farm.events[f"{task} {day}"].at = at(day, "10:30")


def four_alike(farm: Clean, day: date) -> None:
    _same(farm, day, 4)


def read_at_the_rinse(farm: Clean, day: date) -> None:
    """The tub was made up for another dose, whose readings count for it."""
    farm.add(
        "second dip",
        at(day, "09:50"),
        lambda names: replace(
            farm.events[f"dose {day}"].make(names),  # type: ignore[type-var]
            readings=(),
            tub=names[f"dose {day}"],
        ),
        happened_at=at(day, "09:15"),
    )
    farm.change(f"dose {day}", trays=trays_of(day, farm.first)[:2])
    farm.events["second dip"].make = _second_dip(farm, day)


def _second_dip(farm: Clean, day: date) -> Name:
    return lambda names: Dose(
        product="hypo",
        target="tray",
        trays=trays_of(day, farm.first)[2:],
        way="soak",
        tub=names[f"dose {day}"],
        ended_at=stamp(at(day, "09:27")),
        washed_before=True,
        rinsed=True,
    )


def missed_once(farm: Clean, day: date) -> None:
    _missed(farm, day)


def unmarked(farm: Clean, day: date) -> None:
    """Doses, sowings and tasks without any mark, as on every other day."""


def in_one_second(farm: Clean, day: date) -> None:
    """Two lines of one moment stand in the order in which they were written."""
    for number in (1, 2):
        thing = Pest(what=f"moth {number}", place="door")
        farm.add(f"moth {number}", at(day, "13:10"), thing)


NEAR: dict[str, Callable[[Clean, date], None]] = {
    "gap": explained,
    "unsigned": signed_by_the_doer,
    "unreviewed": not_yet_reviewed,
    "no-action": acted_upon,
    "open-action": acted_upon,
    "closed-unchecked": acted_upon,
    "strength": put_right("too-weak"),
    "strength, two papers": about_the_same,
    "time": put_right("contact-short"),
    "time, two papers": about_the_same,
    "order": put_right("not-washed"),
    "without-paper": put_right("not-looked-at", "feed"),
    "chain": a_lot_more,
    "balance": fed_in_two_parts,
    "expired-store": empty_can,
    "kit-check": checked_lately,
    "drill": drilled_lately,
    "backup": backed_up_a_week_ago,
    "incident": incident_closed,
    "water": sampled_in_time,
    "kit-order": new_strips,
    "register": for_floors,
    "data-sheet": sheet_of_nothing,
    "assessment": sheet_of_nothing,
    "training": trained_again,
    "own-check": a_third_looks,
    "own-check, recheck": acted_upon,
    "again": twice_only,
    "late": from_paper,
    "late, dose": right_after,
    "impossible": right_after,
    "impossible, ahead": right_after,
    "same-value": four_alike,
    "unread": unmarked,
    "unread, dose": read_at_the_rinse,
    "often": missed_once,
    "expired-used": unmarked,
    "product-type": unmarked,
    "untrained": unmarked,
    "kit-used": unmarked,
    "against-rules": unmarked,
    "clock": in_one_second,
}
"""For every trouble, the nearest thing that is none."""
