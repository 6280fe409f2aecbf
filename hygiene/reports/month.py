"""The month's grid: tasks down, days across, and every exception written out beneath.

A row's days are one text in letters of one width, since a page costs by its boxes: a
year of grids with a cell a day takes ten times as long. (Tabs would do, but the layout
engine draws each a fortieth too wide.) Every day has just one sign in it, so that the
row reads in order aloud as well.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from datetime import date
from typing import NamedTuple

from hygiene.reports.amended import Amended, amended
from hygiene.reports.attached import Attached
from hygiene.reports.frame import Frame, Who, frame_of, signers, who
from hygiene.reports.lines import Line, line
from hygiene.reports.marks import MARKS, NOT_RUNNING, NOTHING_DUE, OWN_WORK
from hygiene.reports.period import Period, short_day
from hygiene.reports.reading import Reading
from hygiene.reports.stories import Action, Story, action_of, status_of, story, tally
from hygiene.reports.task_rows import task_files
from hygiene.reports.words import listed, short
from hygiene.rota.day import Grid, Mark, State, Written, grid, written
from hygiene.rota.schedule import Due

SATURDAY = 5
SHORT, LONG = 2, 3
"""How many letters of a code stand in a day: three only where a code needs them."""


class Row(NamedTuple):
    """A task: title, times of day, a line of days for each time, how many were done."""

    title: str
    times: str
    days: str
    done: str


class Month(NamedTuple):
    """The part of the period that lies in one calendar month.

    ``width`` and ``weekends`` count letters.
    """

    title: str
    letters: str
    numbers: str
    weekends: tuple[tuple[int, int], ...]
    width: int
    rows: tuple[Row, ...]
    looks: str
    statuses: tuple[str, ...]
    summary: str
    stories: tuple[Story, ...]
    amended: tuple[tuple[str, Amended], ...]


class Page(NamedTuple):
    """The month's grid as values; ``report_templates/month.html`` lays it out."""

    frame: Frame
    months: tuple[Month, ...]
    idle: bool
    others: tuple[Line, ...]
    actions: tuple[Action, ...]
    who: tuple[Who, ...]
    labels: dict[str, str]
    narrow: bool
    attached: tuple[Attached, ...]


def page(reading: Reading) -> Page:
    """The grid of each month of the period."""
    people = who(reading.farm, signers(reading))
    labels = labels_of(person.code for person in people)
    found = written(reading.standing("sign_off", "miss"))
    return Page(
        frame=frame_of(reading, "The month's record"),
        months=tuple(
            _month(reading, part, found, labels) for part in reading.period.months()
        ),
        idle=not any(reading.rota.hours_on(d).runs(d) for d in reading.period.days),
        others=tuple(
            line(reading, matter)
            for matter in reading.of_kind("mould", "pest", "hold", "release")
            if reading.happened_in(matter)
        ),
        actions=tuple(_other_actions(reading)),
        who=tuple(people),
        labels=labels,
        narrow=width_of(labels) > SHORT + 2,
        attached=task_files(reading),
    )


def _month(
    reading: Reading, part: Period, found: Written, labels: Mapping[str, str]
) -> Month:
    made = grid(reading.rota, found, part.first, part.last, reading.printed_at)
    dues = reading.rota.dues(part.first, part.last)
    times: dict[str, set[str]] = {}
    for due in dues:
        times.setdefault(due.code, set()).add(f"{due.at:%H:%M}")
    wide = width_of(labels)
    marks = [m for row in made.rows for cell in row.cells for m in cell]
    return Month(
        title=part.title,
        letters=_row((f"{day:%a}"[0] for day in made.days), wide),
        numbers=_row((str(day.day) for day in made.days), wide),
        weekends=tuple(_weekends(made.days, wide)),
        width=len(made.days) * wide,
        rows=tuple(
            Row(
                short(row.title),
                "\n".join(sorted(times[row.code])),
                _days(reading, made, row.cells, labels),
                _done([m for cell in row.cells for m in cell]),
            )
            for row in made.rows
        ),
        looks=_looks(reading, made.days, labels),
        statuses=tuple(status_of_mark(m) for m in marks),
        summary=tally(m.status for m in marks),
        stories=tuple(_stories(reading, made.exceptions)),
        amended=tuple(_amended(reading, dues)),
    )


def _row(signs: Iterable[str], wide: int) -> str:
    """One text of the signs of each day, every day as wide as the others."""
    return "".join(f" {sign:<{wide - 1}}" for sign in signs)


def _weekends(days: tuple[date, ...], wide: int) -> Iterator[tuple[int, int]]:
    """Where the Saturdays and Sundays lie, in letters from the start of the row."""
    for place, day in enumerate(days):
        if day.weekday() >= SATURDAY:
            yield place * wide, (place + 1) * wide


def _days(
    reading: Reading,
    made: Grid,
    cells: tuple[tuple[Mark, ...], ...],
    labels: Mapping[str, str],
) -> str:
    """The days of a row, with a line for each time of day."""
    lines = max(1, *(len(cell) for cell in cells))
    empty = [
        NOTHING_DUE.sign if reading.rota.hours_on(day).runs(day) else NOT_RUNNING.sign
        for day in made.days
    ]
    wide = width_of(labels)
    return "\n".join(
        _row(
            (
                _cell(cell[place], labels) if place < len(cell) else nothing
                for cell, nothing in zip(cells, empty, strict=True)
            ),
            wide,
        )
        for place in range(lines)
    )


def _cell(mark: Mark, labels: Mapping[str, str]) -> str:
    status = status_of_mark(mark)
    initials = labels.get(mark.by, mark.by)
    with_initials = status in ("done", "typed later", "late", "failed")
    return (initials if with_initials else "") + MARKS[status].sign


def status_of_mark(mark: Mark) -> str:
    """The status under which a cell is marked: a done one with a note came late."""
    return "typed later" if mark.status == "done" and mark.note else mark.status


def _done(marks: list[Mark]) -> str:
    """How many were done, of those that had to be by now."""
    done = sum(m.status in ("done", "late", "failed") for m in marks)
    asked = sum(m.status not in ("not needed", "not yet", "due") for m in marks)
    return f"{done} of {asked}"


def _looks(reading: Reading, days: tuple[date, ...], labels: Mapping[str, str]) -> str:
    """Who looked at each whole day, and where it was a look at their own work."""
    found: dict[str, str] = {}
    for entry in reading.standing("countersign"):
        code = labels.get(entry.by, entry.by)
        own = entry.get("how") == "self-reviewed"
        if entry.get("day"):
            found[str(entry.get("day"))] = code + (OWN_WORK.sign if own else "")
    if not any(str(day) in found for day in days):
        return ""
    signs = (found.get(str(day), NOTHING_DUE.sign) for day in days)
    return _row(signs, width_of(labels))


def _stories(reading: Reading, exceptions: Iterable[State]) -> Iterator[Story]:
    """Each exception; of what was never written, one for all days of a task."""
    silent: dict[tuple[str, str], list[State]] = {}
    for state in exceptions:
        if state.entry is None:
            silent.setdefault((status_of(state), state.due.code), []).append(state)
        else:
            when = f"{short_day(state.due.day)}, {state.due.at:%H:%M}"
            told = story(reading, state, when)
            yield told._replace(title=short(told.title))
    for (status, _), states in silent.items():
        yield Story(
            status,
            f"{len(states)} times" if len(states) > 1 else "Once",
            short(states[0].due.task.title),
            (f"{_SILENT[status]} on {_on(states)}",),
            "",
            "",
            (),
        )


_SILENT = {"gap": "Nothing was written", "overdue": "Nothing is written yet"}


def _on(states: list[State]) -> str:
    days = dict.fromkeys(state.due.day for state in states)
    return f"{listed(str(day.day) for day in days)} {states[0].due.day:%B}"


def _amended(reading: Reading, asked: Iterable[Due]) -> Iterator[tuple[str, Amended]]:
    """Corrections and strikes of what was due in this month."""
    dues = {due.key: due for due in asked}
    for matter in reading.of_kind("sign_off", "miss"):
        if not matter.changed:
            continue
        for key in written([matter.first]):
            if key in dues:
                due = dues[key]
                where = f"{short_day(due.day)}, {due.at:%H:%M} {short(due.task.title)}"
                for each in amended(reading, due, matter):
                    yield where, each


def _other_actions(reading: Reading) -> Iterator[Action]:
    """Corrective actions of the period that no sign-off or miss is the cause of."""
    told = [
        action
        for matter in reading.of_kind("sign_off", "miss")
        for action in reading.answers(matter, "action", struck=True)
    ]
    for action in reading.of_kind("action"):
        if action not in told and reading.happened_in(action):
            yield action_of(reading, action)


def labels_of(codes: Iterable[str]) -> dict[str, str]:
    """What stands for each person in a day of the grid: the code, if there is room.

    A code that is too long is cut; where two would look alike, they are numbered.
    """
    made: dict[str, str] = {}
    known = sorted(codes, key=lambda code: (len(code), code))
    room = SHORT if all(len(code) <= SHORT for code in known) else LONG
    for place, code in enumerate(known, 1):
        label = code[:room]
        if not (label.isascii() and label.isalnum()) or label in made.values():
            label = str(place)
        made[code] = label
    return made


def width_of(labels: Mapping[str, str]) -> int:
    """How many letters a day takes: a space, the longest label, and a sign."""
    return 2 + max([SHORT, *map(len, labels.values())])
