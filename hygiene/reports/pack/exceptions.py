"""Everything that did not go as planned, told in full, in groups.

What was late, missed or out of limit; what was done although a rule stood against it;
what was found, held, let go and to whom it was told; what was put right or ruled
through. Where an action followed, it is told to its end.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import Any, Final, NamedTuple

from hygiene.exchange.table import Column, Table
from hygiene.kinds.entry import Entry, items
from hygiene.kinds.words import gist
from hygiene.reports.amended import Amended, amended_by
from hygiene.reports.attached import Attached, data
from hygiene.reports.lines import line
from hygiene.reports.marks import MARKS
from hygiene.reports.reading import Matter, Reading
from hygiene.reports.stories import Action, Story, action_of, actions_about
from hygiene.reports.words import clock, short, signed

MOST: Final = 300
"""So many stand on pages, with all that followed; the others in the attached file."""
LONGEST: Final = 400
"""So many letters of a text stand in a row; the whole of it is in its entry."""
FOUND: Final = ("mould", "ill", "accident", "pest")
TOLD: Final = ("hold", "assess", "release", "notify")
OWN_STORY: Final = ("sign_off", "miss", "dose", "rinse", "water")
"""Kinds whose failures are told by their own reports."""


class Row(NamedTuple):
    """One exception: when, its sign, what it was, and what was done about it."""

    when: str
    sign: str
    title: str
    told: str
    by: str
    entry: str
    actions: tuple[Action, ...]

    @property
    def steps(self) -> tuple[str, ...]:
        """What was done about it, a line for each step, to the end or to now."""
        return tuple(line for action in self.actions for line in _lines(action))


def _lines(action: Action) -> Iterator[str]:
    for place, step in enumerate(action.steps):
        told = step.told if place else action.problem
        if not place and step.told:
            told += f". Done at once: {step.told}"
        by = f"{step.when}, {step.by}" + (f": {told}" if told else "")
        yield f"{step.what} {by} ({step.entry})"
    if action.struck:
        yield "▲ Ruled through, but never closed: still open"
    elif not action.closed:
        yield "▲ Still open when this was made"


class Group(NamedTuple):
    """Exceptions of one sort; ``more`` is how many have no room on the pages."""

    title: str
    rows: tuple[Row, ...]
    more: int = 0


class Change(NamedTuple):
    """A correction or a strike: of what, and what it changed."""

    what: str
    amended: Amended


class Exceptions(NamedTuple):
    """The chapter as values."""

    groups: tuple[Group, ...]
    changes: tuple[Change, ...]
    more_changes: int
    attached: tuple[Attached, ...]

    @property
    def many(self) -> int:
        """How many there are, also those for which the pages have no room."""
        told = sum(len(group.rows) + group.more for group in self.groups)
        return told + len(self.changes) + self.more_changes


def exceptions(
    reading: Reading,
    stories: Iterable[Story],
    doses: Iterable[Any],
    waters: Iterable[Any],
) -> Exceptions:
    """The chapter; ``stories`` are of tasks, ``doses`` and ``waters`` are the failures
    that their own reports tell.
    """
    every = [
        Group("Tasks: late, missed, out of limit", tuple(map(_of_story, stories))),
        Group("Doses that failed", tuple(map(_of_failure, doses))),
        Group("Water out of limit, or in doubt", tuple(map(_of_failure, waters))),
        Group("Done although a rule stood against it", tuple(_marked(reading))),
        Group("Found: mould, pests, illness, accidents", tuple(_found(reading))),
        Group("Held, assessed, let go, and who was told", tuple(_held(reading))),
    ]
    told = {
        step.entry
        for group in every
        for row in group.rows
        for action in row.actions
        for step in action.steps[:1]
    }
    rest = tuple(_rest(reading, told))
    every.append(Group("Other corrective actions", rest))
    changes = list(_changes(reading))
    shown = changes[: MOST // 2]
    return Exceptions(
        tuple(_within(MOST, [group for group in every if group.rows])),
        tuple(shown),
        len(changes) - len(shown),
        tuple(_csv(reading, every, changes)),
    )


def _within(room: int, groups: Sequence[Group]) -> Iterator[Group]:
    """The groups cut to the room that there is, each with its fair part of it."""
    for place, group in enumerate(groups):
        part = max(room // (len(groups) - place), 0)
        small = [len(g.rows) for g in groups[place + 1 :]]
        part = max(part, room - sum(small))
        shown = group.rows[:part]
        room -= len(shown)
        yield Group(group.title, shown, len(group.rows) - len(shown))


def _of_story(story: Story) -> Row:
    return Row(
        story.when,
        MARKS[story.status].sign,
        story.title,
        short(". ".join(story.told), LONGEST),
        story.by,
        story.entry,
        story.actions,
    )


def _of_failure(failure: Any) -> Row:
    held = (f"Held {hold.when}: {hold.told}" for hold in getattr(failure, "holds", ()))
    told = [*getattr(failure, "told", ()), *held]
    return Row(
        failure.when,
        failure.sign,
        short(failure.title, LONGEST),
        short(". ".join(told), LONGEST),
        failure.by,
        failure.entry,
        failure.actions,
    )


def _marked(reading: Reading) -> Iterator[Row]:
    """What was written although a rule stood against it: its marks stay for ever."""
    for matter in reading.matters:
        marks = _marks(matter)
        if marks and matter.first.kind not in OWN_STORY and reading.happened_in(matter):
            why = f". Reason given: {matter.said.reason}" if _reason(matter) else ""
            row = _row(reading, matter)
            yield row._replace(told=f"{row.told}. Against: {', '.join(marks)}{why}")


def _marks(matter: Matter) -> list[str]:
    """The marks of all its versions: putting one right takes none away."""
    found = (
        str(mark).replace("-", " ")
        for version in matter.history
        if isinstance(version.get("marks"), list | tuple)
        for mark in items(version, "marks")
    )
    return list(dict.fromkeys(found))


def _reason(matter: Matter) -> bool:
    return bool(matter.said.reason) and not matter.said.corrects


def _found(reading: Reading) -> Iterator[Row]:
    for matter in reading.of_kind(*FOUND):
        if reading.happened_in(matter):
            yield _row(reading, matter)


def _held(reading: Reading) -> Iterator[Row]:
    """Holds with how they ended, and whose word that was; assessments and notices."""
    for matter in reading.of_kind(*TOLD):
        if reading.happened_in(matter):
            row = _row(reading, matter)
            if matter.first.kind == "hold":
                row = row._replace(told=short(line(reading, matter).told, LONGEST))
            yield row


def _rest(reading: Reading, told: set[str]) -> Iterator[Row]:
    for matter in reading.of_kind("action"):
        if matter.said.name not in told and reading.happened_in(matter):
            made = action_of(reading, matter)
            yield Row(
                _when(reading, matter),
                "",
                short(made.problem, LONGEST),
                "",
                signed(matter.said),
                matter.said.name,
                (made,),
            )


def _row(reading: Reading, matter: Matter) -> Row:
    entry = matter.said
    kind = matter.first.kind.replace("_", " ").capitalize()
    struck = matter.struck and matter.first.kind != "hold"
    return Row(
        _when(reading, matter),
        "",
        f"{kind}, ruled through" if struck else kind,
        short(gist(entry), LONGEST),
        signed(entry),
        entry.name,
        actions_about(reading, matter),
    )


def _when(reading: Reading, matter: Matter) -> str:
    hours = reading.rota.hours_on(reading.period.last)
    return clock(matter.said.happened_at, hours, reading.period)


def _changes(reading: Reading) -> Iterator[Change]:
    for matter in reading.matters:
        if matter.changed and reading.happened_in(matter):
            where = f"{_when(reading, matter)} {_name(matter.first)}"
            for each in amended_by(reading, matter, _name):
                yield Change(where, each)


def _name(entry: Entry) -> str:
    return f"{entry.kind.replace('_', ' ')}: {short(gist(entry), 90)}"


# the attached file

COLUMNS: Final = (
    Column("sort", "string", "the group in which it is told", required=True),
    Column("happened", "string", "when, by the farm's clock"),
    Column("what", "string", "what it was"),
    Column("told", "string", "what is exceptional about it"),
    Column("by", "string", "who did, saw or wrote it"),
    Column("entry", "string", "the entry's name"),
    Column("actions", "string", "what was done about it, step by step"),
)


def _csv(
    reading: Reading, groups: Iterable[Group], changes: Iterable[Change]
) -> tuple[Attached, ...]:
    first, last = reading.period
    table = Table(
        f"exceptions-{first}-to-{last}",
        "Every exception of the period, a row each",
        COLUMNS,
    )
    rows = [
        (g.title, r.when, r.title, r.told, r.by, r.entry, " | ".join(r.steps))
        for g in groups
        for r in g.rows
    ]
    rows += [
        ("Put right or ruled through", "", each.what, _was(each.amended), "", "", "")
        for each in changes
    ]
    return data(table, rows) if rows else ()


def _was(amended: Amended) -> str:
    was = "; ".join(f"{c.what}: {c.old} -> {c.new}" for c in amended.changes)
    return f"{was}. {amended.how}"
