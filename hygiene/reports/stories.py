"""What went wrong, told to its end: the problem, what was done, the recheck, the close.

The same telling stands under the day's record and under the month's grid.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from typing import Any, NamedTuple

from hygiene.kinds.entry import Entry, items, rows_of
from hygiene.kinds.words import looked
from hygiene.reports.reading import Matter, Reading
from hygiene.reports.words import (
    clock,
    count,
    length,
    limit,
    listed,
    number,
    said,
    said_at,
    signed,
)
from hygiene.rota.day import State

RULES = {
    "late": "signed late",
    "untrained": "signed without the training that the task asks for",
    "not-allowed": "signed by somebody who may not sign this task",
    "before-due": "signed before it was due",
    "was-missed": "had been written down as not done",
    "paper": "copied from paper",
}
"""The rules that a sign-off stands against for ever, in words."""

COUNTED = {
    "done": "done in time",
    "late": "done late",
    "failed": "done with something out of limit",
    "missed": "not done",
    "not needed": "not needed",
    "gap": "with nothing written",
    "overdue": "overdue",
    "due": "still to do",
    "not yet": "still to come",
}


class Step(NamedTuple):
    """One step towards the end of an action: what, when, by whom, and what was said."""

    what: str
    when: str
    by: str
    told: str
    entry: str


class Action(NamedTuple):
    """A corrective action with all that answered it."""

    problem: str
    steps: tuple[Step, ...]
    closed: bool
    struck: bool


class Story(NamedTuple):
    """An exception, and everything that followed from it."""

    status: str
    when: str
    title: str
    told: tuple[str, ...]
    by: str
    entry: str
    actions: tuple[Action, ...]


def story(reading: Reading, state: State, when: str) -> Story:
    """Tell one exceptional due; ``when`` is how the page names its day or hour."""
    matter = reading.matter(state.entry) if state.entry else None
    return Story(
        status_of(state),
        when,
        state.due.task.title,
        tuple(told(reading, state)),
        signed(matter.said) if matter else "",
        matter.said.name if matter else "",
        actions_about(reading, matter) if matter else (),
    )


def tally(statuses: Iterable[str]) -> str:
    """How many tasks were due, and what became of them, in a sentence."""
    times = Counter(statuses)
    parts = (f"{times[s]:,} {words}" for s, words in COUNTED.items() if times[s])
    were = "was" if times.total() == 1 else "were"
    return f"{count(times.total(), 'task')} {were} due: {listed(parts)}."


def status_of(state: State) -> str:
    """The status under which a due is marked on paper."""
    if state.status == "done" and state.typed_late_by:
        return "typed later"
    return state.status


def told(reading: Reading, state: State) -> list[str]:
    """What is exceptional about a due, a sentence each."""
    found = []
    hours, period = reading.rota.hours_on(state.due.day), reading.period
    if state.late_by and state.entry is None:
        found.append(
            f"Overdue since {said_at(state.due.deadline, hours, period)}, not written"
            if state.status == "overdue"
            else "Nothing was written, and it is too late for it now"
        )
    if state.entry is None:
        return found
    entry = state.entry
    if entry.kind == "miss":
        how = "Not needed" if state.status == "not needed" else "Not done"
        found.append(f"{how}: {entry.get('why')}")
    found += failed(state, entry)
    if state.late_by:
        found.append(f"Done {length(state.late_by)} after its time was over")
    elif state.typed_late_by and entry.kind == "sign_off":
        when = clock(entry.recorded_at, hours, period)
        found.append(f"Written down later: {when}")
    rules = [RULES.get(str(m), str(m)) for m in items(entry, "marks") if m != "late"]
    found += [rule[:1].upper() + rule[1:] for rule in rules]
    if entry.reason and not entry.corrects:
        found.append(f"Reason given: {entry.reason}")
    return found


def failed(state: State, entry: Entry) -> list[str]:
    """Every answer that did not pass: what it was, what it should be, what was done."""
    steps = {str(step.get("code")): step for step in state.due.task.steps}
    found = []
    for answer in rows_of(entry, "answers"):
        if answer.get("passed") is not False:
            continue
        step = steps.get(str(answer.get("step")), {})
        found.append(_failed(step, answer))
    return found


def _failed(step: Mapping[str, Any], answer: Mapping[str, Any]) -> str:
    title = str(step.get("text") or answer.get("step"))
    of = f" {answer['of']}" if answer.get("of") else ""
    should = limit(step)
    wanted = f" (should be {should})" if should else ""
    did = f". Done about it: {answer['did']}" if answer.get("did") else ""
    return f"{title}{of}: {said(answer)}{wanted}{did}"


def actions_about(reading: Reading, matter: Matter) -> tuple[Action, ...]:
    """The corrective actions that name a matter."""
    return tuple(
        action_of(reading, a) for a in reading.answers(matter, "action", struck=True)
    )


def action_of(reading: Reading, matter: Matter) -> Action:
    """A corrective action told from its opening to its close."""
    entry = matter.said
    steps = [_step(reading, "Opened", entry, entry.get("did") or "")]
    for look in reading.answers(matter, "recheck"):
        seen = f"{looked(look.said)}: {look.said.get('seen')}"
        value = look.said.get("value")
        if value is not None and number(value) not in seen:
            seen += f" ({said(look.said.body)})"
        steps.append(_step(reading, "Rechecked", look.said, seen))
    ends = reading.answers(matter, "close")
    for end in ends:
        cause = f". Cause: {end.said.get('cause')}" if end.said.get("cause") else ""
        steps.append(
            _step(reading, "Closed", end.said, f"{end.said.get('did')}{cause}")
        )
    return Action(
        str(entry.get("problem")), tuple(steps), bool(ends), matter.struck and not ends
    )


def _step(reading: Reading, what: str, entry: Entry, told: str) -> Step:
    hours = reading.rota.hours_on(reading.period.last)
    when = clock(entry.happened_at, hours, reading.period)
    return Step(what, when, signed(entry), told, entry.name)
