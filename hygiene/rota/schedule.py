"""What is due on a day: checklists as adopted, read with what was in force then.

A due is a task and a moment, and that pair is what "twice" means. A later version of a
checklist, a retirement or a change of the farm's hours leaves earlier days as they
were. Reading never raises: an odd entry is passed over, a task whose rule cannot be
read has no dues and says so in ``problem``.
"""

from collections.abc import Iterable, Iterator, Mapping
from datetime import date, datetime, time, timedelta, timezone
from itertools import islice
from typing import TYPE_CHECKING, Any, NamedTuple
from zoneinfo import ZoneInfo

from hygiene.errors import CannotBe, HygieneError
from hygiene.kinds.checks import grace_parts
from hygiene.kinds.entry import Entry
from hygiene.kinds.moments import at_the_farm, moment_of, zone_of
from hygiene.rota.recurrence import LOOK_DAYS, Rule, read_rule
from hygiene.rota.season import Turn, runs, stretches, turn_of

if TYPE_CHECKING:
    from hygiene.kinds.checklist import Checklist  # costs 12 ms on each start

_DAY = timedelta(days=1)
_MIDNIGHT = time(0)


class Hours(NamedTuple):
    """How the farm's days run, from the civil day ``from_day`` on.

    ``day_ends`` is the end of the working day. ``season`` lists the stretches of days
    in which the shed runs, both ends included; an empty one means that it always does.
    """

    zone: ZoneInfo
    day_ends: time = time(20)
    season: tuple[tuple[date, date | None], ...] = ()
    from_day: date = date.min

    def runs(self, day: date) -> bool:
        """Whether the shed runs on the day."""
        return runs(self.season, day)

    def at(self, day: date, clock: time) -> datetime:
        """The moment when the farm's clock shows this (RFC 5545 3.3.5 where it
        shows it never or twice).
        """
        return self.local(at_the_farm(day, clock, self.zone))

    def local(self, moment: datetime) -> datetime:
        """The moment by the farm's clock, with its offset written out.

        A fixed offset and not the zone: Python compares two times of one zone by
        their wall clocks, which is wrong in the doubled hour.
        """
        moment = moment.astimezone(self.zone)
        return moment.replace(tzinfo=timezone(moment.utcoffset() or timedelta()))


class Grace(NamedTuple):
    """How long a task still counts as in time: by working days, or by a span."""

    days: int = 0
    span: timedelta | None = None

    def deadline(self, at: datetime, day: date, hours: Hours) -> datetime:
        """The last moment that is in time for what is due at ``at`` on ``day``."""
        if self.span is not None:
            return hours.local(at + self.span)
        end = hours.at(day + self.days * _DAY, hours.day_ends)
        return (
            end if end > at else hours.at(day + (self.days + 1) * _DAY, hours.day_ends)
        )


def read_grace(text: str) -> Grace:
    """Read ``day``, ``90 min``, ``4 h`` or ``3 d``; raises ``CannotBe``.

    ``day`` ends with the working day, ``3 d`` with the working day three days on.
    """
    number, unit = grace_parts(text)
    if unit == "d":
        return Grace(days=number)
    return Grace(span=timedelta(**{_UNITS[unit]: number}))


_UNITS = {"min": "minutes", "h": "hours"}


class Task(NamedTuple):
    """One adopted version of a checklist, in force from ``from_`` until ``until``.

    ``adopted`` is when the version was adopted. A later version holds from that
    moment; the very first one also takes in the dues of its own day that can still
    be done in time, so that a new farm has a list on its first morning.
    """

    code: str
    title: str
    area: str | None
    version: int
    rule: Rule | None
    at: tuple[time, ...]
    grace: Grace
    season: str
    may_sign: tuple[str, ...]
    training: str | None
    steps: tuple[Mapping[str, Any], ...]
    gear: tuple[str, ...]
    cautions: tuple[str, ...]
    minutes: int | None
    entry: Entry
    adopted: datetime
    from_: datetime
    until: datetime | None = None
    problem: str | None = None


class Due(NamedTuple):
    """A task at a moment. ``day`` is the farm's civil day that it belongs to."""

    task: Task
    day: date
    at: datetime
    deadline: datetime

    @property
    def code(self) -> str:
        """The task's code."""
        return self.task.code

    @property
    def key(self) -> tuple[str, float]:
        """What "twice" means: the task, and the moment as an instant."""
        return self.task.code, self.at.timestamp()


class Rota(NamedTuple):
    """Every version of every task, oldest first within a code, and the farm's hours."""

    tasks: tuple[Task, ...]
    hours: tuple[Hours, ...]

    def hours_on(self, day: date) -> Hours:
        """The farm's hours as they stood when that day ended."""
        for hours in reversed(self.hours):
            if hours.from_day <= day:
                return hours
        return self.hours[0]

    def day_of(self, moment: datetime) -> date:
        """The farm's civil day at a moment, by the zone that it had then."""
        for hours in reversed(self.hours):
            day = moment.astimezone(hours.zone).date()
            if hours.from_day <= day:
                return day
        return moment.astimezone(self.hours[0].zone).date()

    def starts(self, day: date) -> datetime:
        """The moment when the day starts at the farm."""
        return self.hours_on(day).at(day, _MIDNIGHT)

    def in_force(self, moment: datetime) -> dict[str, Task]:
        """The version of each task that is in force at a moment, by its code."""
        return {task.code: task for task in self.tasks if _holds(task, moment)}

    def dues(self, first: date, last: date) -> list[Due]:
        """Everything due from ``first`` to ``last``, both included, in order."""
        found = (due for task in self.tasks for due in self._of(task, first, last))
        return sorted(found, key=_by_moment)

    def next_due(self, code: str, after: date) -> Due | None:
        """The task's first due on a day later than ``after``, within 1600 days."""
        versions = self._by_code().get(code, [])
        for days in LOOK_DAYS:
            last = after + days * _DAY
            found = [due for t in versions for due in self._of(t, after + _DAY, last)]
            if found:
                return min(found, key=_by_moment)
        return None

    def still_open_before(self, day: date) -> list[Due]:
        """Dues before ``day`` that may still be open then, whatever was written.

        Those are the latest of each task, and any whose grace reaches into the day.
        The work does not grow with the age of the record.
        """
        start = self.starts(day)
        found = {}
        for versions in self._by_code().values():
            reach = max(task.grace.days for task in versions) + _REACH_DAYS
            first, last = day - reach * _DAY, day - _DAY
            dues = [due for t in versions for due in self._of(t, first, last)]
            latest = max((due.day for due in dues), default=None)
            if latest is None:
                dues = self._latest(versions, day)
            for due in dues:
                if latest in (None, due.day) or due.deadline >= start:
                    found[due.key] = due
        return sorted(found.values(), key=_by_moment)

    def superseded_at(self, due: Due) -> datetime | None:
        """When the task comes round again, or is retired: then it is too late for it.

        The rule's own next time counts even where no due stands there (the shed has
        stopped, a later version is in force): the old one can no longer be done.
        """
        versions = self._by_code()[due.code]
        begun = {task.from_ for task in versions}
        moments = [self._next(due.task, due.at, due.day)]
        for task in versions:
            if task.from_ > due.task.from_:
                start = task.from_ - timedelta(seconds=1)
                moments.append(self._next(task, start, self.day_of(start)))
            if task.until not in begun:
                moments.append(task.until)
        return min((m for m in moments if m and m > due.at), default=None)

    def _by_code(self) -> dict[str, list[Task]]:
        made: dict[str, list[Task]] = {}
        for task in self.tasks:
            made.setdefault(task.code, []).append(task)
        return made

    def of_task(self, task: Task, first: date, last: date) -> list[Due]:
        """The dues of one version of a task from ``first`` to ``last``, in order."""
        return sorted(self._of(task, first, last), key=_by_moment)

    def _of(self, task: Task, first: date, last: date) -> list[Due]:
        """The dues of one version; one moment is one due, even where a clock change
        moves two clock times onto it.
        """
        if task.rule is None:
            return []
        first = max(first, task.from_.date() - _DAY)
        if task.until is not None:
            last = min(last, task.until.date() + _DAY)
        made = {}
        for day in task.rule.between(first, last):
            for due in self._on(task, day):
                made[due.at] = due
        return list(made.values())

    def _on(self, task: Task, day: date) -> Iterator[Due]:
        hours = self.hours_on(day)
        if task.season == "running" and not hours.runs(day):
            return
        for clock in task.at:
            at = hours.at(day, clock)
            deadline = task.grace.deadline(at, day, hours)
            if _holds(task, at) and task.adopted <= deadline:
                yield Due(task, day, at, deadline)

    def _latest(self, versions: list[Task], before: date) -> list[Due]:
        """The dues on the last day before ``before`` on which the task came round.

        A day on which a version no longer held, or the shed stood still, has none;
        what was due before it is then superseded by it.
        """
        for task in reversed(versions):
            day = task.rule.last(before) if task.rule else None
            found = self._of(task, day, day) if day else []
            if found:
                return found
        return []

    def _next(self, task: Task, after: datetime, day: date) -> datetime | None:
        """The rule's first moment later than ``after``, which lies on ``day``."""
        for on in islice(task.rule.days(day), 2) if task.rule else ():
            moments = [self.hours_on(on).at(on, clock) for clock in task.at]
            # not the first: a skipped time is moved on, past a later one
            later = [moment for moment in moments if moment > after]
            if later:
                return min(later)
        return None


_REACH_DAYS = 8
"""Beyond whole days of grace: a span of 72 h, a late working day, a weekly task."""


def _holds(task: Task, moment: datetime) -> bool:
    return task.from_ <= moment and (task.until is None or moment < task.until)


def _by_moment(due: Due) -> tuple[float, str]:
    return due.at.timestamp(), due.code


def read_rota(entries: Iterable[Entry]) -> Rota:
    """Make the rota from standing entries; kinds it does not need are passed over.

    It reads ``farm`` (zone, end of the working day, season), ``season`` (starts and
    stops since), ``checklist`` and ``retire``. Give it all that stand: an older
    version governs its own days.
    """
    held: dict[str, list[tuple[datetime, Entry]]] = {
        place: [] for place in _PLACES.values()
    }
    for entry in entries:
        moment, place = moment_or_none(entry.happened_at), _PLACES.get(entry.kind)
        if place is not None and moment is not None:
            held[place].append((moment, entry))
    for found in held.values():
        found.sort(key=_written_order)
    turns = [turn for _, entry in held["season"] if (turn := turn_of(entry.body))]
    hours = tuple(_hours(moment, entry, turns) for moment, entry in held["farm"])
    hours = hours or (Hours(ZoneInfo("UTC")),)
    return Rota(_versions(held["change"], hours), hours)


_PLACES = {
    "farm": "farm",
    "season": "season",
    "checklist": "change",
    "retire": "change",
}


def _written_order(pair: tuple[datetime, Entry]) -> tuple[Any, ...]:
    moment, entry = pair
    return moment, *typed_order(entry)


def typed_order(entry: Entry) -> tuple[float, str, int]:
    """The order in which entries were typed, alike on every device after a merge."""
    typed = moment_or_none(entry.recorded_at)
    return typed.timestamp() if typed else 0.0, entry.book, entry.seq


def moment_or_none(text: Any) -> datetime | None:
    """A moment of the record, or None where the text is none or has no offset."""
    try:
        moment = moment_of(text)
    except (TypeError, ValueError):
        return None
    return moment if moment.tzinfo is not None else None


def _hours(moment: datetime, entry: Entry, turns: list[Turn]) -> Hours:
    try:
        zone = zone_of(str(entry.get("time_zone")))
    except HygieneError:
        zone = ZoneInfo("UTC")
    base = []
    for stretch in _listed(entry.get("season"), Mapping):
        first = _date(stretch.get("first"))
        if first is not None:
            base.append((first, _date(stretch.get("last"))))
    return Hours(
        zone,
        _clock(entry.get("day_ends")) or time(20),
        stretches(base, turns),
        moment.astimezone(zone).date(),
    )


def _versions(
    changes: list[tuple[datetime, Entry]], hours: tuple[Hours, ...]
) -> tuple[Task, ...]:
    """Fold adoptions and retirements: each ends the version before it."""
    rota = Rota((), hours)
    made: dict[str, list[Task]] = {}
    for moment, entry in changes:
        code = entry.get("code")
        if not isinstance(code, str):
            continue
        if entry.kind == "retire" and entry.get("sort") != "checklist":
            continue
        versions = made.setdefault(code, [])
        if versions and versions[-1].until is None:
            versions[-1] = versions[-1]._replace(until=moment)
        if entry.kind == "checklist":
            task = _task(code, moment, entry)
            if not versions:
                day = rota.day_of(moment)
                task = task._replace(from_=rota.starts(day))
            versions.append(task)
    return tuple(task for code in sorted(made) for task in made[code])


def _task(code: str, moment: datetime, entry: Entry) -> Task:
    get = entry.get
    rule, grace, problem = None, Grace(), None
    try:
        grace = read_grace(str(get("grace", "day")))
        rule = read_rule(str(get("rule")), _date(get("starts")) or moment.date())
    except CannotBe as wrong:
        problem = str(wrong)
    clocks = {_clock(text) for text in _listed(get("at"), str)} - {None}
    minutes, version = get("minutes"), get("version")
    return Task(
        code=code,
        title=str(get("title", code)),
        area=get("area"),
        version=version if isinstance(version, int) else 0,
        rule=rule,
        at=tuple(sorted(c for c in clocks if c)) or (time(7),),
        grace=grace,
        season=str(get("season", "running")),
        may_sign=_listed(get("may_sign"), str) or ("manager", "worker"),
        training=get("training"),
        steps=_listed(get("steps"), Mapping),
        gear=_listed(get("gear"), str),
        cautions=_listed(get("cautions"), str),
        minutes=minutes if isinstance(minutes, int) else None,
        entry=entry,
        adopted=moment,
        from_=moment,
        problem=problem,
    )


def _listed(given: Any, sort: type[Any]) -> tuple[Any, ...]:
    if not isinstance(given, list | tuple):
        return ()
    return tuple(item for item in given if isinstance(item, sort))


def _date(given: Any) -> date | None:
    try:
        return date.fromisoformat(given)
    except (TypeError, ValueError):
        return None


def _clock(given: Any) -> time | None:
    try:
        made = time.fromisoformat(given)
    except (TypeError, ValueError):
        return None
    return made.replace(tzinfo=None)


def check_adoptable(checklist: "Checklist") -> Rule:
    """The rule of a checklist that a farm would adopt; raises ``CannotBe``.

    The rule that it answers is the one that will be followed, days after the 28th
    rewritten.
    """
    read_grace(checklist.grace)
    return read_rule(checklist.rule, checklist.starts)
