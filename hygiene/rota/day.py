"""What was done about what was due: each due has exactly one status.

A due is answered by the sign-offs and misses that name its task and its moment. What
was really done beats a miss, and a failed answer beats a good one: where two devices
both signed, the record never looks better than either of them.
"""

from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime, timedelta
from typing import NamedTuple

from hygiene.kinds.entry import Entry
from hygiene.rota.schedule import Due, Rota, moment_or_none, typed_order

STATUSES = (
    "not yet",
    "due",
    "overdue",
    "done",
    "late",
    "failed",
    "missed",
    "not needed",
    "gap",
)
OPEN = ("not yet", "due", "overdue")

Key = tuple[str, float]
Written = Mapping[Key, Sequence[Entry]]


class State(NamedTuple):
    """A due with its status at a moment.

    ``not yet`` (due later), ``due``, ``overdue`` (its grace is over and nothing is
    written; ``late_by`` is its age), ``done``, ``late`` (done after its deadline, by
    ``late_by``), ``failed`` (done, and an answer did not pass), ``missed`` and ``not
    needed`` (a miss with its reason), ``gap`` (nothing written, and too late for it
    now). ``entry`` is what decides, ``others`` what else was written for it.
    ``typed_late_by`` is how long after the deadline the entry was typed.
    """

    due: Due
    status: str
    entry: Entry | None = None
    late_by: timedelta | None = None
    typed_late_by: timedelta | None = None
    others: tuple[Entry, ...] = ()

    @property
    def open(self) -> bool:
        """Whether it can still be signed."""
        return self.status in OPEN

    @property
    def initials(self) -> str:
        """The code of the person who did it, or who wrote that it was not done."""
        return self.entry.by if self.entry else ""

    @property
    def exceptional(self) -> bool:
        """Whether a month's page must write it out beneath."""
        return self.status not in ("not yet", "due", "done") or bool(self.typed_late_by)


def written(entries: Iterable[Entry]) -> dict[Key, list[Entry]]:
    """Sign-offs and misses by task and moment; other and odd ones are passed over."""
    made: dict[Key, list[Entry]] = {}
    for entry in entries:
        moment = moment_or_none(entry.get("due"))
        task = entry.get("task")
        if entry.kind in ("sign_off", "miss") and moment and isinstance(task, str):
            made.setdefault((task, moment.timestamp()), []).append(entry)
    return made


def states(
    rota: Rota, dues: Iterable[Due], found: Written, now: datetime
) -> list[State]:
    """The one status of each due, at the moment ``now``."""
    return [_state(rota, due, found.get(due.key, ()), now) for due in dues]


def _state(rota: Rota, due: Due, entries: Sequence[Entry], now: datetime) -> State:
    if entries:
        return _answered(due, sorted(entries, key=_weight))
    if now < due.at:
        return State(due, "not yet")
    if now <= due.deadline:
        return State(due, "due")
    too_late = rota.superseded_at(due)
    status = "gap" if too_late and too_late <= now else "overdue"
    return State(due, status, late_by=now - due.deadline)


def _weight(entry: Entry) -> tuple[int, tuple[float, str, int]]:
    order = ("failed", "done", "missed", "not needed").index(_said(entry))
    return order, typed_order(entry)


def _said(entry: Entry) -> str:
    if entry.kind == "miss":
        return "not needed" if entry.get("needed") is False else "missed"
    answers = entry.get("answers")
    rows = answers if isinstance(answers, list | tuple) else ()
    failed = any(isinstance(row, dict) and row.get("passed") is False for row in rows)
    return "failed" if failed else "done"


def _answered(due: Due, entries: Sequence[Entry]) -> State:
    entry, *others = entries
    status = _said(entry)
    late_by = _after(entry.happened_at, due) if entry.kind == "sign_off" else None
    if status == "done" and late_by:
        status = "late"
    typed = _after(entry.recorded_at, due)
    return State(due, status, entry, late_by, typed, tuple(others))


def _after(text: str, due: Due) -> timedelta | None:
    moment = moment_or_none(text)
    if moment is None or moment <= due.deadline:
        return None
    return moment - due.deadline


class Asked(NamedTuple):
    """The dues of a day's list: what may still be open from before, and its own."""

    before: list[Due]
    today: list[Due]


def asked(rota: Rota, now: datetime) -> Asked:
    """The dues whose sign-offs and misses ``day_list`` wants to see."""
    day = rota.day_of(now)
    return Asked(rota.still_open_before(day), rota.dues(day, day))


def day_list(rota: Rota, dues: Asked, found: Written, now: datetime) -> list[State]:
    """The list of the day that ``now`` lies in: what was carried into it, then what
    falls due on it.

    A task that was still open when the day began stays on the list all day, signed or
    not, so that a number on the list means the same from morning to night.
    """
    start = rota.starts(rota.day_of(now))
    known = {
        key: [entry for entry in entries if _typed_before(entry, start)]
        for key, entries in found.items()
    }
    then = states(rota, dues.before, known, start)
    carried = [state.due for state in then if state.open]
    return states(rota, [*carried, *dues.today], found, now)


def _typed_before(entry: Entry, moment: datetime) -> bool:
    typed = moment_or_none(entry.recorded_at)
    return typed is not None and typed < moment


class Mark(NamedTuple):
    """What stands in a cell of the month: a status, by whom, and its note's number."""

    status: str
    by: str
    note: int | None = None


class Row(NamedTuple):
    """A task across the days; ``cells`` has one tuple of marks for each day."""

    code: str
    title: str
    cells: tuple[tuple[Mark, ...], ...]


class Grid(NamedTuple):
    """A month as a page: tasks down, days across, exceptions written out beneath.

    ``Mark.note`` counts from 1 into ``exceptions``.
    """

    days: tuple[date, ...]
    rows: tuple[Row, ...]
    exceptions: tuple[State, ...]


def grid(rota: Rota, found: Written, first: date, last: date, now: datetime) -> Grid:
    """The grid of the days from ``first`` to ``last``, both included.

    Rows stand in the order of the clock; a task that was never due has none, and one
    that was adopted anew bears the title it had last.
    """
    days = tuple(first + timedelta(n) for n in range((last - first).days + 1))
    made = states(rota, rota.dues(first, last), found, now)
    exceptions = tuple(state for state in made if state.exceptional)
    notes = {state.due.key: place for place, state in enumerate(exceptions, 1)}
    cells: dict[str, dict[date, list[Mark]]] = {}
    titles: dict[str, str] = {}
    clocks: dict[str, str] = {}
    for state in made:
        due = state.due
        mark = Mark(state.status, state.initials, notes.get(due.key))
        cells.setdefault(due.code, {}).setdefault(due.day, []).append(mark)
        titles[due.code] = due.task.title
        clocks.setdefault(due.code, f"{due.at:%H:%M}")
    rows = tuple(
        Row(code, titles[code], tuple(tuple(cells[code].get(day, ())) for day in days))
        for code in sorted(cells, key=lambda code: (clocks[code], code))
    )
    return Grid(days, rows, exceptions)
