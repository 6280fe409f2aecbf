"""Water: what was read or found in a sample, and what may have changed the water."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from hygiene.kinds.attached import Attached
from hygiene.kinds.base import CannotBe, Kind, ref
from hygiene.kinds.checks import need_code, need_moment, need_one_of, need_text

SIGNS = ("=", "<", "<=", ">", ">=", "not detected", "detected", "too many")
VERDICTS = ("within", "over", "under", "cannot tell")
UPSETS = ("repair", "flood", "new-source", "stood", "contamination", "other")


@dataclass(frozen=True, slots=True, kw_only=True)
class Result:
    """One result: ``as_written`` by the laboratory or typed at the tap, for ever.

    ``value`` is in ``unit`` and has its ``sign``; a text such as "not detected" has
    none. ``of_ml`` is the volume that was searched, where it was said. ``kit`` names
    the kit where it is another than the entry's. ``held_against`` is the limit of
    that day in words with its source, ``verdict`` what came of it; ``stops`` is
    sowing where it stopped that.
    """

    parameter: str
    value: Decimal | None = None
    sign: str = "="
    unit: str | None = None
    as_written: str
    method: str | None = None
    of_ml: Decimal | None = None
    kit: str | None = ref(default=None)
    held_against: str | None = None
    verdict: str | None = None
    stops: str | None = None

    def __post_init__(self) -> None:
        need_code(self, "parameter", "kit")
        need_text(self, "as_written", "method", "held_against")
        need_one_of(self, "sign", *SIGNS)
        need_one_of(self, "verdict", *VERDICTS)
        need_one_of(self, "stops", "sowing")
        if self.value is not None and self.unit is None:
            raise CannotBe(key="unit", what="a value needs its unit")


@dataclass(frozen=True, slots=True, kw_only=True)
class Water(Kind):
    """A water test: readings with a kit at the point, or a laboratory's results.

    It happened when the sample was taken, by ``sampler`` where that is no person of
    the farm; ``received_at`` (RFC 3339) is when the laboratory had it. ``marks`` are
    the rules that it stands against for ever: kit-out-of-date, no-kit, untrained.
    """

    kind = "water"
    point: str = ref()
    results: tuple[Result, ...]
    sampler: str | None = None
    received_at: str | None = None
    laboratory: str | None = None
    certificate: str | None = None
    kit: str | None = ref(default=None)
    note: str | None = None
    attached: tuple[Attached, ...] = ()
    marks: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        need_code(self, "point", "kit")
        need_text(self, "sampler", "laboratory", "certificate", "note")
        need_moment(self, "received_at")
        if not self.results:
            raise CannotBe(key="results", what="say what was read, such as free=0.6")
        names = [result.parameter for result in self.results]
        if len(set(names)) != len(names):
            twice = next(name for name in names if names.count(name) > 1)
            raise CannotBe(key="results", what=f"{twice} is given twice")


@dataclass(frozen=True, slots=True, kw_only=True)
class Disturbance(Kind):
    """Something that may have changed the water at points: a repair, a flood ...

    From then on a sample is due there, until one is taken.
    """

    kind = "disturbance"
    points: tuple[str, ...] = ref()
    sort: str
    what: str
    attached: tuple[Attached, ...] = ()

    def __post_init__(self) -> None:
        need_one_of(self, "sort", *UPSETS)
        need_text(self, "what")
        if not self.points:
            raise CannotBe(key="points", what="say at which points of the water")
