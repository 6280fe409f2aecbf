"""The inspector's pack of a month, a year of 10,000 entries, and five years of it.

By hand, where nothing else runs: python tests/benchmarks/pack.py [ENTRIES-A-YEAR]

The farm is busier than any shed of its size: 13 tasks a day, two batches sown, six
feedings, two doses; one task in sixty is out of limit and has its action, recheck
and close, one in two hundred is missed. The bar: a year in under 8 s and 300 MB on two
cores, from the shell to the finished file, and growing in proportion. The floor is the
layout engine alone, in a process of its own, with forty pages of plain lines.
"""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable, Iterator
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from pathlib import Path
from tempfile import TemporaryDirectory
from time import perf_counter
from typing import NamedTuple

HERE = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE.parent))

import pypdf  # noqa: E402
from dose_farm import KITS, PRODUCTS, TOOLS  # noqa: E402
from small_farm import THINGS  # noqa: E402
from sprout_farm import MORE, tray  # noqa: E402

from hygiene.book.record import Record  # noqa: E402
from hygiene.kinds.action import Action, Close, Recheck  # noqa: E402
from hygiene.kinds.base import Kind  # noqa: E402
from hygiene.kinds.batch import Feed, Place, Sample, SeedShare, Sow  # noqa: E402
from hygiene.kinds.checklist import Checklist, Step  # noqa: E402
from hygiene.kinds.day import Answer, Countersign, Miss, SignOff  # noqa: E402
from hygiene.kinds.moments import stamp  # noqa: E402
from hygiene.kinds.sanitising import (  # noqa: E402
    Container,
    Dose,
    Drawn,
    Opened,
    Reading,
    Rinse,
)
from hygiene.kinds.seed import Seed  # noqa: E402
from hygiene.kinds.setup import Point  # noqa: E402
from hygiene.kinds.water import Result, Water  # noqa: E402

BAR_S, BAR_MB = 8.0, 300
ROUNDS = 3
TASKS, FEEDS = 13, 6
FIRST = date(2021, 1, 1)
RUN = "from hygiene.cli import main; main()"
FLOOR = """
from datetime import UTC, datetime
from hygiene.reports import press
page = "<pre>" + "a line of plain words and figures 0123456789\\n" * 55 + "</pre>"
html = f"<html lang=en><title>Floor</title><body>{page * 40}</body></html>"
press.make(html, (), datetime(2026, 1, 1, tzinfo=UTC))
"""
Written = tuple[Kind, datetime, str]


class Used(NamedTuple):
    """What a run took: wall clock, processor, and the most memory at a time."""

    wall_s: float
    processor_s: float
    peak_mb: float


def task(number: int) -> Checklist:
    """A daily task with two ticks and a reading."""
    return Checklist(
        code=f"task{number}",
        title=f"Task number {number} of the day",
        version=1,
        dated=FIRST,
        rule="FREQ=DAILY",
        starts=FIRST,
        at=(f"{6 + number:02}:00",),
        steps=(
            Step(code="done", text="Cleaned and looked at"),
            Step(code="dry", text="Dry"),
            Step(
                code="temp", text="Temperature", sort="reading", unit="C",
                low=Decimal(10), high=Decimal(22),
            ),
        ),
    )  # fmt: skip


class Busy:
    """The farm, and the clock by which it is written."""

    def __init__(self, folder: Path) -> None:
        self.path, self.keys = folder / "farm.db", folder / "keys"
        self.now = datetime(FIRST.year, 1, 1, 5, tzinfo=UTC)
        self.count = 0

    def clock(self) -> datetime:
        """The moment of writing."""
        return self.now

    def fill(self, days: int, feeds: int) -> None:
        """Set it up and write so many days, in one transaction."""
        self.feeds = feeds
        Record.create(self.path, self.clock, self.keys).close()
        with (
            Record.open(self.path, to_write=True) as record,
            record.writing(self.clock, self.keys) as book,
        ):
            self.add = book.add
            things = (*THINGS, *MORE, *PRODUCTS, *KITS, *TOOLS)
            more = (Point(code="P1", name="Tap", line="L1"), *map(task, range(TASKS)))
            seen = {(t.kind, getattr(t, "code", "")): t for t in (*things, *more)}
            for thing in seen.values():
                self.write(thing)
            for number in range(days):
                self.day(number)

    def write(self, thing: Kind, by: str = "AB", minutes: int = 1) -> str:
        """Write one thing; the clock goes on."""
        self.now += timedelta(minutes=minutes)
        self.count += 1
        return self.add(thing, by=by).name

    def day(self, number: int) -> None:
        """Everything of a day."""
        day = FIRST + timedelta(days=number)
        self.now = datetime(day.year, day.month, day.day, 6, tzinfo=UTC)
        if number % 7 == 0:
            self.weekly(number)
        signed = [self.task(number, place) for place in range(TASKS)]
        for place in range(2):
            self.sow(number, place)
            self.dose(number, place)
        for place in range(self.feeds):
            self.feed(number, place)
        if number % 2 == 0:
            self.water(number)
        self.write(
            Sample(batch=f"B{number}-0", why="kept back", frozen_at="freezer", grams=50)
        )
        kept = tuple(name for name in signed if name)
        self.write(Countersign(entries=kept, day=str(day)), "CD")

    def weekly(self, number: int) -> None:
        """A lot of seed and a can of sanitiser."""
        week = number // 7
        self.write(
            Seed(
                lot=f"L{week}", supplier="ALDER", supplier_lot=f"A-{week}",
                grams=800_000, untreated_seen_by="AB", declaration="on the bag",
            )
        )  # fmt: skip
        can = Container(
            container=f"C{week}", product="hypo", maker_batch=f"M{week}",
            tenth_ml=14_000,
        )  # fmt: skip
        self.write(can)
        self.write(Opened(container=f"C{week}"))

    def task(self, number: int, place: int) -> str:
        """A sign-off; some out of limit, some missed."""
        at = self.now.replace(hour=6 + place, minute=0)
        due, which = stamp(at), number * TASKS + place
        self.now = max(self.now, at)
        if which % 200 == 77:
            self.write(Miss(task=f"task{place}", due=due, why="no hot water"))
            return ""
        temp = Decimal(25 if which % 60 == 31 else 18)
        fine = temp <= 22
        answers = (
            Answer(step="done", done=True, passed=True),
            Answer(step="dry", done=True, passed=True),
            Answer(step="temp", value=temp, unit="C", passed=fine),
        )
        thing = SignOff(task=f"task{place}", due=due, version=1, answers=answers)
        name = self.write(thing, "AB" if which % 3 else "CD")
        if not fine:
            self.act(name, f"task{place}: temp was 25 C")
        return name

    def act(self, about: str, problem: str) -> None:
        """An action to its end."""
        action = self.write(Action(about=about, problem=problem, did="fan turned up"))
        look = self.write(Recheck(action=action, seen="19 C", passed=True), "CD")
        self.write(Close(action=action, did="fan mended", recheck=look, cause="worn"))

    def sow(self, number: int, place: int) -> None:
        """A batch of six trays."""
        start = (number * 2 + place) % 3 * 12 + 1
        self.write(
            Sow(
                batch=f"B{number}-{place}",
                seeds=(SeedShare(lot=f"L{number // 7}", grams=18_000),),
                places=tuple(Place(tray=tray(start + n), rack="R1") for n in range(6)),
            )
        )

    def dose(self, number: int, place: int) -> None:
        """A dip of six trays, one in forty too weak; one in five rinsed later."""
        which = number * 2 + place
        start, weak = which % 3 * 12 + 1, which % 40 == 11
        trays = tuple(tray(start + n) for n in range(6))
        levels = (60, 60) if weak else (195, 165)
        thing = Dose(
            product="hypo",
            target="tray",
            trays=trays,
            drawn=(Drawn(container=f"C{number // 7}", tenth_ml=1_000),),
            volume_l=Decimal(60),
            target_mg_per_l=Decimal(200),
            readings=tuple(
                Reading(spot=s, value_mg_per_l=Decimal(v), kit="QS", temp_c=Decimal(14))
                for s, v in zip(("start", "end"), levels, strict=True)
            ),
            ended_at=stamp(self.now + timedelta(minutes=13)),
            washed_before=True,
            rinsed=None if which % 5 == 0 else True,
            dry=True,
        )
        name = self.write(thing)
        if which % 5 == 0:
            self.write(Rinse(doses=(name,), trays=trays, dry=True), minutes=20)
        if weak:
            self.act(name, "60 mg/L at the start is too weak: at least 100")

    def feed(self, number: int, place: int) -> None:
        """Two trays of a batch of a week ago."""
        if number < 7:
            return
        own, part = divmod(place, 3)
        start = ((number - 7) * 2 + own) % 3 * 12 + 1 + part % 3 * 2
        self.write(
            Feed(
                batch=f"B{number - 7}-{own % 2}", trays=(tray(start), tray(start + 1)),
                animals=("EWES", "GOATS")[own % 2], grams=30_000, look_ok=True,
                smell_ok=True,
            )
        )  # fmt: skip

    def water(self, number: int) -> None:
        """Free chlorine and pH at the tap."""
        level = Decimal(5 + number % 4) / 10
        free = Result(
            parameter="free", value=level, unit="mg/L", as_written=str(level),
            verdict="within", held_against="1.0 mg/L at most (farm)",
        )  # fmt: skip
        ph = Result(parameter="ph", value=Decimal("7.2"), unit="pH", as_written="7.2")
        self.write(Water(point="P1", results=(free, ph), kit="QS"))


def used(words: list[str], environ: dict[str, str]) -> Used:
    """What one process takes, from its start to its end."""
    started = perf_counter()
    child = subprocess.Popen(
        [sys.executable, *words], env=environ, stdout=subprocess.DEVNULL
    )
    _, status, taken = os.wait4(child.pid, 0)
    child.returncode = os.waitstatus_to_exitcode(status)
    if child.returncode not in (0, 3):
        raise SystemExit(f"{words} ended with {child.returncode}")
    wall = perf_counter() - started
    return Used(wall, taken.ru_utime + taken.ru_stime, taken.ru_maxrss / 1024)


def best(run: Callable[[], Used]) -> Used:
    """The quickest of the rounds, with the most memory of them all."""
    runs = [run() for _ in range(ROUNDS)]
    quick = min(runs)
    return quick._replace(peak_mb=max(r.peak_mb for r in runs))


def spans(days: int) -> Iterator[tuple[str, date, date]]:
    """The periods that are made: the last month, the last year, all of it."""
    last = FIRST + timedelta(days=days - 1)
    for name, length in (("a month", 31), ("a year", 365), ("five years", days)):
        yield name, last - timedelta(days=length - 1), last


def main(a_year: int) -> None:
    """Build the record in a folder that is thrown away, and print the figures."""
    days = 5 * 365
    with TemporaryDirectory() as folder:
        farm = Busy(Path(folder))
        farm.fill(days, FEEDS + max(a_year - 10_000, 0) // 365)
        environ = {
            **{k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"},
            "HYGIENE_RECORD": str(farm.path),
            "HYGIENE_KEYS": str(farm.keys),
        }
        print(f"{farm.count:,} entries in five years, {farm.count / 5:,.0f} a year")
        floor = best(lambda: used(["-c", FLOOR], environ))
        print(f"floor, the engine alone: {floor.wall_s:.2f} s, {floor.peak_mb:.0f} MB")
        kept = True
        for name, first, last in spans(days):
            kept &= report(name, first, last, Path(folder), environ, floor)
    sys.exit(not kept)


def report(
    name: str,
    first: date,
    last: date,
    folder: Path,
    environ: dict[str, str],
    floor: Used,
) -> bool:
    """One period, timed; whether it keeps the bar (which is that of a year)."""
    out = folder / "pack.pdf"
    moment = f"{last + timedelta(days=1)} 12:00"
    words = ["-c", RUN, "report", "pack", "--from", str(first), "--to", str(last)]
    words += ["--printed-at", moment, "--out", str(out)]
    made = best(lambda: used(words, environ))
    pages, size = len(pypdf.PdfReader(out).pages), out.stat().st_size / 1e6
    print(
        f"{name}: {made.wall_s:.2f} s ({made.wall_s / floor.wall_s:.2f} of the floor), "
        f"processor {made.processor_s:.2f} s, peak {made.peak_mb:.0f} MB; "
        f"{pages} pages, {size:.1f} MB"
    )
    return name != "a year" or (made.wall_s < BAR_S and made.peak_mb < BAR_MB)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 10_000)
