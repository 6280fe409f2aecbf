"""What an import stands on: its files, its lines, and the farm that is read once."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime
from typing import Any, NamedTuple

from hygiene.acts.codes import known, meant
from hygiene.acts.how import How
from hygiene.book.record import Record
from hygiene.book.stream import moments
from hygiene.book.writing import Writing
from hygiene.errors import HygieneError, Unknown
from hygiene.exchange.cells import BadCell, Manner, bad, own_code
from hygiene.exchange.columns import Matched
from hygiene.exchange.forms import Form
from hygiene.exchange.sheet import Row, Wrong
from hygiene.farm.in_force import InForce, in_force
from hygiene.kinds.attached import Attached
from hygiene.kinds.base import Kind
from hygiene.kinds.entry import Entry
from hygiene.kinds.moments import moment_of
from hygiene.rota.schedule import Due, Rota, read_rota


class Origin(NamedTuple):
    """The file that is imported: its name, its hash, its bytes."""

    name: str
    sha256: str
    content: bytes


class Source(NamedTuple):
    """One file of a kind: how it is read, and what it says of every line.

    ``always`` says what stands in every line, ``values`` what is meant by a cell.
    """

    form: Form
    origin: Origin
    matched: Matched
    rows: Iterable[Row | Wrong]
    manner: Manner
    always: Mapping[str, str] = {}
    values: Mapping[str, Mapping[str, str]] = {}


class File(NamedTuple):
    """A file that is being read: its entry, which the others name, and its bytes."""

    source: Source
    entry: Entry
    attached: tuple[Attached, ...]


class Said(NamedTuple):
    """One line as values by the names of its columns, and its texts beside them."""

    file: File
    line: int
    values: Mapping[str, Any]
    texts: Mapping[str, str]
    further: Mapping[str, str]
    at: datetime
    timed: bool
    how: How

    def get(self, name: str) -> Any:
        """The value of a column, or None where its cell is empty."""
        return self.values.get(name)

    @property
    def manner(self) -> Manner:
        """How its file writes."""
        return self.file.source.manner


class Scene:
    """What is read once of the farm; ``gathered`` are the actions to write as one."""

    def __init__(
        self, writing: Writing, setup: Sequence[Entry], now: datetime, by: str | None
    ) -> None:
        self.writing = writing
        self.record: Record = writing.record
        self.by = by
        self.now = now
        self.gathered: list[Kind] = []
        self._people: dict[str, str] = {}
        self._moments: dict[str, set[int]] = {}
        self._stand_on(setup)

    def _stand_on(self, setup: Sequence[Entry]) -> None:
        self.setup = setup
        self.farm = in_force(setup, self.now)
        self._turns = sorted({moment_of(e.happened_at).timestamp() for e in setup})
        self._then: dict[int, InForce] = {}
        self._rota: Rota | None = None
        self._dues: dict[date, list[Due]] = {}

    def read_again(self) -> None:
        """Read the farm anew, after a line that changed when the shed runs."""
        self._stand_on(self.record.setup())

    def is_fresh(self, kind: str, at: datetime) -> bool:
        """Whether nothing of a kind happened at a moment; from now on something did."""
        if kind not in self._moments:
            self._moments[kind] = moments(self.record, kind)
        there, instant = self._moments[kind], int(at.timestamp())
        fresh = instant not in there
        there.add(instant)
        return fresh

    def farm_at(self, at: datetime) -> InForce:
        """The farm as it stood then; as it stands now, where nothing was set up."""
        turn = bisect_right(self._turns, at.timestamp())
        if turn == len(self._turns):
            return self.farm
        if turn not in self._then:
            found = in_force(self.setup, at)
            self._then[turn] = self.farm if found.farm is None else found
        return self._then[turn]

    def farm_with(self, said: Said, **named: str) -> InForce:
        """The farm that knows these codes (sort = column): now, or as it stood then."""
        then = self.farm_at(said.at)
        wanted = [(sort, said.texts[c]) for sort, c in named.items() if said.get(c)]
        if all(_knows(self.farm, sort, code) for sort, code in wanted):
            return self.farm
        return then if all(_knows(then, *each) for each in wanted) else self.farm

    def dues(self, task: str, at: datetime) -> list[Due]:
        """When a task was due on the day of a moment."""
        day = at.astimezone(self.farm.zone).date()
        return [d for d in self.dues_on(day) if d.code.casefold() == task.casefold()]

    def dues_on(self, day: date) -> list[Due]:
        """What was due on a day."""
        self._rota = self._rota or read_rota(self.setup)
        if day not in self._dues:
            self._dues[day] = self._rota.dues(day, day)
        return self._dues[day]

    def person(self, text: str) -> str:
        """The code of a person of the farm, now or ever; ``BadCell``."""
        wanted = text.strip().casefold()
        if not self._people:
            ever = [e for e in self.setup if e.kind == "person"]
            codes = [str(e.get("code")) for e in ever]
            self._people = {code.casefold(): code for code in codes}
        found = self._people.get(wanted)
        if found is None:
            there = ", ".join(self.farm.people)
            raise bad(
                f"nobody at this farm signs as {text!r}",
                f"the people here are {there}; or say who that is in a mapping file",
            )
        return found

    def meant(self, sort: str, text: str) -> str:
        """A lot, batch or container by its code, or by its number on an old paper."""
        try:
            return meant(self.record, sort, text)
        except Unknown:
            own = own_code(text)
            if not own or own == text.strip():
                raise
            return meant(self.record, sort, own)


def _knows(farm: InForce, sort: str, code: str) -> bool:
    try:
        return bool(known(farm, sort, code))
    except HygieneError:
        return False


def of_column(column: str, failure: HygieneError) -> BadCell:
    """The same failure, with the column that it is about."""
    made = bad(one_line(failure), failure.way_out or "put it right")
    made.details["column"] = column
    return made


def once(scene: Scene, thing: Kind, how: How) -> tuple[Entry, bool]:
    """Write an entry from which nothing follows, unless it was written already."""
    before = how.retried(scene.writing, thing)
    return (before, True) if before else (how.add(scene.writing, thing), False)


def one_line(failure: HygieneError) -> str:
    """What a failure says, on one line that is not too long."""
    key, what = failure.details.get("key"), failure.details.get("what")
    text = str(what) if key and what else str(failure)
    return " ".join(text.split())[:240]
