"""The shed as the demonstration works in it: a clock of its own, and what is to come.

Everything goes through the acts, as a command would do it. What will happen stands on
the agenda by its moment, and the clock jumps from one to the next, so that nothing is
recorded before it happened or out of order.
"""

from __future__ import annotations

import heapq
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from itertools import count
from random import Random
from typing import NamedTuple

from demo_farm.dates import stop_in
from demo_farm.inside import Inside
from hygiene.acts.actions import close, look_again
from hygiene.acts.set_up import FarmFiles, set_up
from hygiene.acts.signing import Signed, miss, questions, sign
from hygiene.book.writing import Writing
from hygiene.farm.in_force import InForce, in_force
from hygiene.kinds.action import Recheck
from hygiene.kinds.entry import Entry
from hygiene.kinds.moments import at_the_farm, zone_of
from hygiene.rota.schedule import Due, Rota, read_rota
from hygiene.rota.signing import answer_all

Act = Callable[[], object]

MANAGER, WORKER = "MP", "TO"
OTHER = {MANAGER: WORKER, WORKER: MANAGER}


@dataclass(frozen=True, slots=True)
class Mend:
    """How a corrective action ends: the second look, and what was done."""

    seen: str
    did: str
    value: str | None = None
    unit: str | None = None
    cause: str | None = None
    cleaned: str | None = None
    effect: str | None = None
    after: timedelta = timedelta(minutes=45)
    closed_after: timedelta = timedelta(minutes=20)


LOOKED_AT = Mend(
    "the work was looked at: done, and in order",
    "typed on the day itself from now on",
    after=timedelta(minutes=50),
)
"""What ends the action of a late entry, where a story says nothing else."""


@dataclass(slots=True)
class Plan:
    """What will become of a due: done, by whom, when and how; or not, and why.

    ``answers`` are those of one line, by the names of the questions; steps that are
    left out are ticked. ``typed_at`` is the moment of typing, where that was later.
    """

    due: Due
    by: str
    at: datetime
    answers: dict[str, str] = field(default_factory=dict)
    typed_at: datetime | None = None
    typed_by: str | None = None
    reason: str | None = None
    missed: str | None = None
    needed: bool = True
    silent: bool = False
    mend: Mend | None = LOOKED_AT
    then: Callable[[Signed], object] | None = None
    tub: Callable[[Day, str, Plan], object] | None = None
    """What is done in place of the ordinary tub, where this is the tray wash."""

    def fail(self, step: str, answer: str, did: str, mend: Mend | None) -> None:
        """Let a step be answered out of limit; without ``mend`` it is left open."""
        self.answers[step] = answer
        self.answers[f"{step}.did"] = did
        self.mend = mend


class Shed:
    """The farm in the middle of the year; made by ``year.build``."""

    def __init__(self, files: FarmFiles, first: date, last: date) -> None:
        self.files = files
        self.first = first
        self.last = last
        self.stop = stop_in(first, last)
        self.inside = Inside()
        self.zone = zone_of(files.wanted.farm.time_zone)
        self.by_chance: list[tuple[date, str]] = []
        self.found: dict[str, list[date]] = {}
        self.now: datetime
        self.setup: list[Entry]
        self.farm: InForce
        self.rota: Rota
        self.writing: Writing
        self._agenda: list[tuple[datetime, int, Act]] = []
        self._order = count()

    def clock(self) -> datetime:
        """The moment that it is in the story."""
        return self.now

    def moment(self, day: date, clock: str) -> datetime:
        """The moment when the farm's clock shows this."""
        return at_the_farm(day, time.fromisoformat(clock), self.zone)

    def before(self, day: date) -> int:
        """How many days a day lies before the last one of the year."""
        return (self.last - day).days

    def reaches_back(self, before: int) -> bool:
        """Whether the record begins so many days before the last one, or earlier."""
        return self.before(self.first) >= before

    def at(self, moment: datetime, act: Act) -> None:
        """Put something on the agenda."""
        heapq.heappush(self._agenda, (moment, next(self._order), act))

    def later(self, wait: timedelta, act: Act) -> None:
        """Put something on the agenda, counted from now."""
        self.at(self.now + wait, act)

    def live_until(self, end: datetime) -> None:
        """Do everything on the agenda up to a moment, that moment included."""
        while self._agenda and self._agenda[0][0] <= end:
            moment, _, act = heapq.heappop(self._agenda)
            self.now = max(self.now, moment)
            act()

    def set_up(self, files: FarmFiles) -> None:
        """Write what changed of the set-up, and work by it."""
        self.files = files
        set_up(self.writing, files, by=MANAGER)
        self.look_round()

    def look_round(self) -> None:
        """Work by what is in force now."""
        self.setup = self.writing.record.setup()
        self.farm = in_force(self.setup, self.now)
        self.rota = read_rota(self.setup)

    def carry_out(self, plan: Plan) -> None:
        """Put what was planned on the agenda."""
        if plan.silent:
            return
        act = self._miss if plan.missed else self._sign
        self.at(plan.typed_at or plan.at, lambda: act(plan))

    def _miss(self, plan: Plan) -> None:
        miss(
            self.writing,
            plan.due,
            why=str(plan.missed),
            by=plan.by,
            needed=plan.needed,
            written_by=plan.typed_by,
        )

    def _sign(self, plan: Plan) -> None:
        asked = questions(plan.due.task, self.farm)
        signed = sign(
            self.writing,
            self.farm,
            plan.due,
            answer_all(plan.due.code, asked, plan.answers),
            by=plan.by,
            happened_at=plan.at,
            written_by=plan.typed_by,
            reason=plan.reason,
        )
        if plan.mend is not None:
            for action in signed.actions:
                self.mend(action, plan.mend, OTHER[plan.by])
        if plan.then is not None:
            plan.then(signed)

    def mend(self, action: Entry, how: Mend, by: str) -> None:
        """Look again at a corrective action later, and close it after that."""
        self.later(how.after, lambda: self._look(action, how, by))

    def _look(self, action: Entry, how: Mend, by: str) -> None:
        thing = Recheck(
            action=action.name,
            seen=how.seen,
            passed=True,
            value=None if how.value is None else Decimal(how.value),
            unit=how.unit,
        )
        look_again(self.writing, thing, by=by)
        self.later(how.closed_after, lambda: self.close(action, how, by))

    def close(self, action: Entry, how: Mend, by: str) -> None:
        """Close a corrective action that was looked at again."""
        close(
            self.writing,
            action.name,
            did=how.did,
            by=by,
            cause=how.cause,
            cleaned=how.cleaned,
            effect=how.effect,
        )


class Share(NamedTuple):
    """Who gets how many trays of each batch that is ready, and when."""

    clock: str
    animals: str
    trays: int


@dataclass(slots=True)
class Day:
    """One day of the shed, as a story is handed it.

    ``plans`` are those of what is due on it, by the tasks' codes; a story changes them
    before the day begins. ``own_sowing`` and ``own_feeding`` are what a story does in
    place of the ordinary sowing, and how it shares the fodder out. ``chance`` gives the
    same numbers on the same day of every year that is built.
    """

    shed: Shed
    date: date
    chance: Random
    plans: Mapping[str, Plan]
    own_sowing: Act | None = None
    own_feeding: tuple[Share, ...] | None = None

    @property
    def before(self) -> int:
        """How many days it lies before the last day of the year."""
        return self.shed.before(self.date)

    def moment(self, clock: str, days: int = 0) -> datetime:
        """A moment of this day, or of one that lies ``days`` later."""
        return self.shed.moment(self.date + timedelta(days=days), clock)

    def at(self, clock: str, act: Act, days: int = 0) -> None:
        """Let something happen on this day, or on one that lies ``days`` later."""
        self.shed.at(self.moment(clock, days), act)
