"""A trace tried out: how long it took to find what an inspector would ask for."""

from __future__ import annotations

from dataclasses import dataclass

from hygiene.kinds.base import CannotBe, Kind
from hygiene.kinds.checks import need_code, need_one_of, need_range, need_text

WAYS = ("forward", "back")


@dataclass(frozen=True, slots=True, kw_only=True)
class DrillWay:
    """One way of a drill: what was asked, what was found of what there is, how fast.

    ``seconds`` is how long the person took, ``record_ms`` how long the record took.
    ``missed`` are the codes that were not found, ``wrong`` those that do not belong.
    """

    way: str
    asked: str
    seconds: int
    record_ms: int
    found_count: int
    right_count: int
    missed: tuple[str, ...] = ()
    wrong: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        need_one_of(self, "way", *WAYS)
        need_text(self, "asked")
        need_range(self, "seconds", 0, 604_800, "seconds")
        need_range(self, "record_ms", 0, 86_400_000, "ms")
        need_range(self, "right_count", 0, 10_000)
        need_range(self, "found_count", 0, self.right_count, "of those there are")


@dataclass(frozen=True, slots=True, kw_only=True)
class Drill(Kind):
    """A drill: the code that was drawn or given, and both ways that were traced.

    ``code`` is plain text, so that a drill is no part of what it tried out.
    ``adds_up`` says whether seed and trays of it were all accounted for.
    """

    kind = "drill"
    code: str
    ways: tuple[DrillWay, ...]
    adds_up: bool | None = None
    note: str | None = None
    marks: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        need_code(self, "code")
        need_text(self, "note")
        if not self.ways:
            raise CannotBe(key="ways", what="say which way it was traced")
