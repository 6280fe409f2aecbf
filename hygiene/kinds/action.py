"""What went wrong, what was done about it, and whether that helped.

Each of these names the entry that it answers, so what it means never hangs on the
clocks of two devices.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from hygiene.kinds.base import CannotBe, Kind, ref
from hygiene.kinds.checks import need_text


@dataclass(frozen=True, slots=True, kw_only=True)
class Action(Kind):
    """A corrective action: the problem, and what was done at once, if anything was.

    An ``incident`` put animals, people or buyers in danger: to close one takes the
    cause, the clean of what was concerned, a recheck and the effect as well.
    """

    kind = "action"
    about: str = ref()
    problem: str
    step: str | None = None
    did: str | None = None
    concerns: str | None = ref(default=None)
    incident: bool = False

    def __post_init__(self) -> None:
        need_text(self, "about", "problem", "did")


@dataclass(frozen=True, slots=True, kw_only=True)
class Recheck(Kind):
    """A second look at what went wrong: what was seen, and whether it passed.

    ``evidence`` names the entry that shows it, such as the water test. Of water that no
    new sample shows, it is marked ``no-new-sample`` and ends nothing.
    """

    kind = "recheck"
    action: str = ref()
    seen: str
    passed: bool
    value: Decimal | None = None
    unit: str | None = None
    evidence: str | None = ref(default=None)
    marks: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        need_text(self, "action", "seen")
        if self.value is not None and self.unit is None:
            raise CannotBe(key="unit", what="a value needs its unit")


@dataclass(frozen=True, slots=True, kw_only=True)
class Close(Kind):
    """The end of a corrective action: what was done, and the recheck that shows it.

    ``cleaned`` names the entry of the deep clean of the trays concerned, or says why
    none was needed; ``effect`` says what shows that it will not come again.
    """

    kind = "close"
    action: str = ref()
    did: str
    recheck: str = ref()
    cause: str | None = None
    cleaned: str | None = ref(default=None)
    effect: str | None = None

    def __post_init__(self) -> None:
        need_text(self, "action", "did", "recheck", "cause", "cleaned", "effect")
