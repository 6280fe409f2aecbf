"""A batch: sown from lots into trays, moved, and fed, sent, thrown away or sampled.

A batch stays one batch when its trays are parted: each tray is followed by its code.
"""

from __future__ import annotations

from dataclasses import dataclass

from hygiene.kinds.attached import Attached
from hygiene.kinds.base import CannotBe, Kind, ref
from hygiene.kinds.checks import need_code, need_range, need_text
from hygiene.kinds.seed import MOST_GRAMS


def _need_trays(trays: tuple[str, ...], key: str = "trays") -> None:
    if not trays:
        raise CannotBe(key=key, what="say which trays")
    for tray in trays:
        if not tray.strip():
            raise CannotBe(key=key, what="a tray has no code")
    if len(set(trays)) != len(trays):
        twice = next(tray for tray in trays if trays.count(tray) > 1)
        raise CannotBe(key=key, what=f"{twice} is named twice")


@dataclass(frozen=True, slots=True, kw_only=True)
class SeedShare:
    """How much of a lot went into a batch, in grams of dry seed."""

    lot: str = ref()
    grams: int

    def __post_init__(self) -> None:
        need_code(self, "lot")
        need_range(self, "grams", 1, MOST_GRAMS, "grams")


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """Where a tray stands: its rack, and the level counted from the floor."""

    tray: str = ref()
    rack: str | None = ref(default=None)
    level: int | None = None

    def __post_init__(self) -> None:
        need_code(self, "tray", "rack")
        need_range(self, "level", 1, 40, "levels")


@dataclass(frozen=True, slots=True, kw_only=True)
class Sow(Kind):
    """A sowing: the day 0 of a batch. ``line`` is the water line that waters it.

    ``marks`` are the rules that it stands against for ever.
    """

    kind = "sow"
    batch: str = ref()
    seeds: tuple[SeedShare, ...]
    places: tuple[Place, ...]
    line: str | None = ref(default=None)
    note: str | None = None
    marks: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        need_code(self, "batch", "line")
        need_text(self, "note")
        if not self.seeds:
            raise CannotBe(key="seeds", what="say which lot, and how much of it")
        _need_trays(tuple(place.tray for place in self.places), "places")
        lots = [share.lot for share in self.seeds]
        if len(set(lots)) != len(lots):
            raise CannotBe(key="seeds", what="a lot is named twice")


@dataclass(frozen=True, slots=True, kw_only=True)
class Move(Kind):
    """Trays of a batch that stand somewhere else from now on."""

    kind = "move"
    batch: str = ref()
    places: tuple[Place, ...]
    note: str | None = None
    marks: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        need_code(self, "batch")
        need_text(self, "note")
        _need_trays(tuple(place.tray for place in self.places), "places")


@dataclass(frozen=True, slots=True, kw_only=True)
class Feed(Kind):
    """Whole trays of a batch, fed to a group of animals; ``grams`` is fresh fodder.

    ``look_ok`` and ``smell_ok`` say how it was when looked at; absent: not checked.
    """

    kind = "feed"
    batch: str = ref()
    trays: tuple[str, ...] = ref()
    animals: str = ref()
    grams: int
    look_ok: bool | None = None
    smell_ok: bool | None = None
    note: str | None = None
    marks: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        need_code(self, "batch", "animals")
        need_text(self, "note")
        need_range(self, "grams", 1, MOST_GRAMS, "grams")
        _need_trays(self.trays)


@dataclass(frozen=True, slots=True, kw_only=True)
class Dispatch(Kind):
    """Whole trays of a batch, sent to a buyer (178/2002 Article 18(3)).

    ``document`` is the delivery note or invoice.
    """

    kind = "dispatch"
    batch: str = ref()
    trays: tuple[str, ...] = ref()
    buyer: str = ref()
    grams: int
    document: str | None = None
    look_ok: bool | None = None
    smell_ok: bool | None = None
    note: str | None = None
    marks: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        need_code(self, "batch", "buyer")
        need_text(self, "document", "note")
        need_range(self, "grams", 1, MOST_GRAMS, "grams")
        _need_trays(self.trays)


@dataclass(frozen=True, slots=True, kw_only=True)
class Discard(Kind):
    """Whole trays of a batch, thrown away: by what route, seen by which witness.

    ``because`` names the entry that it follows from, such as a mould record.
    """

    kind = "discard"
    batch: str = ref()
    trays: tuple[str, ...] = ref()
    grams: int
    why: str
    route: str
    witness: str | None = None
    because: str | None = ref(default=None)
    attached: tuple[Attached, ...] = ()
    marks: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        need_code(self, "batch")
        need_text(self, "why", "route", "witness")
        need_range(self, "grams", 1, MOST_GRAMS, "grams")
        _need_trays(self.trays)


@dataclass(frozen=True, slots=True, kw_only=True)
class Sample(Kind):
    """A sample of a batch or a lot, kept before the rest is gone.

    ``frozen_at`` and ``chilled_at`` say where each labelled half is kept; the
    laboratory says which it wants. ``trays`` are those that were taken whole.
    """

    kind = "sample"
    batch: str | None = ref(default=None)
    lot: str | None = ref(default=None)
    trays: tuple[str, ...] = ref(default=())
    grams: int | None = None
    frozen_at: str | None = None
    chilled_at: str | None = None
    why: str
    laboratory: str | None = None
    attached: tuple[Attached, ...] = ()
    marks: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        need_code(self, "batch", "lot")
        need_text(self, "why", "frozen_at", "chilled_at", "laboratory")
        need_range(self, "grams", 1, MOST_GRAMS, "grams")
        if self.trays:
            _need_trays(self.trays)
        if (self.batch is None) == (self.lot is None):
            raise CannotBe(key="batch", what="say a batch or a lot, one of them")
        if not (self.frozen_at or self.chilled_at):
            raise CannotBe(
                key="frozen_at",
                what="say where it is kept: one half frozen, one chilled",
            )
