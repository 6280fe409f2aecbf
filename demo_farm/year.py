"""A year of the invented farm's record, made through the acts of the program.

The same last moment gives the same year: nothing here reads a clock or throws dice of
its own. Only the book's name is drawn at random when the record is made, as always.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, datetime, time, timedelta
from pathlib import Path
from random import Random

from demo_farm import ordinary
from demo_farm.dates import A_DAY, for_a_year_to
from demo_farm.shed import Day, Shed
from demo_farm.stories import EVERY_DAY, UNSEEN, on_day
from hygiene.acts.set_up import read_files
from hygiene.book.record import Record
from hygiene.kinds.moments import at_the_farm, zone_of

DAYS = 365
MORNING = time(8, 45)
"""Where the last day stops at the latest: some of its tasks are done, some are due."""

Progress = Callable[[int, int], object]


def morning_of(farm_file: Path, now: datetime) -> datetime:
    """The last moment of a year that ends now: this morning, by the farm's clock."""
    zone = zone_of(read_files(farm_file).wanted.farm.time_zone)
    local = now.astimezone(zone)
    return min(local, at_the_farm(local.date(), MORNING, zone))


def build(
    path: Path,
    keys: Path,
    farm_file: Path,
    until: datetime,
    *,
    days: int = DAYS,
    stops_before: int = 0,
    progress: Progress = lambda done, of: None,
) -> None:
    """Make the record at ``path``, its last ``days`` days, up to ``until``.

    The stories lie so many days before the day of ``until``; ``stops_before`` leaves
    off so many days earlier, for a look at a part of the year. One transaction a day.
    """
    files = for_a_year_to(read_files(farm_file), until.date())
    last = until.date() - stops_before * A_DAY
    first = last - (days - 1) * A_DAY
    shed = Shed(files, until, until.date())
    shed.now = shed.moment(first, "05:50")
    with Record.create(path, shed.clock, keys, demonstration=True) as record:
        for number in range(days):
            with record.writing(shed.clock, keys) as shed.writing:
                if number == 0:
                    shed.set_up(files)
                _live(shed, first + number * A_DAY, until)
            progress(number + 1, days)


def _live(shed: Shed, day: date, until: datetime) -> None:
    chance = Random(f"ostrin {shed.before(day)}")
    today = Day(shed, day, chance, ordinary.plans(shed, day, chance))
    if not on_day(today):
        ordinary.go_wrong(today)
    if today.before not in UNSEEN:
        ordinary.second_look(today)
    for story in EVERY_DAY:
        story(today)
    for plan in today.plans.values():
        shed.carry_out(plan)
    end = shed.moment(day + A_DAY, "00:00") - timedelta(seconds=1)
    shed.live_until(min(end, until))
