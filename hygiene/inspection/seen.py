"""What was read before the readiness rules look at it: plain values, all at once.

Everything is about one stretch of days, as it stands at the moment ``now``.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date, datetime
from typing import Any, NamedTuple

from hygiene.farm.in_force import InForce
from hygiene.kinds.entry import Entry, has_passed, texts_of
from hygiene.kinds.moments import moment_of
from hygiene.rota.day import State
from hygiene.rota.schedule import Task
from hygiene.sanitising.containers import Container
from hygiene.sanitising.labels import Fault
from hygiene.tracing.balance import Gap, TraySum
from hygiene.tracing.batches import Batch
from hygiene.water.due import SampleDue

IMPORTED = re.compile(r"imported from (.+) line \d+ \(\S+\)$")
GATHERED = re.compile(r"\d+ lines imported from (.+) stand against rules: ")
"""What an imported line gives as its reason, and the problem of the one action that
answers for all the lines of its files."""
REVIEW_DAYS = 14
"""Within how many days a second person looks, where the farm file does not say it;
common practice, no source."""


class Matter(NamedTuple):
    """An entry as it stands (None: ruled through), and every version that was read."""

    first: str
    stands: Entry | None
    versions: tuple[Entry, ...]

    @property
    def marks(self) -> frozenset[str]:
        """What any version of it bears: a mark is for ever."""
        return frozenset(m for v in self.versions for m in texts_of(v.body, "marks"))

    @property
    def names(self) -> tuple[str, ...]:
        """The names of its versions."""
        return tuple(version.name for version in self.versions)


class Acted(NamedTuple):
    """A corrective action, what it is about, its second looks, and its end."""

    action: Entry
    about: str
    looks: tuple[Entry, ...] = ()
    end: Entry | None = None

    @property
    def incident(self) -> bool:
        """Whether animals, people or buyers were in danger."""
        return self.action.get("incident") is True

    @property
    def passed(self) -> bool:
        """Whether the last second look passed."""
        return bool(self.looks) and has_passed(self.looks[-1])


class KitNow(NamedTuple):
    """A kit that cannot be relied on now: why, and whether a check would mend it."""

    code: str
    name: str
    why: str
    to_order: bool


class PaperNow(NamedTuple):
    """A paper whose day of review has passed."""

    title: str
    review_on: date
    entry: str


class Seen(NamedTuple):
    """All that the rules look at, from ``first`` to ``last``, both days included.

    ``states`` are the dues of those days; ``matters`` what happened on them by its
    first name, and ``by_kind`` those of them that stand; ``acted`` the corrective
    actions of those days and every open one; ``sown_before`` the sowings of what may
    have left on those days; ``lines`` every version that was written about those days,
    for the clock. What is now (``growing``, ``containers``, ``kits``, ``samples``,
    ``papers`` ...) is as it is at ``now``, by the farm's clock.
    """

    first: date
    last: date
    now: datetime
    farm: InForce
    states: tuple[State, ...] = ()
    matters: Mapping[str, Matter] = {}
    by_kind: Mapping[str, Sequence[Matter]] = {}
    acted: tuple[Acted, ...] = ()
    looks: tuple[Entry, ...] = ()
    gaps: tuple[Gap, ...] = ()
    trays: tuple[TraySum, ...] = ()
    growing: tuple[Batch, ...] = ()
    sown_before: tuple[Entry, ...] = ()
    containers: tuple[Container, ...] = ()
    store_odd: tuple[str, ...] = ()
    samples: tuple[SampleDue, ...] = ()
    kits: tuple[KitNow, ...] = ()
    papers: tuple[PaperNow, ...] = ()
    register: tuple[tuple[str, Fault], ...] = ()
    tasks: tuple[Task, ...] = ()
    holds: tuple[Entry, ...] = ()
    drill_due: date | None = None
    backup: Entry | None = None
    backup_due: bool = False
    lines: tuple[Entry, ...] = ()

    @property
    def today(self) -> date:
        """The day at the farm."""
        return self.now.date()

    @property
    def body(self) -> Mapping[str, Any]:
        """What the farm file says of the farm itself."""
        return self.farm.farm or {}

    def of(self, *kinds: str) -> Iterator[Matter]:
        """The matters of these kinds that stand."""
        for kind in kinds:
            yield from self.by_kind.get(kind, ())

    def standing(self, *kinds: str) -> Iterator[Entry]:
        """What stands of these kinds."""
        return (matter.stands for matter in self.of(*kinds) if matter.stands)

    def day(self, entry: Entry) -> date:
        """The day at the farm on which it happened."""
        return moment_of(entry.happened_at).astimezone(self.farm.zone).date()

    def about(self, first: str) -> list[Acted]:
        """The actions about a matter, by the name of its first entry.

        Of an imported line also the one that its file's lines were gathered in.
        """
        found = [acted for acted in self.acted if acted.about == first]
        return found or self._gathered(first)

    def _gathered(self, first: str) -> list[Acted]:
        matter = self.matters.get(first)
        line = IMPORTED.search((matter and matter.versions[0].reason) or "")
        if matter is None or line is None:
            return []
        entry = matter.versions[0]
        return [
            acted
            for acted in self.acted
            if (files := GATHERED.match(str(acted.action.get("problem"))))
            and line[1] in files[1].split(", ")
            and (acted.action.book, acted.action.seq > entry.seq) == (entry.book, True)
        ][:1]

    def settled(self, first: str) -> bool:
        """Whether what was wrong was acted upon, looked at again and closed."""
        found = self.about(first)
        return bool(found) and all(acted.end is not None for acted in found)


def by_kind(matters: Iterable[Matter]) -> dict[str, list[Matter]]:
    """The matters that stand, by the kind of what they say."""
    made: dict[str, list[Matter]] = {}
    for matter in matters:
        if matter.stands is not None:
            made.setdefault(matter.stands.kind, []).append(matter)
    return made


class Item(NamedTuple):
    """One place where a rule found something: in words, its day, and its entries.

    ``code`` is what it is about where no entry says it: a task, a can, a kit.
    """

    says: str
    day: date | None = None
    entries: tuple[str, ...] = ()
    code: str = ""


def shown(day: date) -> str:
    """A day in a line: 22 Nov 2026."""
    return f"{day.day} {day:%b %Y}"


def few(words: Sequence[str], most: int = 4) -> str:
    """Words in a row, cut where there are many."""
    if len(words) <= most:
        return ", ".join(words)
    return f"{', '.join(words[: most - 1])} and {len(words) - most + 1} more"


def by_day(items: Iterable[Item]) -> list[Item]:
    """Items in the order of their days, then of their words."""
    return sorted(items, key=lambda item: (item.day or date.min, item.says))
