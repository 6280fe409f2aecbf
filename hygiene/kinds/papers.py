"""Papers that a farm keeps, and the start and the stop of the shed."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from hygiene.kinds.attached import Attached
from hygiene.kinds.base import Kind, ref
from hygiene.kinds.checks import need_one_of, need_text

PAPERS = (
    "site-plan",
    "water-map",
    "hazard-plan",
    "assessment",
    "data-sheet",
    "label",
    "registration",
    "waste-contract",
    "pest-contract",
    "procedure",
    "complaint",
    "audit",
    "other",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class File(Kind):
    """A paper: what sort it is, its title, and the day on which it is reviewed.

    The last one of a sort and title stands in place of those before it. ``abouts``
    are the entries or codes that it is about, such as the batch of a complaint.
    """

    kind = "file"
    sort: str
    title: str
    number: str | None = None
    dated: date | None = None
    review_on: date | None = None
    kept_where: str | None = None
    abouts: tuple[str, ...] = ref(default=())
    note: str | None = None
    attached: tuple[Attached, ...] = ()

    def __post_init__(self) -> None:
        need_one_of(self, "sort", *PAPERS)
        need_text(self, "title", "number", "kept_where", "note")


@dataclass(frozen=True, slots=True, kw_only=True)
class Season(Kind):
    """The shed starts or stops: ``day`` is the first day that it runs, or the last."""

    kind = "season"
    runs: bool
    day: date
    why: str | None = None

    def __post_init__(self) -> None:
        need_text(self, "why")
