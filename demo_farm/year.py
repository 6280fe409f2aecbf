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
from demo_farm.shed import MANAGER, WORKER, Day, Shed
from demo_farm.stories import PLANTED, UNSEEN, Story, begin, every_day, on_day
from hygiene.acts.day import list_of
from hygiene.acts.set_up import read_files
from hygiene.acts.signing import questions
from hygiene.book.record import Record
from hygiene.farm.in_force import in_force
from hygiene.kinds.moments import at_the_farm, zone_of
from hygiene.rota.schedule import read_rota

__all__ = ["MANAGER", "PLANTED", "WORKER", "build", "morning_of", "to_sign"]

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
) -> list[tuple[date, str]]:
    """Make the record at ``path``, its last ``days`` days, up to ``until``.

    The stories lie so many days before the day of ``until``; ``stops_before`` leaves
    off so many days earlier, for a look at a part of the year. One transaction a day.

    Gives back what went wrong by chance and is still to be told of: each day, and the
    rule of ``hygiene ready`` that finds it.
    """
    last = until.date()
    first = last - (days - 1 + stops_before) * A_DAY
    shed = Shed(for_a_year_to(read_files(farm_file), last), first, last)
    shed.now = shed.moment(first, "05:50")
    stories = every_day()
    with Record.create(path, shed.clock, keys, demonstration=True) as record:
        for number in range(days):
            with record.writing(shed.clock, keys) as shed.writing:
                if number == 0:
                    begin(shed, first)
                _live(shed, first + number * A_DAY, until, stories)
            progress(number + 1, days)
    return shed.by_chance


def _live(shed: Shed, day: date, until: datetime, stories: tuple[Story, ...]) -> None:
    chance = Random(f"ostrin {shed.before(day)}")
    today = Day(shed, day, chance, ordinary.plans(shed, day, chance))
    if not on_day(today):
        ordinary.go_wrong(today)
    if today.before not in UNSEEN:
        ordinary.second_look(today)
    for story in stories:
        story(today)
    for plan in today.plans.values():
        shed.carry_out(plan)
    end = shed.moment(day + A_DAY, "00:00") - timedelta(seconds=1)
    shed.live_until(min(end, until))


def to_sign(record: Record, until: datetime) -> list[str]:
    """The words after ``hygiene sign`` for the first of the last day's open tasks."""
    setup = record.setup()
    farm, rota = in_force(setup, until), read_rota(setup)
    listed = list_of(record, rota, until)
    today = [state for state in listed if state.due.day == until.date()]
    due = next(state.due for state in (*today, *listed) if state.open)
    asked, chance = questions(due.task, farm), Random(due.code)
    given = ordinary.answers_to(due.code, asked, until, chance)
    answers = [f"{name}={text}" for name, text in given.items()]
    return [due.code, *answers, "--by", ordinary.doer(farm, due, until)]
