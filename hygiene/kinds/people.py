"""People: what they were taught, who came in, and who was hurt."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from hygiene.kinds.attached import Attached
from hygiene.kinds.base import Kind, ref
from hygiene.kinds.checks import (
    need_code,
    need_moment,
    need_one_of,
    need_order,
    need_range,
    need_text,
)

ACCIDENTS = ("splash", "gas", "spill", "dust", "cut", "fall", "other")


@dataclass(frozen=True, slots=True, kw_only=True)
class Train(Kind):
    """A training that a person of the farm has had; ``until`` is its last day."""

    kind = "train"
    person: str = ref()
    topic: str
    had_on: date
    until: date | None = None
    given_by: str | None = None
    document: str | None = None
    attached: tuple[Attached, ...] = ()

    def __post_init__(self) -> None:
        need_code(self, "person")
        need_text(self, "topic", "given_by", "document")
        need_order(self, "had_on", "until")


@dataclass(frozen=True, slots=True, kw_only=True)
class Visitor(Kind):
    """Somebody from outside who came in: why, where they went, what they did first.

    What was not asked is left out. No more is kept of a person than that.
    """

    kind = "visitor"
    name: str
    business: str | None = None
    why: str
    places: str | None = None
    washed_hands: bool | None = None
    dipped_boots: bool | None = None
    well: bool | None = None
    with_whom: str | None = None
    left_at: str | None = None
    note: str | None = None
    attached: tuple[Attached, ...] = ()
    marks: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        need_text(self, "name", "business", "why", "places", "note")
        need_code(self, "with_whom")
        need_moment(self, "left_at")


@dataclass(frozen=True, slots=True, kw_only=True)
class Accident(Kind):
    """Somebody was hurt, or nearly: who, how, with what, and what was done for them.

    ``sort`` is splash, gas, spill, dust, cut, fall or other; ``told`` says who was
    told of it, ``first_aid`` what was done at once.
    """

    kind = "accident"
    sort: str
    who: str
    what: str
    place: str | None = None
    product: str | None = ref(default=None)
    gear_worn: tuple[str, ...] = ()
    first_aid: str | None = None
    told: str | None = None
    sent_to: str | None = None
    days_off: int | None = None
    attached: tuple[Attached, ...] = ()

    def __post_init__(self) -> None:
        need_one_of(self, "sort", *ACCIDENTS)
        need_code(self, "product")
        need_text(self, "who", "what", "place", "first_aid", "told", "sent_to")
        need_range(self, "days_off", 0, 10_000, "days")
