"""The day's record: every task of a day, what was done, and what went wrong."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from typing import Any, NamedTuple

from hygiene.kinds.entry import Entry, items, rows_of
from hygiene.reports.amended import Amended, amended
from hygiene.reports.attached import Attached
from hygiene.reports.frame import Frame, Who, frame_of, signers, who
from hygiene.reports.lines import Line, before, held, line
from hygiene.reports.reading import Matter, Reading, span_of
from hygiene.reports.stories import Action, Story, action_of, status_of, story, tally
from hygiene.reports.task_rows import task_files
from hygiene.reports.words import clock, count, length, limit, said, said_at, signed
from hygiene.rota.day import State, states, written
from hygiene.rota.schedule import Due

FEW = 12
"""Up to so many answers of one step are written out one by one."""


class Answers(NamedTuple):
    """What was answered to one step: its text, what passes, and each answer."""

    step: str
    limit: str
    given: tuple[tuple[str, bool], ...]


class Task(NamedTuple):
    """A row of the day: when it was due, what became of it, and by whom."""

    due: str
    title: str
    about: str
    done: str
    by: str
    checked: str
    status: str
    result: str
    answers: tuple[Answers, ...]
    ticks: tuple[str, bool]
    notes: tuple[str, ...]
    amended: tuple[Amended, ...]


class Page(NamedTuple):
    """The day's record as values; ``report_templates/day.html`` lays it out."""

    frame: Frame
    runs: bool
    summary: tuple[str, ...]
    tasks: tuple[Task, ...]
    stories: tuple[Story, ...]
    opened: tuple[Action, ...]
    older: tuple[Action, ...]
    holds: tuple[Line, ...]
    others: tuple[Line, ...]
    who: tuple[Who, ...]
    attached: tuple[Attached, ...]

    @property
    def statuses(self) -> list[str]:
        """The statuses that the page shows, for its key."""
        return [task.status for task in self.tasks]


def page(reading: Reading) -> Page:
    """The record of the reading's first day."""
    day, rota = reading.period.first, reading.rota
    found = written(reading.standing("sign_off", "miss"))
    made = states(rota, rota.dues(day, day), found, reading.printed_at)
    by_due = _by_due(reading)
    tasks = [_task(reading, state, by_due.get(state.due.key, [])) for state in made]
    stories = tuple(
        story(reading, state, f"{state.due.at:%H:%M}")
        for state in made
        if state.exceptional
    )
    shown = {m.first.name for due in made for m in by_due.get(due.due.key, [])}
    opened, older = _actions(reading, shown)
    holds = [m for m in reading.of_kind("hold") if held(reading, m)]
    others = [m for m in reading.matters if _other(reading, m, shown)]
    return Page(
        frame=frame_of(reading, "The day's record"),
        runs=rota.hours_on(day).runs(day),
        summary=tuple(_summary(reading, made, len(holds))),
        tasks=tuple(tasks),
        stories=stories,
        opened=tuple(action_of(reading, m) for m in opened),
        older=tuple(action_of(reading, m) for m in older),
        holds=tuple(line(reading, m) for m in holds),
        others=tuple(line(reading, m) for m in others),
        who=tuple(who(reading.farm, signers(reading))),
        attached=task_files(reading),
    )


def _by_due(reading: Reading) -> dict[tuple[str, float], list[Matter]]:
    """Sign-offs and misses by the due that any of their versions names."""
    found: dict[tuple[str, float], list[Matter]] = {}
    for matter in reading.of_kind("sign_off", "miss"):
        for key in written(e for e in matter.history if e.kind != "strike"):
            found.setdefault(key, []).append(matter)
    return found


def _task(reading: Reading, state: State, matters: list[Matter]) -> Task:
    due, entry = state.due, state.entry
    hours, period = reading.rota.hours_on(due.day), reading.period
    done = entry is not None and entry.kind == "sign_off"
    return Task(
        due=f"{due.at:%H:%M}",
        title=due.task.title,
        about=_about(due, entry),
        done=clock(entry.happened_at, hours, period) if entry and done else "",
        by=signed(entry) if entry else "",
        checked=", ".join(dict.fromkeys(_checked(reading, entry))) if entry else "",
        status=status_of(state),
        result=_result(reading, state),
        answers=tuple(_answers(due, entry)) if entry else (),
        ticks=_ticks(entry) if entry else ("", True),
        notes=tuple(_notes(reading, state)),
        amended=tuple(
            each
            for matter in matters
            if matter.changed
            for each in amended(reading, due, matter)
        ),
    )


def _about(due: Due, entry: Entry | None) -> str:
    version = entry.get("version") if entry else None
    parts = [due.task.area or "", f"list {due.code}, version "]
    return " · ".join(p for p in parts if p) + str(version or due.task.version)


def _checked(reading: Reading, entry: Entry) -> Iterator[str]:
    for look in reading.answers(reading.matter(entry), "countersign"):
        how = " (own work)" if look.said.get("how") == "self-reviewed" else ""
        named = items(look.said, "entries")
        yield (
            look.said.by + how + ("" if entry.name in named else " (before it changed)")
        )


def _result(reading: Reading, state: State) -> str:
    late = f", {length(state.late_by)}" if state.late_by else ""
    match status_of(state):
        case "late":
            return f"late{late}"
        case "failed":
            return "out of limit"
        case "missed":
            return "not done"
        case "gap":
            return "nothing written"
        case "overdue":
            return f"overdue{late}"
        case "due" | "not yet":
            hours = reading.rota.hours_on(state.due.day)
            return f"to do by {said_at(state.due.deadline, hours, reading.period)}"
        case "typed later":
            return "done, written later"
        case status:
            return status


def _answers(due: Due, entry: Entry) -> Iterator[Answers]:
    """Readings and choices, step by step."""
    steps = {str(step.get("code")): step for step in due.task.steps}
    by_step: dict[str, list[Mapping[str, Any]]] = {}
    for answer in rows_of(entry, "answers"):
        if not _ticked(answer):
            by_step.setdefault(str(answer.get("step")), []).append(answer)
    for code, given in by_step.items():
        step = steps.get(code, {})
        title = str(step.get("text") or code)
        wanted = limit(step) if step.get("sort") == "reading" else ""
        yield Answers(title, wanted, tuple(_given(given)))


def _ticks(entry: Entry) -> tuple[str, bool]:
    """How many steps were ticked, since they are many, and whether all were done."""
    ticks = [row for row in rows_of(entry, "answers") if _ticked(row)]
    done = sum(row.get("passed") is not False for row in ticks)
    if not ticks:
        return "", True
    return f"{done} of {count(len(ticks), 'step')} ticked", done == len(ticks)


def _ticked(answer: Mapping[str, Any]) -> bool:
    return "value" not in answer and "chosen" not in answer


def _given(answers: list[Mapping[str, Any]]) -> Iterator[tuple[str, bool]]:
    """Each answer; where there are many, equal ones that pass are counted."""
    bad = [answer for answer in answers if answer.get("passed") is False]
    good = [answer for answer in answers if answer.get("passed") is not False]
    for answer in bad:
        yield _one(answer), False
    if len(good) <= FEW:
        yield from ((_one(answer), True) for answer in good)
        return
    for text, times in Counter(map(said, good)).items():
        yield f"{text} at {times} of {len(answers)}", True


def _one(answer: Mapping[str, Any]) -> str:
    of = f"{answer['of']} " if answer.get("of") else ""
    return of + said(answer)


def _notes(reading: Reading, state: State) -> Iterator[str]:
    hours, period = reading.rota.hours_on(state.due.day), reading.period
    if state.entry and state.entry.kind == "miss":
        yield f"Why: {state.entry.get('why')}"
    if state.entry and state.entry.get("note"):
        yield f"Note: {state.entry.get('note')}"
    for other in state.others:
        what = "Also signed" if other.kind == "sign_off" else "Also written as not done"
        when = clock(other.happened_at, hours, period)
        yield f"{what} by {other.by}, {when} ({other.name})"


def _actions(reading: Reading, shown: set[str]) -> tuple[list[Matter], list[Matter]]:
    """Actions of this day that no story tells, and open ones of earlier days.

    What a story tells is added to ``shown``, with all that answers it.
    """
    told = [
        action
        for matter in reading.matters
        if matter.first.name in shown
        for action in reading.answers(matter, "action", struck=True)
    ]
    rest = [a for a in reading.of_kind("action") if a not in told]
    opened = [a for a in rest if reading.happened_in(a)]
    start, _ = span_of(reading.rota, reading.period)
    older = [a for a in rest if before(a.first, start) and not _closed(reading, a)]
    for action in (*told, *opened, *older):
        shown.add(action.first.name)
        for kind in ("recheck", "close"):
            shown.update(a.first.name for a in reading.answers(action, kind))
    return opened, older


def _closed(reading: Reading, action: Matter) -> bool:
    return bool(reading.answers(action, "close"))


def _other(reading: Reading, matter: Matter, shown: set[str]) -> bool:
    kind = matter.first.kind
    if matter.first.name in shown or kind in ("countersign", "hold"):
        return False
    return reading.happened_in(matter)


def _summary(reading: Reading, made: list[State], holds: int) -> Iterator[str]:
    if made:
        yield tally(state.status for state in made)
    waiting = [a for a in reading.of_kind("action") if not _closed(reading, a)]
    if waiting:
        are = "is" if len(waiting) == 1 else "are"
        what = count(len(waiting), "corrective action")
        yield f"{what} {are} still open when this was printed."
    if holds:
        yield f"{count(holds, 'hold')} stood when the day was over."
    yield from _looks(reading)


def _looks(reading: Reading) -> Iterator[str]:
    """Who looked at the whole day as a second person."""
    hours, day = reading.rota.hours_on(reading.period.first), reading.period.first
    for look in reading.of_kind("countersign"):
        entry = look.said
        if look.struck or entry.get("day") != str(day):
            continue
        how = str(entry.get("how") or "countersigned").capitalize()
        note = f": {entry.get('note')}" if entry.get("note") else ""
        when = clock(entry.happened_at, hours, reading.period)
        yield f"{how} as a whole day by {signed(entry)}, {when}{note}."
