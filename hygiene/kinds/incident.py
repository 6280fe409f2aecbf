"""Sick animals, written assessments of holds, and who was told of it all."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from hygiene.kinds.attached import Attached
from hygiene.kinds.base import CannotBe, Kind, ref
from hygiene.kinds.checks import need_code, need_one_of, need_range, need_text

TOLD = ("vet", "authority", "buyer", "supplier", "laboratory", "other")


@dataclass(frozen=True, slots=True, kw_only=True)
class Ill(Kind):
    """Animals of a group that fell ill: since when, how many, with what signs.

    A good appetite clears nothing: cattle poisoned by mouldy sprouts kept theirs
    (McKenzie and others, Australian Veterinary Journal, 2004). ``feeding_stopped``
    says when the fodder was stopped, ``milk`` and ``sales`` where the milk and the
    animals of these days went, ``other_feed`` what else they ate.
    """

    kind = "ill"
    animals: str = ref()
    since: date
    head_ill: int
    head_at_risk: int
    head_dead: int = 0
    signs: str
    appetite_kept: bool | None = None
    feeding_stopped: str | None = None
    other_feed: str | None = None
    milk: str | None = None
    sales: str | None = None
    note: str | None = None
    attached: tuple[Attached, ...] = ()

    def __post_init__(self) -> None:
        need_code(self, "animals")
        need_text(self, "signs", "feeding_stopped", "other_feed", "milk", "sales")
        need_text(self, "note")
        need_range(self, "head_at_risk", 1, 1_000_000, "head")
        need_range(self, "head_ill", 0, self.head_at_risk, "of the heads at risk")
        need_range(self, "head_dead", 0, self.head_at_risk, "of the heads at risk")
        if self.head_ill + self.head_dead == 0:
            raise CannotBe(key="head_ill", what="no head ill and none dead")


@dataclass(frozen=True, slots=True, kw_only=True)
class Assess(Kind):
    """A written assessment of holds by the person who signs it.

    Part of a batch, lot or consignment that is unsafe makes all of it unsafe, unless
    a detailed assessment finds no evidence for the rest (178/2002 Article 15(3)).
    It ends no hold: ``release`` does.
    """

    kind = "assess"
    holds: tuple[str, ...] = ref()
    found: str
    document: str | None = None
    attached: tuple[Attached, ...] = ()

    def __post_init__(self) -> None:
        need_text(self, "found", "document")
        if not self.holds:
            raise CannotBe(key="holds", what="say which holds were assessed")


@dataclass(frozen=True, slots=True, kw_only=True)
class Notify(Kind):
    """Somebody was told: who, in what role, what, and about which entries or codes."""

    kind = "notify"
    role: str
    who_told: str
    what: str
    abouts: tuple[str, ...] = ref(default=())
    how: str | None = None
    attached: tuple[Attached, ...] = ()

    def __post_init__(self) -> None:
        need_one_of(self, "role", *TOLD)
        need_text(self, "who_told", "what", "how")
