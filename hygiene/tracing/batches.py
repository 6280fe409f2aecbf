"""What became of batches: their trays, where these stood, and how each of them ended.

Read from standing entries (sow, move, feed, dispatch, discard, sample), never raising
on an odd body: what does not fit is kept as odd. Trays are whole; grams are of dry
seed where sown and of fresh fodder where it leaves.
"""

from collections.abc import Iterable, Mapping
from datetime import date, datetime, tzinfo
from typing import Final, NamedTuple

from hygiene.kinds.entry import Entry, rows_of, texts_of
from hygiene.kinds.moments import moment_of

ENDS: Final = {
    "feed": "fed",
    "dispatch": "sent",
    "discard": "discarded",
    "sample": "sampled",
}
"""The kinds that end a tray, and how they end it."""
KINDS: Final = ("sow", "move", *ENDS)


class Stay(NamedTuple):
    """A tray on a rack for a while; ``until`` None: it stands there still."""

    tray: str
    rack: str | None
    level: int | None
    since: datetime
    until: datetime | None = None


class End(NamedTuple):
    """How a tray ended, and the entry that says so."""

    how: str
    entry: Entry


class Odd(NamedTuple):
    """Something that does not fit: the entry, and what is wrong with it."""

    entry: str
    what: str


class Batch(NamedTuple):
    """One batch as the standing entries tell it."""

    code: str
    sow: Entry
    sown: datetime
    seeds: tuple[tuple[str, int], ...]
    line: str | None
    stays: tuple[Stay, ...]
    ends: Mapping[str, End]
    out: tuple[Entry, ...]
    odd: tuple[Odd, ...]

    @property
    def trays(self) -> tuple[str, ...]:
        """Every tray that was sown, in the order in which they stand in the entry."""
        return tuple(str(row.get("tray")) for row in rows_of(self.sow, "places"))

    @property
    def growing(self) -> tuple[str, ...]:
        """The trays that no entry ended."""
        return tuple(tray for tray in self.trays if tray not in self.ends)

    @property
    def lots(self) -> tuple[str, ...]:
        """The lots it was sown from."""
        return tuple(lot for lot, _ in self.seeds)

    @property
    def seed_grams(self) -> int:
        """Dry seed that was sown, in grams."""
        return sum(grams for _, grams in self.seeds)

    @property
    def over(self) -> datetime | None:
        """When its last tray ended, or None while one grows."""
        if self.growing:
            return None
        ends = (moment_of(end.entry.happened_at) for end in self.ends.values())
        return max(ends, default=self.sown)

    def out_grams(self, how: str) -> int:
        """Grams of fresh fodder that were fed, sent, discarded or sampled."""
        return sum(whole(e, "grams") for e in self.out if ENDS[e.kind] == how)

    def ended(self, how: str) -> tuple[str, ...]:
        """The trays that ended in one way."""
        return tuple(
            t for t in self.trays if t in self.ends and self.ends[t].how == how
        )

    def day(self, on: date, zone: tzinfo) -> int:
        """The growing day at the farm: the day of sowing is day 0."""
        return (on - self.sown.astimezone(zone).date()).days

    def standing(self, at: datetime) -> tuple[Stay, ...]:
        """The trays that grew at a moment, each where it stood then."""
        return tuple(
            s for s in self.stays if s.since <= at and (s.until is None or at < s.until)
        )


def read_batches(entries: Iterable[Entry]) -> dict[str, Batch]:
    """The batches by code, from standing entries in any order."""
    found = sorted(entries, key=_order)
    drafts = {
        str(entry.get("batch")): _Draft(entry) for entry in found if entry.kind == "sow"
    }
    for entry in found:
        draft = drafts.get(str(entry.get("batch")))
        if draft is not None and entry.kind in KINDS:
            draft.add(entry)
    return {code: draft.made(code) for code, draft in drafts.items()}


def _order(entry: Entry) -> tuple[datetime, datetime, str, int]:
    return (
        moment_of(entry.happened_at),
        moment_of(entry.recorded_at),
        entry.book,
        entry.seq,
    )


class _Draft:
    """A batch while its entries are read, one after another."""

    def __init__(self, sow: Entry) -> None:
        self.sow = sow
        self.past: list[Stay] = []
        self.now: dict[str, Stay] = {}
        self.ends: dict[str, End] = {}
        self.out: list[Entry] = []
        self.odd: list[Odd] = []
        self._place(sow)

    def add(self, entry: Entry) -> None:
        if entry.kind == "sow":
            if entry is not self.sow:
                self.odd.append(Odd(entry.name, "sows a batch that was sown already"))
            return
        if entry.kind == "move":
            self._place(entry)
            return
        self.out.append(entry)
        at = moment_of(entry.happened_at)
        for tray in texts_of(entry, "trays"):
            if self._stands(tray, entry):
                self.ends[tray] = End(ENDS[entry.kind], entry)
                self._leave(tray, at)

    def _place(self, entry: Entry) -> None:
        since = moment_of(entry.happened_at)
        for row in rows_of(entry, "places"):
            tray = str(row.get("tray"))
            if entry is not self.sow and not self._stands(tray, entry):
                continue
            self._leave(tray, since)
            rack, level = row.get("rack"), row.get("level")
            self.now[tray] = Stay(
                tray,
                rack if isinstance(rack, str) else None,
                level if isinstance(level, int) else None,
                since,
            )

    def _stands(self, tray: str, entry: Entry) -> bool:
        if tray in self.now:
            return True
        if tray in self.ends:
            before = self.ends[tray]
            what = f"{tray} was {before.how} already ({before.entry.name})"
        else:
            what = f"{tray} is no tray of this batch"
        self.odd.append(Odd(entry.name, what))
        return False

    def _leave(self, tray: str, at: datetime) -> None:
        stay = self.now.pop(tray, None)
        if stay is not None:
            self.past.append(Stay(*stay[:4], max(at, stay.since)))

    def made(self, code: str) -> Batch:
        shares = (
            (str(r.get("lot")), r.get("grams")) for r in rows_of(self.sow, "seeds")
        )
        line = self.sow.get("line")
        return Batch(
            code=code,
            sow=self.sow,
            sown=moment_of(self.sow.happened_at),
            seeds=tuple((lot, g if isinstance(g, int) else 0) for lot, g in shares),
            line=line if isinstance(line, str) else None,
            stays=(*self.past, *self.now.values()),
            ends=self.ends,
            out=tuple(self.out),
            odd=tuple(self.odd),
        )


def whole(entry: Entry, key: str) -> int:
    """A field that holds a whole number, or 0."""
    given = entry.get(key)
    return given if isinstance(given, int) and not isinstance(given, bool) else 0
