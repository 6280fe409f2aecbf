"""A record of any size, made fast: lines and hashes inserted under the whole schema.

Its set-up goes through ``Writing``; after that only ``Writing`` is left out. Tables,
triggers, indexes and mentions are those of a real record, so what is measured on it is
what a farm would see. It ends this morning, at the same daily rate for longer.

Every day: thirty tasks signed in time, a wash and a sowing of twelve trays, three
feeds of what was sown seven days before, water read at the taps, a countersignature. A
lot a fortnight, a container a month, a copy a week; mould every 25 days with its hold,
action, discards, release, recheck and close. One entry in a hundred is put right.
"""

from __future__ import annotations

import os
import sqlite3
import sys
from collections.abc import Callable, Iterator
from contextlib import closing
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal
from functools import lru_cache
from itertools import count
from pathlib import Path
from time import perf_counter

HERE = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE.parent))

from dose_farm import KITS, PRODUCTS, TOOLS  # noqa: E402

from hygiene.book import chain, keys  # noqa: E402
from hygiene.book.record import Record  # noqa: E402
from hygiene.kinds.action import Action, Close, Recheck  # noqa: E402
from hygiene.kinds.base import Kind  # noqa: E402
from hygiene.kinds.batch import Discard, Feed, Place, SeedShare, Sow  # noqa: E402
from hygiene.kinds.book import Backup  # noqa: E402
from hygiene.kinds.checklist import Checklist, Step  # noqa: E402
from hygiene.kinds.codes import minted  # noqa: E402
from hygiene.kinds.day import Answer, Countersign, SignOff  # noqa: E402
from hygiene.kinds.entry import Entry, write_line  # noqa: E402
from hygiene.kinds.find import Hold, Mould, Release  # noqa: E402
from hygiene.kinds.moments import stamp  # noqa: E402
from hygiene.kinds.sanitising import Container, Dose, Drawn, Reading  # noqa: E402
from hygiene.kinds.seed import Seed  # noqa: E402
from hygiene.kinds.setup import (  # noqa: E402
    Animals,
    Farm,
    Line,
    Person,
    Point,
    Rack,
    Room,
    Supplier,
    Tank,
    Tray,
)
from hygiene.kinds.water import Result, Water  # noqa: E402

A_DAY = 50
"""Entries a day, 18,250 a year: a busy shed; a million of them is 55 years."""
TASKS = 30
"""So many tasks are signed every day; as many more, of the last days, never are."""
FIRST_TASK = A_DAY - TASKS
"""Where the signed tasks of a day begin."""
APART = timedelta(minutes=15)
"""Between the entries of a day."""
BEFORE = timedelta(minutes=30)
"""So long after it began a dose is written."""
UNSIGNED = timedelta(days=3)
FIRST_DAY = 3
"""The lines of the days before it are the set-up."""
GROUPS = ("EWES", "GOATS", "COWS")
MOULD_EVERY, LOT_DAYS, CAN_DAYS, SETUP_DAYS = 25, 14, 30, 20


def now() -> datetime:
    """The clock's own moment, to the second."""
    return datetime.now(UTC).replace(microsecond=0)


@dataclass(frozen=True)
class Big:
    """A record of ``size`` entries in ``folder``, with this device's key to it."""

    folder: Path
    size: int

    @property
    def path(self) -> Path:
        return self.folder / "farm.db"

    @property
    def keys(self) -> Path:
        return self.folder / "keys"

    def day(self, number: int) -> datetime:
        """When day ``number`` began; the last of them this midnight."""
        first = now().date() - timedelta(days=self.size // A_DAY)
        return datetime.combine(first, time(0), UTC) + timedelta(days=number)

    def moment(self, seq: int) -> datetime:
        """When entry ``seq`` happened."""
        day, place = divmod(seq, A_DAY)
        return self.day(day) + place * APART

    def build(self) -> None:
        """Make it: the set-up, and then ``size`` lines in all."""
        with Record.create(self.path, now, self.keys) as record:
            with record.writing(now, self.keys) as book:
                for thing in a_farm(self.day(0).date(), now().date()):
                    book.add(thing, by="AB", happened_at=self.day(0))
            (head,) = record.heads()
        with closing(sqlite3.connect(self.path, isolation_level=None)) as db:
            db.execute("pragma synchronous = off")
            db.execute("pragma cache_size = -400000")
            self._fill(db, *head)
        with self.path.open("rb") as file:
            os.fsync(file.fileno())  # or its pages go to disk while we measure
        with Record.open(self.path) as record:
            (head,) = record.heads()
        keys.Kept(self.keys, keys.Key(*head)).put()

    def _fill(self, db: sqlite3.Connection, book: str, last: int, hashed: str) -> None:
        started = perf_counter()
        db.execute("begin")
        for seq in range(last + 1, self.size + 1):
            line = write_line(self.entry(book, seq))
            hashed = chain.follow(hashed, line.encode())
            db.execute(
                "insert into entry(book, seq, line, hash) values (?, ?, ?, ?)",
                (book, seq, line, hashed),
            )
            if seq % 100_000 == 0:
                seconds = perf_counter() - started
                print(f"  {seq:,} lines, {seconds:.0f} s", file=sys.stderr, flush=True)
        db.execute("commit")

    def entry(self, book: str, seq: int) -> Entry:
        """Entry ``seq``; one in a hundred puts right one of the same morning."""
        corrected = self._corrects(seq)
        said = seq - FIRST_TASK if corrected else seq
        thing = self.thing(book, said)
        corrects, reason = (f"{book}/{said}", "misread") if corrected else (None, None)
        recorded = stamp(self.moment(seq))
        before = BEFORE if thing.kind == "dose" else timedelta(0)
        happened = stamp(self.moment(said) - before)
        by = "CD" if thing.kind == "countersign" else "AB"
        return Entry(
            book, seq, thing.kind, happened, recorded, by, thing.body(), None,
            corrects, reason,
        )  # fmt: skip

    def corrected(self, after: int) -> int:
        """The first entry after a place that a later one puts right."""
        later = next(n for n in count(after + FIRST_TASK) if self._corrects(n))
        return later - FIRST_TASK

    def _corrects(self, seq: int) -> bool:
        return seq % 101 == 0 and seq % A_DAY >= FIRST_TASK and seq > 1000

    def thing(self, book: str, seq: int) -> Kind:
        """What entry ``seq`` says: what is done in the shed, water, and the tasks."""
        day, place = divmod(seq, A_DAY)
        if place >= FIRST_TASK:
            return a_sign_off(place - FIRST_TASK, self.moment(seq))
        made = self.of_day(book, day)
        return made[place] if place < len(made) else a_reading(seq)

    def of_day(self, book: str, day: int) -> tuple[Kind, ...]:
        """What is written on a day beside its water and its tasks, in its order."""
        started = day >= FIRST_DAY
        return _of_day(book, day, self.day(day).date()) if started else ()


def a_farm(start: date, end: date) -> Iterator[Kind]:
    """A farm whose tasks are due every day, from five o'clock on."""
    yield Farm(name="Measured Farm", address="nowhere", time_zone="UTC")
    yield Person(code="AB", name="Ash Barrow", roles=("manager",))
    yield Person(code="CD", name="Coll Dale", roles=("manager",))
    yield Room(code="GROW", name="Growing room")
    yield Tank(code="K1", name="Tank", volume_l=Decimal(400))
    for n in (1, 2):
        yield Line(code=f"L{n}", name="Line", tank="K1", room="GROW")
        yield Rack(code=f"R{n}", room="GROW", levels=4, line=f"L{n}")
        yield Point(code=f"W{n}", name=f"Tap {n}", line=f"L{n}")
    yield Tray(code="T001..T120")
    yield Supplier(code="ALDER", name="Alder Seeds", address="2 Mill Lane")
    for group in GROUPS:
        yield Animals(code=group, name=group, species="x", head=9, produces=("milk",))
    yield from (*PRODUCTS, *KITS, *TOOLS)
    first = start + timedelta(days=FIRST_DAY)
    for number in range(2 * TASKS):
        yield a_task(number, first if number < TASKS else end - UNSIGNED)


def a_task(number: int, start: date) -> Checklist:
    """A daily task of three steps."""
    due = datetime.min + (FIRST_TASK + number % TASKS) * APART
    return Checklist(
        code=f"task-{number}",
        title=f"Task {number}",
        version=1,
        dated=start,
        rule="FREQ=DAILY",
        starts=start,
        at=(f"{due:%H:%M}",),
        season="always",
        steps=(
            Step(code="temp", text="Air", sort="reading", unit="C"),
            Step(code="humidity", text="Damp", sort="reading", unit="%"),
            Step(code="drains", text="Drains clear"),
        ),
    )


def a_sign_off(number: int, moment: datetime) -> SignOff:
    """A task of three steps, signed at the moment at which it is due."""
    return SignOff(
        task=f"task-{number % TASKS}",
        due=stamp(moment),
        version=1,
        answers=(
            Answer(
                step="temp",
                passed=True,
                value=Decimal(180 + moment.toordinal() * 7 % 50) / 10,
                unit="C",
            ),
            Answer(
                step="humidity",
                passed=True,
                value=Decimal(55 + moment.toordinal() * 3 % 20),
                unit="%",
            ),
            Answer(step="drains", passed=True, done=True),
        ),
    )


def a_reading(seq: int) -> Water:
    """Free chlorine and pH at a tap."""
    free, ph = Decimal(5 + seq * 7 % 5) / 10, Decimal(70 + seq // 2 * 5 % 7) / 10
    return Water(
        point=f"W{1 + seq % 2}",
        kit="QS",
        results=(
            Result(
                parameter="free",
                value=free,
                unit="mg/L",
                as_written=str(free),
                verdict="within",
                held_against="1.0 mg/L at most (farm)",
            ),
            Result(parameter="ph", value=ph, unit="pH", as_written=str(ph)),
        ),
    )


@lru_cache(maxsize=64)
def _of_day(book: str, day: int, date_: date) -> tuple[Kind, ...]:
    sown = (*_bought(book, day), *_sown(book, day, date_))
    made = (*sown, *_ended(book, day), *_mould(book, day, len(sown)))
    return (*made, *_put_right(book, day), *_office(book, day, date_))


def _bought(book: str, day: int) -> Iterator[Kind]:
    can = day // CAN_DAYS
    if day % CAN_DAYS == 0 or day == FIRST_DAY:
        yield Container(
            container=minted("container", book, can + 1),
            product="hypo",
            maker_batch=f"88/{can}",
            tenth_ml=30_000,
            supplier="ALDER",
        )
    if day % (2 * LOT_DAYS) in (0, 1) or day in (FIRST_DAY, FIRST_DAY + 1):
        lot = _lot(day)
        yield Seed(
            lot=minted("lot", book, lot),
            supplier="ALDER",
            supplier_lot=f"AF/{lot}",
            grams=90_000,
            untreated_seen_by="AB",
            declaration="on the bag",
        )


def _lot(day: int) -> int:
    """Two lots are open at once, used on every other day."""
    return 2 * (day // (2 * LOT_DAYS)) + day % 2 + 1


def _trays(day: int) -> tuple[str, ...]:
    return tuple(f"T{12 * (day % 10) + n + 1:03}" for n in range(12))


def _sown(book: str, day: int, date_: date) -> Iterator[Kind]:
    trays, place = _trays(day), len([*_bought(book, day)])
    began = datetime.combine(date_, time(0), UTC) + place * APART - BEFORE
    can = minted("container", book, day // CAN_DAYS + 1)
    yield Dose(
        product="hypo",
        target="tray",
        trays=trays,
        drawn=(Drawn(container=can, tenth_ml=960),),
        volume_l=Decimal(60),
        target_mg_per_l=Decimal(200),
        readings=tuple(
            Reading(
                spot=spot, value_mg_per_l=Decimal(value), kit="QS", temp_c=Decimal(14)
            )
            for spot, value in (("start", 190 + day % 9), ("end", 160 + day % 7))
        ),
        ended_at=stamp(began + timedelta(minutes=13)),
        washed_before=True,
        rinsed=True,
        dry=True,
    )
    yield Sow(
        batch=minted("batch", book, day),
        seeds=(SeedShare(lot=minted("lot", book, _lot(day)), grams=6_000),),
        places=tuple(
            Place(tray=tray, rack=f"R{1 + n // 6}", level=1 + n % 4)
            for n, tray in enumerate(trays)
        ),
        line=f"L{1 + day % 2}",
    )


def _ended(book: str, day: int) -> Iterator[Kind]:
    """What was sown a week ago is fed, or thrown away where it was mouldy."""
    old = day - 7
    if old < FIRST_DAY:
        return
    code, trays = minted("batch", book, old), _trays(old)
    for place, group in enumerate(GROUPS):
        mine = trays[4 * place : 4 * place + 4]
        if old % MOULD_EVERY == 0:
            yield Discard(
                batch=code,
                trays=mine,
                grams=28_000,
                why="mould",
                route="burnt",
                witness="CD",
            )
        else:
            yield Feed(
                batch=code,
                trays=mine,
                animals=group,
                grams=28_000,
                look_ok=True,
                smell_ok=True,
            )


def _mould(book: str, day: int, before: int) -> Iterator[Kind]:
    """On the fifth day of every twenty-fifth batch."""
    if day <= 7 or (day - 5) % MOULD_EVERY:
        return
    batch = minted("batch", book, day - 5)
    find = f"{book}/{day * A_DAY + before + len(GROUPS)}"
    yield Mould(batch=batch, colour="grey", trays=_trays(day - 5)[:3], growing_day=5)
    yield Hold(held=batch, sort="batch", why="mould in it", because=find)
    yield Action(about=find, problem="mould", concerns=batch)


def _put_right(book: str, day: int) -> Iterator[Kind]:
    """Two days after it was burnt."""
    if day <= 10 or (day - 9) % MOULD_EVERY:
        return
    hold, action = (
        f"{book}/{_written(book, day - 4, sort)}" for sort in (Hold, Action)
    )
    yield Release(hold=hold, why="all of it burnt")
    look = f"{book}/{day * A_DAY + len(GROUPS) + _place_of_end(book, day) + 1}"
    yield Recheck(action=action, seen="nothing grey on the trays", passed=True)
    yield Close(
        action=action,
        did="trays washed and steeped",
        recheck=look,
        cause="a wet corner",
        effect="three sowings without",
    )


def _place_of_end(book: str, day: int) -> int:
    """How many entries of a day stand before what ended on it."""
    return len([*_bought(book, day)]) + 2


def _written(book: str, day: int, sort: type[Kind]) -> int:
    """The number of the first entry of a kind on a day of mould."""
    before = _place_of_end(book, day)
    made = [*_mould(book, day, before)]
    place = next(n for n, thing in enumerate(made) if isinstance(thing, sort))
    return day * A_DAY + before + len(GROUPS) + place


def _office(book: str, day: int, date_: date) -> Iterator[Kind]:
    """A look at yesterday's tasks, a copy a week, and now and then a little set-up."""
    tasks = range((day - 1) * A_DAY + FIRST_TASK, day * A_DAY)
    if day > FIRST_DAY:
        yield Countersign(
            entries=tuple(f"{book}/{seq}" for seq in tasks),
            day=str(date_ - timedelta(days=1)),
        )
    if day % 7 == 0:
        head = f"{book}/{day * A_DAY - 1}:{day:064x}"
        yield Backup(place="stick", heads=(head,), bytes=day * A_DAY * 1100)
    if day % SETUP_DAYS == 0:
        which = day // SETUP_DAYS
        yield Person(code=f"P{which % 40}", name="Ash Barrow")
        yield Room(code=f"ROOM{which % 10}", name="Growing room")


Timed = tuple[float, float]


def interleaved(rounds: int, *jobs: Callable[[], object]) -> Iterator[Timed]:
    """The least and the median time of each job in ms, the jobs taking turns."""
    taken: list[list[float]] = [[] for _ in jobs]
    for _ in range(rounds):
        for place, job in enumerate(jobs):
            started = perf_counter()
            job()
            taken[place].append((perf_counter() - started) * 1000)
    for times in taken:
        times.sort()
        yield times[0], times[len(times) // 2]
