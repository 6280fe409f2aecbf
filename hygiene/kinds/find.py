"""What was found in the shed, and what may not go on because of it."""

from __future__ import annotations

from dataclasses import dataclass

from hygiene.kinds.attached import Attached
from hygiene.kinds.base import CannotBe, Kind, ref
from hygiene.kinds.checks import need_code, need_one_of, need_range, need_text


@dataclass(frozen=True, slots=True, kw_only=True)
class Mould(Kind):
    """Visible mould, or a smell of it. It leads to a hold, never to feeding.

    ``batch`` is the one that was named; ``batches`` are those that stood on the rack
    or grew in the trays that were named instead.
    """

    kind = "mould"
    batch: str | None = ref(default=None)
    rack: str | None = ref(default=None)
    trays: tuple[str, ...] = ref(default=())
    tray_count: int | None = None
    growing_day: int | None = None
    share_percent: int | None = None
    colour: str | None = None
    place: str | None = None
    smell: str | None = None
    note: str | None = None
    batches: tuple[str, ...] = ref(default=())
    attached: tuple[Attached, ...] = ()

    def __post_init__(self) -> None:
        need_code(self, "batch", "rack")
        need_text(self, "colour", "place", "smell", "note")
        need_range(self, "tray_count", 1, 100_000, "trays")
        need_range(self, "share_percent", 0, 100, "% of the tray")
        need_range(self, "growing_day", 0, 60, "days")
        if not (self.batch or self.rack or self.trays or self.batches):
            raise CannotBe(key="batch", what="say where: a batch, a rack or trays")


@dataclass(frozen=True, slots=True, kw_only=True)
class Pest(Kind):
    """A pest, or its traces: what, where, how many, and what was done."""

    kind = "pest"
    what: str
    place: str
    count: int | None = None
    did: str | None = None
    attached: tuple[Attached, ...] = ()

    def __post_init__(self) -> None:
        need_text(self, "what", "place", "did")
        need_range(self, "count", 0, 1_000_000)


@dataclass(frozen=True, slots=True, kw_only=True)
class Hold(Kind):
    """Something that may not be used, fed or sent until it is released.

    ``held`` is what is held (a batch, a lot, a rack, a line, a tray ...), ``sort`` says
    what it is, ``because`` names the entry that it follows from. Only ``release``
    ends it.
    """

    kind = "hold"
    held: str = ref()
    sort: str
    why: str
    because: str | None = ref(default=None)
    trays: tuple[str, ...] = ref(default=())
    stops: str | None = None
    shares: str | None = None

    def __post_init__(self) -> None:
        need_text(self, "held", "why", "shares")
        need_one_of(self, "stops", "sowing")
        need_one_of(
            self, "sort", "batch", "lot", "rack", "room", "line", "tray", "tank"
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Release(Kind):
    """The end of a hold: which one, on whose word, and on what paper.

    ``word_role`` says what gives that word its weight: vet or authority.
    """

    kind = "release"
    hold: str = ref()
    why: str
    word_of: str | None = None
    word_role: str | None = None
    document: str | None = None

    def __post_init__(self) -> None:
        need_text(self, "hold", "why", "word_of", "document")
        need_one_of(self, "word_role", "vet", "authority")
