"""A standing checklist as a farm adopts it: a task, when it is due, and its steps."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from hygiene.kinds.base import CannotBe, Kind
from hygiene.kinds.checks import (
    grace_parts,
    need_code,
    need_one_of,
    need_range,
    need_text,
)
from hygiene.kinds.setup import ROLES

STEP_SORTS = ("tick", "choice", "reading", "entry")
CLOCK = re.compile(r"([01][0-9]|2[0-3]):[0-5][0-9]")


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One step, in the order in which it is done.

    ``sort`` is ``tick`` (done or not), ``choice`` (one of ``options``, of which
    those in ``good`` pass), ``reading`` (a number with ``unit``, passing from
    ``low`` to ``high``, both included), or ``entry`` (answering it writes an entry
    of the kind ``writes``: one act is typed once). A ``safety`` step is never
    answered by Enter. A ``reading`` that ``writes`` a kind writes it when it fails:
    mouldy trays counted above zero open the mould record.
    """

    code: str
    text: str
    sort: str = "tick"
    unit: str | None = None
    low: Decimal | None = None
    high: Decimal | None = None
    whole: bool = False
    options: tuple[str, ...] = ()
    good: tuple[str, ...] = ()
    writes: str | None = None
    per: str | None = None
    safety: bool = False
    optional: bool = False
    if_fails: str | None = None

    def __post_init__(self) -> None:
        need_code(self, "code")
        need_text(self, "text", "unit", "if_fails")
        need_one_of(self, "sort", *STEP_SORTS)
        need_one_of(self, "per", "rack", "room", "line", "tank", "tray")
        if self.sort == "choice" and len(self.options) < 2:
            raise CannotBe(key="options", what="a choice needs two options or more")
        for given in self.good:
            if given not in self.options:
                raise CannotBe(key="good", what=f"{given!r} is not among the options")
        if self.sort == "reading" and self.unit is None:
            raise CannotBe(key="unit", what="a reading needs its unit")
        if self.low is not None and self.high is not None and self.high < self.low:
            raise CannotBe(key="high", what=f"{self.high} is below low ({self.low})")
        if self.sort == "entry" and self.writes is None:
            raise CannotBe(key="writes", what="say which kind of entry the step writes")
        if self.writes == "mould" and self.per not in ("rack", "tray"):
            raise CannotBe(
                key="per",
                what='mould is asked per = "rack" or per = "tray": where is it?',
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class Checklist(Kind):
    """A task of the rota, one adopted version of it.

    ``rule`` is an RFC 5545 recurrence rule (``FREQ=WEEKLY;BYDAY=MO``), anchored on
    ``starts``; ``at`` lists the farm's clock times (HH:MM) at which it is due;
    ``grace`` is how long after that it still counts as in time: ``day`` (the end of
    the working day, the default), or minutes as ``90 min``, hours ``4 h``, days
    ``3 d``. ``season`` is ``running`` (only while the shed runs) or ``always``.
    """

    kind = "checklist"
    code: str
    title: str
    version: int
    dated: date
    rule: str
    starts: date
    steps: tuple[Step, ...]
    approver: str | None = None
    area: str | None = None
    at: tuple[str, ...] = ("07:00",)
    grace: str = "day"
    season: str = "running"
    may_sign: tuple[str, ...] = ("manager", "worker")
    training: str | None = None
    gear: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    minutes: int | None = None

    def __post_init__(self) -> None:
        need_code(self, "code", "approver")
        need_text(self, "title", "area", "rule")
        need_one_of(self, "season", "running", "always")
        need_range(self, "version", 1, 10_000)
        if not self.steps:
            raise CannotBe(key="steps", what="a checklist needs a step")
        self._need_times()
        for role in self.may_sign:
            if role not in ROLES:
                raise CannotBe(
                    key="may_sign", what=f"{role!r} is not one of {', '.join(ROLES)}"
                )
        codes = [step.code for step in self.steps]
        for code in codes:
            if codes.count(code) > 1:
                raise CannotBe(key="steps", what=f"two steps are called {code!r}")

    def _need_times(self) -> None:
        if not self.at:
            raise CannotBe(key="at", what="a checklist needs a time such as 07:00")
        for given in self.at:
            if not CLOCK.fullmatch(given):
                raise CannotBe(key="at", what=f"{given!r} is not a time such as 07:00")
        grace_parts(self.grace)
