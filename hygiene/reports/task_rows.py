"""The tasks behind a day's or a month's page as rows: each due, and each answer."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import timedelta
from typing import Any, Final

from hygiene.exchange.table import Column, Table
from hygiene.kinds.entry import Entry, items, rows_of
from hygiene.kinds.moments import stamp
from hygiene.reports.attached import Attached, data
from hygiene.reports.reading import Reading
from hygiene.rota.day import State, states, written

DUES: Final = (
    Column("task", says="the checklist's code", required=True),
    Column("due", "dateTimeStamp", "when it was due", required=True),
    Column("title", says="the checklist's title"),
    Column("area"),
    Column("version", "integer", "the checklist's, as it was signed or stood"),
    Column("status", says="what became of it, at the moment of printing"),
    Column("entry", says="the sign-off, or the miss, that decides"),
    Column("happened_at", "dateTimeStamp", "when it was done"),
    Column("recorded_at", "dateTimeStamp", "when it was written down"),
    Column("by", says="who did it"),
    Column("written_by", says="who typed it, if another"),
    Column("late_minutes", "integer", "done, or still not done, after its grace"),
    Column("why", says="why it was missed"),
    Column("note"),
    Column("marks", "json", "rules that it stands against for ever"),
    Column("seen_by", "json", "who looked at it a second time"),
    Column("other_entries", "json", "what else was written for the same due"),
)
ANSWERS: Final = (
    Column("entry", says="the sign-off", required=True),
    Column("row", "integer", "its place among the answers", required=True),
    Column("step", says="the step's code"),
    Column("of", says="the rack, room or line, where it is asked for each"),
    Column("passed", "boolean"),
    Column("done", "boolean"),
    Column("chosen"),
    Column("value", "decimal"),
    Column("unit"),
    Column("did", says="what was done about a failed step"),
    Column("wrote", says="the entry that it wrote"),
)
FIELDS: Final = tuple(column.name for column in ANSWERS[2:])


def task_files(reading: Reading) -> tuple[Attached, ...]:
    """Every due of the period with its status, and every answer, as CSV files."""
    first, last = reading.period
    found = written(reading.standing("sign_off", "miss"))
    dues = reading.rota.dues(first, last)
    made = states(reading.rota, dues, found, reading.printed_at)
    if not made:
        return ()
    tasks = Table(
        f"tasks-{first}-to-{last}",
        "Every task of the period and what became of it, a row each",
        DUES,
        ("task", "due"),
    )
    answers = Table(
        f"answers-{first}-to-{last}",
        "Every answer of the sign-offs of the period, a row each",
        ANSWERS,
        ("entry", "row"),
    )
    answered = [state.entry for state in made if state.entry is not None]
    return (
        *data(tasks, (_due(reading, state) for state in made)),
        *data(answers, _answers(answered)),
    )


def _due(reading: Reading, state: State) -> Sequence[Any]:
    task, entry = state.due.task, state.entry
    head = (task.code, stamp(state.due.at), task.title, task.area)
    late = _minutes(state.late_by)
    if entry is None:
        return (*head, task.version, state.status, *[None] * 5, late, *[None] * 5)
    looks = reading.answers(reading.matter(entry), "countersign")
    return (
        *head,
        entry.get("version") or task.version,
        state.status,
        entry.name,
        entry.happened_at,
        entry.recorded_at,
        entry.by,
        entry.written_by,
        late,
        entry.get("why"),
        entry.get("note"),
        list(items(entry, "marks")),
        [look.said.by for look in looks],
        [other.name for other in state.others],
    )


def _minutes(span: timedelta | None) -> int | None:
    return None if span is None else int(span.total_seconds() // 60)


def _answers(entries: Iterable[Entry]) -> Iterator[Sequence[Any]]:
    for entry in entries:
        for place, row in enumerate(rows_of(entry, "answers"), 1):
            yield (entry.name, place, *(row.get(name) for name in FIELDS))
