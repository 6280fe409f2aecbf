"""Lines of a rota on paper: which task at which time of day, in which week or month.

The code of a line says its week or month, and, hidden in four letters, that once more
with the farm, the task, the version of its checklist and its time of day:
``W2614-K7QX-C``. Nothing is written down when a sheet is printed, since the code is
found again by making those of every line that there could be. A checklist that changed
gives another code, so that what was ticked by the old one is never read by the new.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from datetime import date, datetime, time, timedelta
from hashlib import sha256
from typing import NamedTuple

from hygiene.errors import Refused, Unknown
from hygiene.kinds.codes import WrongCode, bare, check_character, slips
from hygiene.kinds.entry import Entry
from hygiene.kinds.moments import months_after
from hygiene.rota.schedule import Due, Rota, Task, typed_order

LETTERS = "23456789ABCDEFGHJKMNPQRSTVWXYZ"
"""None that is taken for another on wet paper: no 0 or O, no 1, I or L, no U."""
CODE = re.compile(r"([WM])(\d\d)(\d\d)([2-9A-HJKMNP-TV-Z]{4})([0-9A-Z])")
SPANS = {"W": "week", "M": "month"}
CENTURY = 2000


class NotASheet(Unknown):
    """A code that no line of this farm's sheets has."""

    sentence = "no sheet of this farm has the code {given}"


class ChecklistChanged(Refused):
    """A day on which another version of the checklist was in force."""

    sentence = (
        "refused: the sheet {code} asks by version {printed} of {task}, but on "
        "{day} version {now} was in force"
    )


class Days(NamedTuple):
    """A week (Monday to Sunday, ISO 8601) or a calendar month; ``sort`` is W or M."""

    sort: str
    first: date
    last: date

    @property
    def text(self) -> str:
        """As a code says it: W2614, M2604."""
        if self.sort == "W":
            year, week, _ = self.first.isocalendar()
            return f"W{year % 100:02}{week:02}"
        return f"M{self.first:%y%m}"

    @property
    def file(self) -> str:
        """As the name of a file: 2026-W14, 2026-04."""
        if self.sort == "W":
            year, week, _ = self.first.isocalendar()
            return f"{year}-W{week:02}"
        return f"{self.first:%Y-%m}"

    @property
    def words(self) -> str:
        """As a person says it: week 14 of 2026, April 2026."""
        if self.sort == "W":
            year, week, _ = self.first.isocalendar()
            return f"week {week} of {year}"
        return f"{self.first:%B %Y}"


class Line(NamedTuple):
    """One task at one time of day, by one version of its checklist."""

    days: Days
    task: Task
    at: time
    code: str


def week_of(day: date) -> Days:
    """The week that a day lies in, Monday to Sunday."""
    first = day - timedelta(days=day.weekday())
    return Days("W", first, first + timedelta(days=6))


def month_of(day: date) -> Days:
    """The calendar month that a day lies in."""
    first = day.replace(day=1)
    return Days("M", first, months_after(first, 1) - timedelta(days=1))


def lines(rota: Rota, farm: str, days: Days) -> list[Line]:
    """The lines of a sheet, by the clock: what is due in those days as it now stands.

    ``farm`` is the name of the farm's first entry, which no other farm has.
    """
    found = {
        (due.task.entry.name, at): (due.task, at)
        for due in rota.dues(days.first, days.last)
        for at in [_clock(rota, due)]
    }
    made = [_line(farm, days, task, at) for task, at in found.values()]
    return sorted(made, key=lambda line: (line.at, line.task.code, line.task.version))


def dues_of(rota: Rota, line: Line) -> list[Due]:
    """What is due on the days of a line, by its own version, in order."""
    return [
        due
        for due in rota.dues(line.days.first, line.days.last)
        if due.task == line.task and _is_at(rota, due, line.at)
    ]


def changed_on(rota: Rota, line: Line, day: date) -> ChecklistChanged | None:
    """Why the line cannot say anything of that day, if another version holds there."""
    for due in rota.dues(day, day):
        if due.code == line.task.code and due.task != line.task:
            return ChecklistChanged(
                code=line.code,
                printed=line.task.version,
                task=due.code,
                day=f"{day:%A} {day.day} {day:%B}",
                now=due.task.version,
                way_out=f"hygiene sign {due.code} --on {day}",
            )
    return None


def find(rota: Rota, farm: str, given: str) -> Line:
    """The line with this code; raises ``NotASheet`` or ``WrongCode``.

    Any case, with or without hyphens, typed or scanned.
    """
    plain = re.sub(r"[\s-]", "", bare(given)).upper()
    found = CODE.fullmatch(plain)
    if found is None:
        raise NotASheet(given=given.strip(), way_out=_way_out(rota, farm, plain))
    if check_character(plain[:-1]) != plain[-1]:
        raise WrongCode(given=given.strip(), way_out=_way_out(rota, farm, plain))
    for line in _candidates(rota, farm, found):
        if line.code == _written(plain):
            return line
    raise NotASheet(
        given=_written(plain),
        way_out="it is of another farm, or of a checklist that this record does not "
        "have: sign by name, hygiene sign TASK --on DATE",
    )


def _candidates(rota: Rota, farm: str, found: re.Match[str]) -> Iterator[Line]:
    """Every line that there could be in the days that a code says."""
    days = _days(found[1], int(found[2]), int(found[3]))
    if days is None:
        return
    for task in rota.tasks:
        for at in task.at:
            yield _line(farm, days, task, at)


def _days(sort: str, year: int, number: int) -> Days | None:
    try:
        if sort == "W":
            return week_of(date.fromisocalendar(CENTURY + year, number, 1))
        return month_of(date(CENTURY + year, number, 1))
    except ValueError:
        return None


def _way_out(rota: Rota, farm: str, plain: str) -> str:
    """The nearest code that is one, or how codes look."""
    for slip in slips(plain) if len(plain) == len("W2614K7QXC") else ():
        found = CODE.fullmatch(slip)
        if found is None or check_character(slip[:-1]) != slip[-1]:
            continue
        for line in _candidates(rota, farm, found):
            if line.code == _written(slip):
                return f"did you mean {line.code}?"
    return "it stands above each line of the sheet, such as W2614-K7QX-C"


def _line(farm: str, days: Days, task: Task, at: time) -> Line:
    said = "\n".join([farm, days.text, task.code, str(task.version), f"{at:%H:%M}"])
    number = int.from_bytes(sha256(said.encode()).digest())
    letters = ""
    for _ in range(4):
        number, place = divmod(number, len(LETTERS))
        letters += LETTERS[place]
    plain = f"{days.text}{letters}"
    return Line(days, task, at, _written(plain + check_character(plain)))


def _written(plain: str) -> str:
    return f"{plain[:5]}-{plain[5:9]}-{plain[9:]}"


def _clock(rota: Rota, due: Due) -> time:
    """The time of day at which a due was set, also where the clocks change over it."""
    return next((at for at in due.task.at if _is_at(rota, due, at)), due.at.time())


def _is_at(rota: Rota, due: Due, at: time) -> bool:
    moment: datetime = rota.hours_on(due.day).at(due.day, at)
    return moment == due.at


def farm_of(setup: Iterable[Entry]) -> str:
    """The name of the farm's first entry, which no other farm has."""
    farms = [entry for entry in setup if entry.kind == "farm"]
    return min(farms, key=typed_order).first if farms else ""
