"""What stands in the shed of the story: lots, trays, batches, the can in use.

The people there know it without looking into the record; so nothing of it has to be
read back, day by day. What the record says wins: a tray is clean once its dose cleared
it there.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date, timedelta

CLEAN_DAYS = 3
"""For so many days a clean tray counts as clean (``clear_days`` of FARM.toml)."""


@dataclass(slots=True)
class OpenLot:
    """A seed lot in the store, and the grams that are left of it."""

    code: str
    left: int


@dataclass(frozen=True, slots=True)
class Growing:
    """A batch, the day on which it was sown, and what went into it."""

    code: str
    sown: date
    trays: tuple[str, ...]
    seed_grams: int
    line: str
    rack: str

    def day(self, on: date) -> int:
        """Its growing day; that of sowing is day 0."""
        return (on - self.sown).days


@dataclass(slots=True)
class Inside:
    """Everything that the people in the shed have before their eyes."""

    idle: list[str] = field(default_factory=list)
    dirty: list[str] = field(default_factory=list)
    clean: list[tuple[date, str]] = field(default_factory=list)
    growing: dict[str, Growing] = field(default_factory=dict)
    held: set[str] = field(default_factory=set)
    lots: list[OpenLot] = field(default_factory=list)
    put_aside: set[str] = field(default_factory=set)
    lots_received: int = 0
    cans: dict[str, str] = field(default_factory=dict)
    """The can that is in use, by product."""
    next_can: str | None = None
    """The can of hypochlorite that stands full beside the one in use."""
    left_tenth_ml: dict[str, int] = field(default_factory=dict)
    """What is left in each can."""

    def usable(self) -> list[OpenLot]:
        """The lots that may be sown from, the oldest first."""
        return [lot for lot in self.lots if lot.code not in self.put_aside]

    def ready(self, on: date) -> list[Growing]:
        """The batches that are to be fed on a day, the oldest first."""
        return [
            batch
            for batch in self.growing.values()
            if batch.day(on) >= 7 and batch.code not in self.held
        ]

    def sown_on(self, day: date) -> Growing | None:
        """The batch of a day, if it still grows."""
        return next((b for b in self.growing.values() if b.sown == day), None)

    def take_clean(self, count: int, on: date) -> tuple[str, ...]:
        """So many clean trays, the longest clean first; none where there are fewer.

        Those that have stood too long wait to be washed again.
        """
        longest = on - timedelta(days=CLEAN_DAYS)
        fresh = [(since, tray) for since, tray in self.clean if since >= longest]
        self.idle += [tray for since, tray in self.clean if since < longest]
        self.clean = fresh
        if len(fresh) < count:
            return ()
        taken, self.clean = fresh[:count], fresh[count:]
        return tuple(tray for _, tray in taken)

    def take(self, trays: Iterable[str]) -> None:
        """Trays are taken out of the round: their story deals with them."""
        gone = set(trays)
        self.idle = [tray for tray in self.idle if tray not in gone]
        self.dirty = [tray for tray in self.dirty if tray not in gone]
        self.clean = [pair for pair in self.clean if pair[1] not in gone]

    def to_wash(self, least: int, most: int) -> tuple[str, ...]:
        """What was emptied; idle trays as well where that is too little."""
        short = max(0, least - len(self.dirty))
        trays = (*self.dirty, *self.idle[:short])
        self.idle = self.idle[short:]
        self.dirty = list(trays[most:])
        return trays[:most]

    def emptied(self, batch: str, trays: Iterable[str]) -> None:
        """Trays of a batch came out; the batch is over with its last one."""
        gone = set(trays)
        self.dirty += [tray for tray in self.growing[batch].trays if tray in gone]
        self.leave(batch, gone)

    def leave(self, batch: str, gone: Iterable[str]) -> None:
        """Trays are no longer of the batch, wherever they are."""
        was = self.growing[batch]
        left = tuple(tray for tray in was.trays if tray not in set(gone))
        if left:
            self.growing[batch] = Growing(
                was.code, was.sown, left, was.seed_grams, was.line, was.rack
            )
        else:
            del self.growing[batch]
            self.held.discard(batch)
