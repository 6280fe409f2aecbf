"""What a report is made from, read once; it is laid out after the record is closed.

Everything written about a period is gathered as *matters*: an entry with all that
corrected or struck it. What answers a matter (an action, its recheck, its close, a
release, a second look) belongs to it whenever it was written.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from typing import Any, NamedTuple

from hygiene.acts.day import EARLY
from hygiene.book.record import Head, Record, UnknownEntry
from hygiene.farm.in_force import InForce, in_force
from hygiene.kinds import FOLDED, HOMES
from hygiene.kinds.entry import Entry
from hygiene.reports.period import Period
from hygiene.rota.schedule import Rota, moment_or_none, read_rota

WRITTEN = tuple(k for k in HOMES if k not in (*FOLDED, "opening", "strike"))
"""Every kind that says what happened, not what stands at the farm."""
AT_ONCE = 500
"""How many names are asked for in one query."""


class Matter(NamedTuple):
    """One thing that was written, with all that superseded it; the last stands."""

    history: tuple[Entry, ...]

    @property
    def first(self) -> Entry:
        """The entry as it was first written."""
        return self.history[0]

    @property
    def struck(self) -> bool:
        """Whether it is ruled through."""
        return self.history[-1].kind == "strike"

    @property
    def said(self) -> Entry:
        """The latest version that says something: what stands, unless struck."""
        return next(e for e in reversed(self.history) if e.kind != "strike")

    @property
    def changed(self) -> bool:
        """Whether it was ever corrected or struck."""
        return len(self.history) > 1


@dataclass(frozen=True, slots=True)
class Reading:
    """All that a report of a period may say. ``printed_at`` is by the farm's clock."""

    period: Period
    printed_at: datetime
    farm: InForce
    rota: Rota
    matters: tuple[Matter, ...]
    heads: tuple[Head, ...] = ()
    demonstration: bool = False
    _by_name: dict[str, Matter] = field(default_factory=dict)
    _answers: dict[str, list[Matter]] = field(default_factory=dict)
    _kinds: dict[str, list[Matter]] = field(init=False, repr=False, compare=False)
    _span: tuple[datetime, datetime] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        kinds: dict[str, list[Matter]] = {}
        object.__setattr__(self, "_kinds", kinds)
        object.__setattr__(self, "_span", span_of(self.rota, self.period))
        for matter in self.matters:
            kinds.setdefault(matter.first.kind, []).append(matter)
            for version in matter.history:
                self._by_name[version.name] = matter
            for name in _named(matter.said.body):
                self._answers.setdefault(name, []).append(matter)

    def of_kind(self, *kinds: str) -> list[Matter]:
        """The matters of these kinds, in the order in which they happened."""
        if len(kinds) == 1:
            return list(self._kinds.get(kinds[0], ()))
        if not any(kind in self._kinds for kind in kinds):
            return []
        return [m for m in self.matters if m.first.kind in kinds]

    def called(self, name: Any) -> Matter | None:
        """The matter that an entry of this name belongs to, if it was read."""
        return self._by_name.get(str(name))

    def matter(self, entry: Entry) -> Matter:
        """The matter that an entry belongs to."""
        return self._by_name.get(entry.name) or Matter((entry,))

    def answers(
        self, matter: Matter, kind: str, *, struck: bool = False
    ) -> list[Matter]:
        """What stands of a kind and names any version of this matter.

        With ``struck``, what was ruled through as well: striking ends nothing.
        """
        found = {
            answer.first.name: answer
            for version in matter.history
            for answer in self._answers.get(version.name, ())
        }
        return [
            answer
            for answer in found.values()
            if answer.first.kind == kind and (struck or not answer.struck)
        ]

    def standing(self, *kinds: str) -> list[Entry]:
        """What stands of these kinds."""
        return [m.said for m in self.of_kind(*kinds) if not m.struck]

    def happened_in(self, matter: Matter) -> bool:
        """Whether it happened within the period, as it stands now."""
        moment = moment_or_none(matter.said.happened_at)
        start, end = self._span
        return moment is not None and start <= moment < end


def span_of(rota: Rota, period: Period) -> tuple[datetime, datetime]:
    """From the first moment of the period up to the first one after it."""
    return rota.starts(period.first), rota.starts(period.last + timedelta(days=1))


def read(record: Record, period: Period, printed_at: datetime) -> Reading:
    """Read all that a report of the period may need, in a few indexed queries.

    Sign-offs are read from the period's start up to now, since one that was written
    late belongs to the day on which its task was due.
    """
    setup = record.setup()
    rota = read_rota(setup)
    start, end = span_of(rota, period)
    seen = _Seen(record)
    seen.take(WRITTEN, start, end)
    seen.take(("sign_off", "miss"), start - EARLY, None, lambda e: _due(e, start, end))
    seen.take(("countersign",), start, None, lambda e: _day(e, period))
    seen.take(("hold",), None, end)
    seen.add(record.unanswered("action", "close"), before=end)
    return _reading(seen, setup, rota, period, printed_at)


def read_only(
    record: Record,
    period: Period,
    printed_at: datetime,
    kinds: tuple[str, ...] = (),
) -> Reading:
    """Read what happened of these kinds alone, with all that answers it."""
    setup = record.setup()
    rota = read_rota(setup)
    seen = _Seen(record)
    if kinds:
        seen.take(kinds, *span_of(rota, period))
    return _reading(seen, setup, rota, period, printed_at)


def further(record: Record, reading: Reading, entries: Iterable[Entry]) -> Reading:
    """The same reading with the matters of these entries, and all that answers them."""
    seen = _Seen(record)
    seen.matters |= {matter.first.name: matter for matter in reading.matters}
    seen.take_on(entries)
    if len(seen.matters) == len(reading.matters):
        return reading
    matters = tuple(sorted(seen.matters.values(), key=_order))
    return replace(reading, matters=matters, _by_name={}, _answers={})


def causes(record: Record, matters: Iterable[Matter], *fields: str) -> list[Entry]:
    """The entries that these matters name in some of their fields, as it was written.

    A name that the record does not hold is passed over: it came from elsewhere.
    """
    names = dict.fromkeys(
        str(matter.first.get(field)) for matter in matters for field in fields
    )
    found = []
    for name in names:
        try:
            found.append(record.entry(name))
        except UnknownEntry:
            continue
    return found


def _reading(
    seen: _Seen,
    setup: Sequence[Entry],
    rota: Rota,
    period: Period,
    printed_at: datetime,
) -> Reading:
    seen.follow(list(seen.matters.values()))
    _, end = span_of(rota, period)
    return Reading(
        period,
        printed_at,
        in_force(setup, min(end - timedelta(seconds=1), printed_at)),
        rota,
        tuple(sorted(seen.matters.values(), key=_order)),
        tuple(seen.record.heads()),
        seen.record.demonstration(),
    )


def _due(entry: Entry, start: datetime, end: datetime) -> bool:
    moment = moment_or_none(entry.get("due"))
    return moment is not None and start <= moment < end


def _day(entry: Entry, period: Period) -> bool:
    day = entry.get("day")
    return isinstance(day, str) and str(period.first) <= day <= str(period.last)


def _order(matter: Matter) -> tuple[float, str, str, int]:
    said = matter.said
    moment = moment_or_none(said.happened_at)
    return moment.timestamp() if moment else 0.0, said.recorded_at, said.book, said.seq


def _named(value: Any) -> Iterator[str]:
    """Every text of a body that may be the name of an entry, such as shed-k7q2/12."""
    if isinstance(value, str):
        if "/" in value:
            yield value
    elif isinstance(value, Mapping):
        for item in value.values():
            yield from _named(item)
    elif isinstance(value, list | tuple):
        for item in value:
            yield from _named(item)


class _Seen:
    """The matters found so far, by the name of their first entry."""

    def __init__(self, record: Record) -> None:
        self.record = record
        self.matters: dict[str, Matter] = {}

    def take(
        self,
        kinds: tuple[str, ...],
        since: datetime | None,
        before: datetime | None,
        wanted: Callable[[Entry], bool] = lambda entry: True,
    ) -> None:
        """Add every matter of which some version happened in [since, before)."""
        versions = self.record.all_versions(kinds, since=since, before=before)
        standing = {
            entry.name
            for entry in self.record.entries(kinds, since=since, before=before)
        }
        for entry in filter(wanted, versions):
            if entry.first in self.matters:
                continue
            alone = entry.corrects is None and entry.name in standing
            self._put((entry,) if alone else self.record.history(entry.name))

    def add(self, entries: Iterable[Entry], before: datetime) -> None:
        """Add the matters of entries that happened before a moment."""
        for entry in entries:
            moment = moment_or_none(entry.happened_at)
            if entry.first not in self.matters and moment and moment < before:
                self._put(self.record.history(entry.name))

    def take_on(self, entries: Iterable[Entry]) -> None:
        """Add the matters of these entries, and what answers them."""
        self.follow(
            [
                self._put(self.record.history(entry.name))
                for entry in entries
                if entry.first not in self.matters
            ]
        )

    def follow(self, new: list[Matter]) -> None:
        """Add what answers these matters, and what answers that, to the end."""
        while new:
            names = [version.name for matter in new for version in matter.history]
            new = []
            for place in range(0, len(names), AT_ONCE):
                for entry in self.record.mentioning(*names[place : place + AT_ONCE]):
                    if entry.first not in self.matters:
                        new.append(self._put(self.record.history(entry.name)))

    def _put(self, history: Iterable[Entry]) -> Matter:
        matter = Matter(tuple(history))
        self.matters[matter.first.name] = matter
        return matter
