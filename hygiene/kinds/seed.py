"""Seed: a lot that came in, how it germinates, and what of it was thrown away."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from hygiene.kinds.attached import Attached
from hygiene.kinds.base import CannotBe, Kind, ref
from hygiene.kinds.checks import need_code, need_range, need_text

MOST_GRAMS = 100_000_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Seed(Kind):
    """A seed lot that came in: from whom, how much, and whether it may be sown.

    ``supplier_lot`` is the supplier's own lot number, letter by letter.
    ``untreated_seen_by`` names who saw the word that the seed is untreated and fit
    for feed, ``declaration`` says on what paper; seed that was dressed is never fed
    (Regulation (EC) 767/2009 Annex III chapter 1, from memory), and ``dressing``
    names what it was dressed with. ``marks`` say for ever what the lot lacked.
    """

    kind = "seed"
    lot: str = ref()
    supplier: str = ref()
    supplier_lot: str
    grams: int
    accepted: bool = True
    refused_why: str | None = None
    untreated_seen_by: str | None = None
    declaration: str | None = None
    dressing: str | None = None
    document: str | None = None
    variety: str | None = None
    grade: str | None = None
    claimed_germination_percent: Decimal | None = None
    moisture_percent: Decimal | None = None
    look: str | None = None
    smell: str | None = None
    chaff_percent: Decimal | None = None
    pests_seen: str | None = None
    ergot_count: int | None = None
    best_before: date | None = None
    kept_where: str | None = None
    attached: tuple[Attached, ...] = ()
    marks: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        need_code(self, "lot", "supplier", "untreated_seen_by")
        need_text(self, "supplier_lot", "refused_why", "declaration", "dressing")
        need_text(self, "document", "variety", "grade", "look", "smell", "pests_seen")
        need_range(self, "grams", 1, MOST_GRAMS, "grams")
        for key in ("claimed_germination_percent", "moisture_percent", "chaff_percent"):
            need_range(self, key, 0, 100, "%")
        need_range(self, "ergot_count", 0, 1_000_000, "pieces")
        if not self.accepted and self.refused_why is None:
            raise CannotBe(key="refused_why", what="say why the lot was refused")


@dataclass(frozen=True, slots=True, kw_only=True)
class Germination(Kind):
    """A count: so many of so many seeds germinated, after so many days."""

    kind = "germination"
    lot: str = ref()
    sown: int
    germinated: int
    days: int | None = None

    def __post_init__(self) -> None:
        need_code(self, "lot")
        need_range(self, "sown", 1, 100_000, "seeds")
        need_range(self, "germinated", 0, self.sown, "of the seeds sown")
        need_range(self, "days", 1, 30, "days")


@dataclass(frozen=True, slots=True, kw_only=True)
class Scrap(Kind):
    """Seed of a lot that was not sown and is no more: how much, and why."""

    kind = "scrap"
    lot: str = ref()
    grams: int
    why: str
    marks: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        need_code(self, "lot")
        need_text(self, "why")
        need_range(self, "grams", 1, MOST_GRAMS, "grams")
