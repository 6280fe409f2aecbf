"""What came with a merge, and what of it somebody should look at.

Everything stays as it was written on both devices; this only points. A hold needs no
clock: it stands until a release names it, whichever book either is in.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import datetime, timedelta
from typing import Any, Final, NamedTuple

from hygiene.acts.standing import (
    LOOK_BACK,
    batches_of,
    grew_there,
    open_holds,
    stops_by_batch,
)
from hygiene.book.merge import Came, books_naming, lines
from hygiene.book.record import Record, UnknownEntry
from hygiene.farm.in_force import InForce
from hygiene.kinds import HOMES, SETUP, kind_class
from hygiene.kinds.base import Unfit, read_plain
from hygiene.kinds.entry import Entry, texts_of
from hygiene.kinds.moments import moment_of, span
from hygiene.kinds.words import gist
from hygiene.tracing.holds import Stop

AT_ONCE = 1000
"""Lines are read in such parts, so that the first merge of years fits in memory."""
CODES_AT_ONCE: Final = 200
"""And batches are looked at in such."""
SLACK: Final = timedelta(minutes=2)
"""Two clocks that differ by less are not worth a word; common practice, no source."""
A_FEW: Final = 12
"""So many of the last sowings of a place are looked at."""
MINTED: Final = {"sow": "batch", "seed": "lot", "container": "container"}
"""The kinds that bring a minted code, and the field that bears it."""
FINDS: Final = ("mould", "pest", "ill", "release", "accident")
ANSWERS: Final = ("sign_off", "miss")
NAME = re.compile(r"[a-z0-9]+-[a-z0-9]{4}/[0-9]+")


class Seen(NamedTuple):
    """Something to look at: what sort, in words, and the entries that it is about."""

    sort: str
    says: str
    entries: tuple[str, ...]


class Arrived(NamedTuple):
    """What came of one book: which lines, and how many of each kind."""

    came: Came
    kinds: Mapping[str, int]


def arrived(
    record: Record, farm: InForce, came: list[Came], now: datetime
) -> tuple[list[Arrived], list[Seen]]:
    """What came, book by book, and what needs looking at, holds first."""
    look = _Look(record, farm, now)
    found = []
    for each in came:
        kinds: Counter[str] = Counter()
        for entry in _entries(record, each):
            kinds[entry.kind] += 1
            look.take(entry)
        found.append(Arrived(each, kinds))
    return found, look.seen(came)


def _entries(record: Record, came: Came) -> Iterator[Entry]:
    for first in range(came.first, came.last + 1, AT_ONCE):
        yield from lines(record, came.book, first, min(first + AT_ONCE - 1, came.last))


class _Look:
    """Looks at each line that came; only what stands out is kept."""

    def __init__(self, record: Record, farm: InForce, now: datetime) -> None:
        self.record = record
        self.farm = farm
        self.now = now
        self.found: dict[tuple[str, str], Seen] = {}
        self.ahead: dict[str, tuple[timedelta, Entry]] = {}
        self.before: dict[str, tuple[timedelta, Entry, Entry]] = {}
        self.used: dict[str, str] = {}  # the batch by the entry's name
        self.moulds: list[Entry] = []
        self.sown: dict[str, datetime] = {}  # when first, by batch
        self.alone: dict[str, bool] = {}
        self.one_book = len(record.heads()) < 2
        self.set_up: set[tuple[str, str]] = set()

    def take(self, entry: Entry) -> None:
        """Look at one line."""
        self._clock(entry)
        self._fits(entry)
        if entry.kind in ANSWERS:
            self._signed(entry)
        elif entry.kind in MINTED:
            self._minted(entry)
        elif entry.kind in SETUP:
            self.set_up.add((entry.kind, str(entry.get("code", ""))))
        elif entry.kind in FINDS:
            self._add(f"{entry.kind} came", entry.name, _said(entry), entry)
        if entry.kind in ("feed", "dispatch"):
            self.used[entry.name] = str(entry.get("batch"))
        if entry.kind == "mould":
            self.moulds.append(entry)
        elif entry.kind == "sow":
            batch, sown = str(entry.get("batch")), moment_of(entry.happened_at)
            self.sown[batch] = min(sown, self.sown.get(batch, sown))

    def seen(self, came: list[Came]) -> list[Seen]:
        """All of it: what is held first, the clocks last."""
        held = list(self._held(came))
        self._grew_there()
        rest = list(self.found.values())
        return [*held, *rest, *self._set_up(), *self._clocks()]

    def _add(self, sort: str, key: str, says: str, *entries: Entry) -> None:
        names = tuple(dict.fromkeys(e.name for e in entries))
        self.found.setdefault((sort, key), Seen(sort, says, names))

    def _fits(self, entry: Entry) -> None:
        """An older program, or a stranger, may have written what we would not."""
        if entry.kind not in HOMES:
            self._add("odd", entry.name, f"{entry.kind} is no kind known here", entry)
            return
        try:
            read_plain(kind_class(entry.kind), entry.body)
        except Unfit as unfit:
            says = f"{entry.kind} that this program would not write: {unfit}"
            self._add("odd", entry.name, says, entry)

    def _clock(self, entry: Entry) -> None:
        written = moment_of(entry.recorded_at)
        ahead = written - self.now
        if ahead > SLACK and ahead > self.ahead.get(entry.book, (SLACK, entry))[0]:
            self.ahead[entry.book] = ahead, entry
        for name in _names((entry.corrects, entry.body)):
            if name.rpartition("/")[0] != entry.book:
                self._answered(entry, name, written)

    def _answered(self, entry: Entry, name: str, written: datetime) -> None:
        """Whoever names an entry has seen it: it cannot have been written later."""
        try:
            other = self.record.entry(name)
        except UnknownEntry:
            says = f"{_said(entry)}: it names {name}, which is not here"
            self._add("names what is not here", entry.name, says, entry)
            return
        early = moment_of(other.recorded_at) - written
        if early > self.before.get(entry.book, (SLACK, entry, other))[0]:
            self.before[entry.book] = early, entry, other

    def _signed(self, entry: Entry) -> None:
        task, due = entry.get("task"), str(entry.get("due"))
        if self.one_book:
            return
        if due not in self.alone:
            self.alone[due] = len(books_naming(self.record, due, ANSWERS)) < 2
        if self.alone[due]:
            return
        same = [
            e
            for e in self.record.mentioning(due)
            if e.kind in ANSWERS and e.get("task") == task
        ]
        if len({e.first.rpartition("/")[0] for e in same}) > 1:
            who = ", ".join(f"{e.by} ({e.name})" for e in same)
            says = f"{task} due {due[:16]} stands in two books: {who}"
            self._add("signed twice", f"{task} {due}", says, *same)

    def _minted(self, entry: Entry) -> None:
        code = str(entry.get(MINTED[entry.kind]))
        same = [
            e
            for e in self.record.latest(entry.kind, code, before=_ever(), most=50)
            if not e.corrects
        ]
        if len({e.book for e in same}) > 1:
            says = (
                f"{code} is the code of two things, and each is held as the other is: "
                "strike one, and write it again under another code"
            )
            self._add("same code", code, says, *same)

    def _grew_there(self) -> None:
        """A find and a sowing that did not know of each other: the lot goes on."""
        moulds = self.moulds
        if self.sown:
            since = min(self.sown.values())
            moulds = moulds + self.record.all_versions(["mould"], since=since)
        came = {mould.name for mould in self.moulds}
        doubtful: dict[str, list[Entry]] = {}
        for mould in {mould.name: mould for mould in moulds}.values():
            for code in _sown_there(self.record, mould):
                if code in self.sown or mould.name in came:
                    doubtful.setdefault(code, []).append(mould)
        for codes in _parts(sorted(doubtful)):
            batches = batches_of(self.record, codes).values()
            for code, finds in grew_there(self.record, batches).items():
                names = {find.name for find in finds}
                for mould in doubtful[code]:
                    if mould.name in names:
                        self._is_in(mould, code)

    def _is_in(self, mould: Entry, code: str) -> None:
        trays = ",".join(texts_of(mould, "trays"))
        says = (
            f"{mould.name} is in {code} as well, which grew there; so that its lot is "
            f"stopped, write it: hygiene mould {code}{trays and f' --trays {trays}'}"
        )
        self._add("mould where it grew", f"{mould.name} {code}", says, mould)

    def _held(self, came: list[Came]) -> Iterator[Seen]:
        ranges = {each.book: each for each in came}
        holds = open_holds(self.record)
        new = [h for h in holds if _is_new(h.first, ranges)]
        for hold in new:
            yield Seen("held there", _said(hold.first), (hold.name,))
        yield from self._used(holds, [h.first for h in new])

    def _used(self, holds: list[Any], new: list[Entry]) -> Iterator[Seen]:
        """What was fed or sent on one device while the other had it on hold."""
        since = min((moment_of(h.happened_at) for h in new), default=self.now)
        mine = self.record.entries(
            ["feed", "dispatch"], since=max(since, self.now - LOOK_BACK)
        )
        used = {**self.used, **{e.name: str(e.get("batch")) for e in mine}}
        stopped: dict[str, list[Stop]] = {}
        for codes in _parts(sorted(set(used.values()))):
            stopped |= stops_by_batch(self.record, self.farm, codes, holds)
        for name, batch in used.items():
            for stop in stopped.get(batch, ()):
                entry = self.record.entry(name)
                cause = self.record.entry(stop.entry)
                if cause.book != entry.book and _not_after(cause, entry):
                    says = (
                        f"{_said(entry)}, though it was held: {stop.why}; follow it: "
                        f"hygiene trace {entry.get('batch')}"
                    )
                    names = (entry.name, stop.entry)
                    yield Seen("used though held", says, names)

    def _set_up(self) -> Iterator[Seen]:
        """The same thing of the set-up, told otherwise in two books."""
        if not self.set_up:
            return
        told: dict[tuple[str, str], list[Entry]] = {}
        for entry in self.record.setup():
            told.setdefault((entry.kind, str(entry.get("code", ""))), []).append(entry)
        for key in sorted(self.set_up):
            last = {e.book: e for e in told.get(key, ())}
            if len({str(e.body) for e in last.values()}) > 1:
                yield _told_twice(*key, list(last.values()))
        books = sorted({e.book for (kind, _), es in told.items() for e in es})
        if len(books) > 1:
            says = f"set-up was written in {', '.join(books)}: keep it to one device"
            yield Seen("set-up in two books", says, ())

    def _clocks(self) -> Iterator[Seen]:
        for book, (ahead, entry) in self.ahead.items():
            says = f"the clock of {book} was {span(ahead)} ahead of this device's"
            yield Seen("clock", says, (entry.name,))
        for book, (early, entry, other) in self.before.items():
            says = (
                f"{entry.name} names {other.name}, which by its clock was written "
                f"{span(early)} later: the clocks of {book} and {other.book} differ"
            )
            yield Seen("clock", says, (entry.name, other.name))


def _parts(codes: Sequence[str]) -> Iterator[Sequence[str]]:
    for first in range(0, len(codes), CODES_AT_ONCE):
        yield codes[first : first + CODES_AT_ONCE]


def _sown_there(record: Record, mould: Entry) -> set[str]:
    """The batches that were sown last where a find was."""
    at = moment_of(mould.happened_at)
    places = {*texts_of(mould, "trays"), mould.get("rack")} - {None}
    sown = (
        sow
        for place in places
        for sow in record.latest("sow", str(place), before=at, most=A_FEW)
    )
    return {str(sow.get("batch")) for sow in sown}


def _told_twice(kind: str, code: str, entries: list[Entry]) -> Seen:
    names = tuple(e.name for e in entries)
    if kind == "person":
        who = " and ".join(f"{e.get('name')} ({e.name})" for e in entries)
        return Seen("same person's code", f"{code} signs for {who}", names)
    says = (
        f"{kind} {code}".strip() + " is told otherwise in two books; the later counts"
    )
    return Seen("set-up differs", says, names)


def _said(entry: Entry) -> str:
    """What an entry says; of an odd body, the body."""
    try:
        return gist(entry)
    except (TypeError, ValueError, AttributeError, LookupError):
        return f"{entry.kind} {dict(entry.body)}"


def _is_new(entry: Entry, ranges: Mapping[str, Came]) -> bool:
    came = ranges.get(entry.book)
    return came is not None and came.first <= entry.seq <= came.last


def _not_after(one: Entry, other: Entry) -> bool:
    return moment_of(one.happened_at) <= moment_of(other.happened_at)


def _ever() -> datetime:
    return datetime.fromisoformat("8999-12-31T00:00:00+00:00")


def _names(value: Any) -> Iterator[str]:
    """The names of entries anywhere in a body."""
    if isinstance(value, str):
        if NAME.fullmatch(value):
            yield value
    elif isinstance(value, Mapping):
        yield from _names(value.values())
    elif isinstance(value, Iterable):
        for item in value:
            yield from _names(item)
