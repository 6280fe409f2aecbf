"""Kits, strips, meters, thermometers and scales: what their checks said."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from hygiene.kinds.attached import Attached
from hygiene.kinds.base import CannotBe, Kind, ref
from hygiene.kinds.checks import need_code, need_text


@dataclass(frozen=True, slots=True, kw_only=True)
class Calibrate(Kind):
    """A check of a kit: against what, what it showed, and whether it passed.

    ``next_on`` is the last day that this check counts. ``expires_on`` is the new last
    day of strips or reagent that were replaced.
    """

    kind = "calibrate"
    kit: str = ref()
    passed: bool
    against: str
    shown: Decimal | None = None
    unit: str | None = None
    next_on: date | None = None
    expires_on: date | None = None
    did: str | None = None
    certificate: str | None = None
    attached: tuple[Attached, ...] = ()

    def __post_init__(self) -> None:
        need_code(self, "kit")
        need_text(self, "against", "unit", "did", "certificate")
        if self.shown is not None and self.unit is None:
            raise CannotBe(key="unit", what="what it showed needs its unit")
